"""What the cells of a made-up block could give, season by season, by the real look ahead.

Rule 1: a cell's kg come from `sync.plan.outlook` and the real rule; only what stands is made up.
"""

import dataclasses
import math
from collections.abc import Mapping
from datetime import date, timedelta

import numpy as np

from sync.crop.ahead import Ahead
from sync.crop.rules import CellRule
from sync.crop.walk import Growth, start
from sync.geometry.grid import cell_name
from sync.plan.outlook import AheadOn, Outlook, look_ahead
from sync.plan.spans import Cap, Span, spans_from

ON = date(2026, 7, 1)
SEASON_START = (7, 1)
HA = 10_000.0
#: Crop of a rested cell of each class [kg/ha], and how much cells differ about it.
MEAN_KG = {"lawn": 6000.0, "mound": 6500.0, "rushy": 2500.0}
BETWEEN_CV, KNOWN_CV = 0.4, 0.28
#: Of the cells: ready, resting (ends spread over five years), and never measured.
READY, RESTING = 0.5, 0.3
RULE = CellRule(60, 5.0, 40.0, 0.3, None, None, True)
GROWTH = Growth(0.4, 0.15**2, 0.8)


@dataclasses.dataclass(frozen=True)
class Asked:
    """One line of the bench: what is asked of the plan.

    Attributes
    ----------
    caps : int
        How many permits cap it; several share the block from west to east.
    cap_share : float
        Of what a season could give in the long run. [-]
    """

    name: str
    caps: int = 0
    cap_share: float = 0.7
    even_pct: float | None = None
    no_neighbours: bool = False
    at_least_share: float | None = None


LINES = (
    Asked("no rule but rest"),
    Asked("cap", caps=1),
    Asked("three caps", caps=3),
    Asked("even 5 %", even_pct=5.0),
    Asked("cap, even 5 %", caps=1, even_pct=5.0),
    Asked("no neighbours", no_neighbours=True),
    Asked("no neighbours, cap", caps=1, no_neighbours=True),
    Asked("no neighbours, even 5 %", even_pct=5.0, no_neighbours=True),
    Asked("no neighbours, three caps, even 10 %", caps=3, even_pct=10.0, no_neighbours=True),
    Asked("no neighbours, loose cap, at least", caps=1, cap_share=1.2, at_least_share=0.6,
          no_neighbours=True),
    Asked("loose cap, even 0.5 %", even_pct=0.5, caps=1, cap_share=2.0),
)


def made_outlooks(
    rng: np.random.Generator, *, columns: int, rows: int, years: int
) -> tuple[dict[str, Outlook], tuple[Span, ...]]:
    """Draw a block's cells and look ahead.

    Parameters
    ----------
    rng : Generator
        Of this block alone.
    columns, rows : int
        Of its grid.
    years : int
        How many seasons.

    Returns
    -------
    outlooks : dict of str to Outlook
        By cell.
    spans : tuple of Span
        The seasons.
    """
    spans = spans_from(ON, SEASON_START, years, least_days=28)
    classes = list(MEAN_KG)
    found = {}
    for column in range(columns):
        for row in range(rows):
            name = cell_name(column, row)
            band = classes[(row * len(classes)) // rows]
            found[name] = _made(name, band, rng, spans)
    return found, spans


def _made(
    name: str, band: str, rng: np.random.Generator, spans: tuple[Span, ...]
) -> Outlook:
    s2 = math.log1p(BETWEEN_CV**2)
    mark = MEAN_KG[band] * math.exp(rng.normal(-s2 / 2.0, math.sqrt(s2)))
    kind = rng.random()
    opens = ON
    if READY <= kind < READY + RESTING:
        opens = ON + timedelta(days=int(rng.integers(30, 5 * 365)))
    never = kind >= READY + RESTING
    days = [None if never and not period else max(opens, span.first)
            for period, span in enumerate(spans)]
    days = [day if day is not None and day <= span.last else None
            for day, span in zip(days, spans, strict=True)]
    stand = start(mark, cv=KNOWN_CV * (2.0 if never else 1.0))
    q = float(rng.uniform(0.4, 0.7))
    ahead = Ahead(stand, q, None, HA, GROWTH, RULE)
    return look_ahead(name, band, _always(ahead), days, spans, on=ON, floor=0.02,
                      measure_first=never)


def _always(ahead: Ahead) -> AheadOn:
    def on(day: date) -> Ahead | None:
        return ahead
    return on


def made_caps(
    known: Mapping[str, Outlook], spans: tuple[Span, ...], asked: Asked
) -> tuple[Cap, ...]:
    """Give the caps of a line: strips of the block of equal numbers of cells.

    Parameters
    ----------
    known : mapping of str to Outlook
        By cell, in the order of the columns.
    spans : tuple of Span
        The seasons; each is a permit year.
    asked : Asked
        The line.

    Returns
    -------
    tuple of Cap
        Each holds a share of what its cells give in a season in the long run.
    """
    names = list(known)
    caps = []
    for number in range(asked.caps):
        strip = names[number * len(names) // asked.caps:(number + 1) * len(names) // asked.caps]
        kg = asked.cap_share * long_run_kg({name: known[name] for name in strip})
        caps += [Cap(f"M-{number + 1}", span.first, kg, frozenset(strip), (period,))
                 for period, span in enumerate(spans)]
    return tuple(caps)


def long_run_kg(known: Mapping[str, Outlook]) -> float:
    """Give what a season gives in the long run: the best pick of each cell over its rest. [kg]."""
    best = sum(max((one.kg for one in cell.firsts.values()), default=0.0)
               for cell in known.values())
    return best / RULE.rest_years
