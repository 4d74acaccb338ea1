"""A draw of plots for people: what, why these cells, what it buys, who walks what.

Rule 1: no line is wider than 100 characters, but for names that people gave.
Rule 2: what is expected is called expected.
"""

import dataclasses
from collections import Counter
from collections.abc import Sequence

from sync.plan.plots.draw import Draw
from sync.plan.plots.worth import Worth

_TURNS = ("rest ends soon", "never measured", "others")
_WIDE = 100
_NONE = "–"


@dataclasses.dataclass(frozen=True)
class Rows:
    """A table: its columns, how many of the first stand to the left, and its rows."""

    columns: tuple[str, ...]
    left: int
    rows: tuple[tuple[str, ...], ...]


def head_lines(draw: Draw) -> list[str]:
    """Say what was drawn, for whom and by which chance."""
    plots = [plot for plot in draw.plots if not plot.spare]
    old = sum(plot.old for plot in plots)
    spares = len(draw.plots) - len(plots)
    turns = Counter(cell.turn for cell in draw.cells)
    whole = Counter(cell.turn for cell in draw.frame.cells)
    tunables = draw.register.tunables
    lines = [
        (f"{draw.register.block.name} on {draw.register.on}: {len(plots)} plots in "
         f"{len(draw.cells)} of {len(draw.frame.cells)} cells, seed {draw.seed}"),
        (f"for {_many(draw.surveyors, 'surveyor')}, {_many(draw.days, 'day')} of "
         f"{tunables.survey_day_h:g} h: {tunables.quadrat_min:g} min a quadrat, walking "
         f"{tunables.walk_km_h:g} km/h"),
        f"{old} walked again where they are, {len(plots) - old} new, {_many(spares, 'spare')}",
        _first_line(draw, turns[0], whole[0]),
        (f"then: {turns[1]} of {whole[1]} cells never measured; and {turns[2]} of {whole[2]} "
         "others, by what is unknown"),
    ]
    if draw.frame.out_of_reach:
        lines.append("no plot fits, or nobody gets there but through closed ground: "
                     + ", ".join(draw.frame.out_of_reach))
    return [part for line in lines for part in folded(line)]


def _first_line(draw: Draw, drawn: int, whole: int) -> str:
    if whole == 0:
        return (f"first: there is no cell whose rest ends by {draw.frame.soon} and that nobody "
                "measured since its pick")
    return (f"first: {drawn} of {whole} cells whose rest ends by {draw.frame.soon} and that "
            "nobody measured since their pick")


def worth_lines(draw: Draw) -> list[str]:
    """Say what the survey is expected to buy."""
    worth = draw.worth
    lines = []
    if worth.block_cv_now is not None and worth.block_cv_then is not None:
        lines.append(f"expected standard error of the block's crop: {_pct(worth.block_cv_now)} "
                     f"now, {_pct(worth.block_cv_then)} then")
    if worth.cell_cv_now is not None and worth.cell_cv_then is not None:
        lines.append(f"of a drawn cell's (the middle one of them): {_pct(worth.cell_cv_now)} now, "
                     f"{_pct(worth.cell_cv_then)} then")
    lines += _opened_lines(worth)
    if worth.no_figure:
        lines.append(f"nothing is expected of {_many(len(worth.no_figure), 'cell')} whose class "
                     "has no figure yet or no moss: " + ", ".join(worth.no_figure))
    return [part for line in lines for part in folded(line)]


def _opened_lines(worth: Worth) -> list[str]:
    now = [one for one in worth.opened if one.now]
    later = [one for one in worth.opened if not one.now]
    lines = [(f"it opens {_many(len(now), 'cell')} at once, with {_kg(sum(o.kg for o in now))} kg "
             "of may take expected in them")]
    if later:
        lines.append(f"and {_many(len(later), 'cell')} when their rest ends, with "
                     f"{_kg(sum(o.kg for o in later))} kg expected")
    if worth.opened:
        lines.append("an expected value is no promise: single cells will hold far more or less; "
                     "a permit's cap comes on top")
    return lines


def class_rows(draw: Draw) -> Rows:
    """Give the table of classes: how many cells of each turn, quadrats, why so many."""
    rows = []
    for name, spread in sorted(draw.frame.spreads.items()):
        mine = [c for c in draw.frame.cells if c.ground_class == name]
        if not mine:
            continue
        drawn = Counter(c.turn for c in draw.cells if c.ground_class == name)
        whole = Counter(c.turn for c in mine)
        rows.append((
            name, *(f"{drawn[turn]}/{whole[turn]}" if whole[turn] else _NONE for turn in range(3)),
            str(draw.effort.quadrats[name]), f"{spread.within**0.5:.1f}",
            f"{spread.between**0.5:.1f}", "assumed" if spread.assumed else "learned",
        ))
    return Rows(("class", *_TURNS, "quadrats a cell", "SD within", "between L/m²", "which is"), 1,
                tuple(rows))


def cell_rows(draw: Draw) -> Rows:
    """Give the table of drawn cells: chance, plots and why."""
    opened = {one.cell: one.kg for one in draw.worth.opened}
    chances = draw.effort.chances
    rows = []
    for cell in sorted(draw.cells, key=lambda c: c.turn):
        plots = [p for p in draw.plots if p.cell == cell.cell and not p.spare]
        rows.append((
            cell.cell, cell.ground_class, " ".join(p.name + "*" * p.old for p in plots),
            f"{chances[cell.cell]:.3f}",
            _kg(opened[cell.cell]) if cell.cell in opened else _NONE, cell.why,
        ))
    return Rows(("cell", "class", "plots", "chance", "expected kg", "why"), 3, tuple(rows))


def walk_rows(draw: Draw) -> Rows:
    """Give the table of walks, a surveyor's day a row."""
    return Rows(("surveyor", "day", "plots", "cells", "km", "hours", "from", "to"), 0, tuple(
        (str(w.surveyor), str(w.day), str(len(w.plots)), str(len({p.cell for p in w.plots})),
         f"{w.length_m / 1000.0:.1f}", f"{w.minutes / 60.0:.1f}", w.plots[0].name,
         w.plots[-1].name) for w in draw.walks))


def walk_lines(draw: Draw) -> list[str]:
    """Say what the walks rest on, and which are longer than a day."""
    most = draw.register.tunables.survey_day_h
    lines = ["walks go from the gate and back, around closed ground" if draw.gate is not None
             else "no gate is known (block.toml gate): walks begin and end at a plot, around "
             "closed ground"]
    lines += [f"surveyor {w.surveyor}, day {w.day}: {w.minutes / 60.0:.1f} h is more than "
              f"{most:g} h" for w in draw.walks if w.minutes > 60.0 * most]
    if any(plot.old for plot in draw.plots):
        lines.append("* walked again: it keeps its id")
    return [part for line in lines for part in folded(line)]


def folded(line: str) -> list[str]:
    """Break a line at blanks so that none is wider than the page."""
    parts: list[str] = []
    for word in line.split(" "):
        if parts and len(parts[-1]) + 1 + len(word) <= _WIDE:
            parts[-1] += " " + word
        else:
            parts.append(word if not parts else "  " + word)
    return parts


def plain_table(rows: Rows) -> Sequence[str]:
    """Set a table in plain characters, columns two blanks apart."""
    every = (rows.columns, *rows.rows)
    widths = [max(len(row[i]) for row in every) for i in range(len(rows.columns))]
    last = len(rows.columns) - 1

    def set_(i: int, text: str) -> str:
        to_left = i < rows.left or (i == last and rows.left > 1)
        return text.ljust(widths[i]) if to_left else text.rjust(widths[i])

    return ["  ".join(set_(i, text) for i, text in enumerate(row)).rstrip() for row in every]


def _many(count: int, thing: str) -> str:
    return f"{count} {thing}{'' if count == 1 else 's'}"


def _pct(cv: float) -> str:
    return f"{100.0 * cv:.1f} %"


def _kg(kg: float) -> str:
    return f"{kg:,.0f}"
