"""The cells that plots can be drawn in, what is unknown of each, and which come first.

Rule 1: a cell whose rest ends soon and that nobody measured since its pick comes first, one that
nobody ever measured next: without a quadrat neither may be picked.
Rule 2: ground is drawn from only where somebody can get to without crossing closed ground.
Rule 3: what no quadrat can take away (density, readers) is no reason to survey a cell.
"""

import dataclasses
import math
import statistics
from collections.abc import Mapping
from datetime import date, timedelta

from sync.crop.chain import CellCrop
from sync.crop.today import CellToday, surveyed_since
from sync.geometry.scatter import inside_of, reached_from_outside
from sync.geometry.shapes import Shape, label_point, union_of
from sync.register.build import Register
from sync.settings import DAYS_PER_YEAR
from sync.survey.density import of_class
from sync.survey.totals import crop_kg

#: No cell counts as known better than this part of its class's crop, so that each has a chance.
_LEAST_UNKNOWN = 0.1


@dataclasses.dataclass(frozen=True)
class Spread:
    """How quadrats differ in a cell and cells in a class. [L² m⁻⁴].

    `index_l_m2` is the level that they were taken at; `assumed` says whether no quadrat of the
    class stands behind them.
    """

    index_l_m2: float
    within: float
    between: float
    assumed: bool


@dataclasses.dataclass(frozen=True)
class Candidate:
    """A cell that may be drawn.

    Attributes
    ----------
    ground : Shape
        Where its plots may lie. [m]
    at : tuple of float
        A place in it. [m]
    turn : int
        0 if its rest ends soon and it was not measured since its pick, 1 if never, 2 another.
    opens : bool
        Whether it may not be picked, once its rest is over, unless it is measured.
    why : str
        What is known of it, in words.
    unknown_kg : float
        SD of its crop that quadrats can take away. [kg]
    """

    cell: str
    ground_class: str
    ground: Shape = dataclasses.field(repr=False)
    at: tuple[float, float]
    turn: int
    opens: bool
    why: str
    unknown_kg: float


@dataclasses.dataclass(frozen=True)
class Frame:
    """All cells that may be drawn, and the classes' spreads.

    Attributes
    ----------
    open_m2 : float
        Open ground of the cells. [m²]
    out_of_reach : tuple of str
        Cells with open ground in which no plot can be drawn.
    soon : date
        A rest that ends by then comes first.
    """

    cells: tuple[Candidate, ...]
    spreads: Mapping[str, Spread]
    open_m2: float
    out_of_reach: tuple[str, ...]
    soon: date


def frame_of(register: Register) -> Frame:
    """Say which cells may be drawn on the register's day.

    Parameters
    ----------
    register : Register
        Of the day of the draw.

    Returns
    -------
    Frame
        By column and row of the cells.
    """
    crop = register.crop
    spreads = class_spreads(register)
    reach = reachable(register)
    soon = soon_after(register.on, register.tunables.first_months)
    found: list[Candidate] = []
    lost: list[str] = []
    for name, ground in crop.ground.cells.items():
        if ground.open_m2 <= 0.0:
            continue
        inner = inside_of(ground.open_shape, register.tunables.plot_border_m, reach)
        at = label_point(inner)
        if at is None:
            lost.append(name)
            continue
        cell, today = crop.cells[name], register.cells[name]
        opens = not surveyed_since(cell, today.picks.last_over)
        found.append(Candidate(
            name, cell.ground_class, inner, at, _turn(today, soon) if opens else 2,
            opens and cell.rule.permitted, _why(cell, today),
            _unknown_kg(register, cell, spreads[cell.ground_class]),
        ))
    return Frame(tuple(found), spreads, sum(crop.cells[c.cell].open_m2 for c in found),
                 tuple(lost), soon)


def soon_after(day: date, months: float) -> date:
    """Give the day so many months on. [months of 30.44 days]."""
    days = min(round(months * DAYS_PER_YEAR / 12.0), (date.max - day).days)
    return day + timedelta(days=days)


def closed_ground(register: Register) -> Shape:
    """Give all closed ground of the register's day, the neighbours' too. [m]."""
    return union_of([closing.shape for closing in register.crop.ground.closings])


def reachable(register: Register) -> Shape:
    """Give the block's ground that can be walked to without crossing closed ground. [m]."""
    return reached_from_outside(register.crop.ground.outline, closed_ground(register))


def class_spreads(register: Register) -> dict[str, Spread]:
    """Give the spreads of every class; one without a quadrat has those assumed of any class.

    Parameters
    ----------
    register : Register
        Of the day of the draw.

    Returns
    -------
    dict of str to Spread
        Its level is the mean of the other classes', a twentieth of a metre where there is none.
    """
    known = {name: one.prediction for name, one in register.crop.classes.items()}
    levels = [p.mean_l_m2 for p in known.values() if p is not None]
    tunables = register.tunables
    level = max(statistics.fmean(levels) if levels else tunables.index_scale_l_m2 / 2.0,
                tunables.index_floor_l_m2)
    assumed = Spread(level, (tunables.cv_within * level) ** 2, (tunables.cv_between * level) ** 2,
                     True)
    return {
        name: assumed if p is None
        else Spread(p.mean_l_m2, p.within_variance, p.between_variance, False)
        for name, p in known.items()
    }


def _turn(today: CellToday, soon: date) -> int:
    """Give the turn of a cell that opens by being measured."""
    over = today.picks.last_over
    if over is None or over.rest_ends is None:
        return 1
    return 0 if over.rest_ends <= soon else 2


def _why(cell: CellCrop, today: CellToday) -> str:
    over = today.picks.last_over
    if not surveyed_since(cell, over):
        if over is None or over.rest_ends is None:
            return "never measured"
        return f"rest ends {over.rest_ends.isoformat()}, not measured since its pick"
    days = [r.reading.day for r in cell.readings if r.index is not None]
    return f"measured {max(days).isoformat()}"


def _unknown_kg(register: Register, cell: CellCrop, spread: Spread) -> float:
    """Give the SD of a cell's crop by its index, and by what happened since it was measured."""
    crop = register.crop
    density = of_class(crop.densities, cell.ground_class)
    scale = crop_kg(cell.open_m2, density.mean_kg_m3, 1.0)
    prediction = crop.classes[cell.ground_class].prediction
    if prediction is None or cell.walked is None:
        return scale * math.sqrt(spread.between)
    row = prediction.cells.index(cell.cell)
    by_index = scale * math.sqrt(float(prediction.error[row, row]))
    stand = cell.walked.stand
    since = math.sqrt(max(0.0, stand.crop_var - density.unaveraged * stand.crop_kg**2))
    unknown = since if cell.walked.forecast else by_index
    floor = max(spread.index_l_m2, register.tunables.index_floor_l_m2)
    return max(unknown, _LEAST_UNKNOWN * scale * floor)
