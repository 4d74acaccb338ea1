"""What a treatment did: changes of treated cells against those of the cells left alone.

Rule 1: pairs count as they were drawn, whatever was done to them: who leaves out the cells that
could not be treated compares the easy ground with all ground. What the pairs say that were done as
drawn stands beside it.
Rule 2: both cells of a pair are read at about the same times, with as many picks between.
Rule 3: where a plot was read both times its own change counts; else the means of both visits.
"""

import dataclasses
import itertools
import statistics
from collections.abc import Sequence
from datetime import date, timedelta

from sync.block import TrialDraw, TrialPair
from sync.crop.chain import CellCrop
from sync.plan.visits import Visit, picks_between, visits_of
from sync.plan.works import Work, works_of
from sync.register.build import Register
from sync.settings import Tunables
from sync.survey.paired import PairedChange, paired_change
from sync.survey.power import pairs_needed


@dataclasses.dataclass(frozen=True)
class Half:
    """One cell of a pair: its index before and after, the days, and the change. [L/m²].

    `plots` is how many plots were read both times; 0 where the means of both visits were taken.
    """

    cell: str
    before_on: date
    after_on: date
    before: float
    after: float
    change: float
    plots: int
    records: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class PairSeen:
    """What became of a pair.

    Attributes
    ----------
    treated_on, other_on : date or None
        When the treatment was noted for each; that of the other should be None.
    as_drawn : bool
        Whether the one was treated and the other not.
    treated, other : Half or None
        None while the pair does not count yet.
    waits : str
        Why it does not; empty where it does.
    """

    pair: TrialPair
    drawn_on: date
    treated_on: date | None
    other_on: date | None
    as_drawn: bool
    treated: Half | None
    other: Half | None
    waits: str

    @property
    def difference(self) -> float | None:
        """Change of the treated less that of the other. [L/m²]."""
        if self.treated is None or self.other is None:
            return None
        return self.treated.change - self.other.change


@dataclasses.dataclass(frozen=True)
class TrialSeen:
    """A trial on a day.

    Attributes
    ----------
    found, as_drawn : PairedChange or None
        Mean difference over all pairs that count, and over those done as drawn; None under two.
    matters_l_m2 : float
        The difference that matters. [L/m²]
    needed : int or None
        Pairs for it by the spread seen; None where that is not known or more than any block has.
    power : float
        The chance with which so many would find it. [-]
    """

    trial: str
    treatment: str
    draws: tuple[TrialDraw, ...]
    pairs: tuple[PairSeen, ...]
    found: PairedChange | None
    as_drawn: PairedChange | None
    matters_l_m2: float
    needed: int | None
    power: float


def trial_seen(
    register: Register, draws: Sequence[TrialDraw], *, matters_l_m2: float | None = None
) -> TrialSeen:
    """Say what a trial shows on the register's day.

    Parameters
    ----------
    register : Register
        Of the day asked about.
    draws : sequence of TrialDraw
        Of one trial; those after that day are left out.
    matters_l_m2 : float, optional
        The difference that matters, above 0; the block's setting if left out. [L/m²]

    Returns
    -------
    TrialSeen
        Mean difference with its 90 % range: Student 1908, as in `sync.survey.paired`.
    """
    matters = matters_l_m2 or register.tunables.trial_matters_l_m2
    known = [draw for draw in draws if draw.drawn_on <= register.on]
    works = works_of(register)
    begun = any(_done_on(draw, pair.treated, works, named=True)
                for draw in known for pair in draw.pairs)
    pairs = tuple(_pair(register, draw, pair, works, begun=begun)
                  for draw in known for pair in draw.pairs)
    all_of_them = [one.difference for one in pairs if one.difference is not None]
    done = [one.difference for one in pairs if one.difference is not None and one.as_drawn]
    needed = None
    if len(all_of_them) >= 2 and (sd := statistics.stdev(all_of_them)) > 0.0:
        needed = pairs_needed(matters, sd, power=register.tunables.trial_power)
    first = draws[0]
    return TrialSeen(
        first.trial, first.treatment, tuple(known), pairs, _change(all_of_them), _change(done),
        matters, needed, register.tunables.trial_power)


def _change(differences: Sequence[float]) -> PairedChange | None:
    return paired_change(differences) if len(differences) >= 2 else None


def _pair(
    register: Register, draw: TrialDraw, pair: TrialPair, works: Sequence[Work], *, begun: bool
) -> PairSeen:
    """Give a pair; while no cell of the whole trial is treated there is nothing to compare."""
    treated_on = _done_on(draw, pair.treated, works, named=True)
    other_on = _done_on(draw, pair.other, works, named=False)
    seen = PairSeen(pair, draw.drawn_on, treated_on, other_on,
                    treated_on is not None and other_on is None, None, None, "")
    gone = [cell for cell in (pair.treated, pair.other) if cell not in register.crop.cells]
    if gone:
        return dataclasses.replace(seen, waits=f"{gone[0]} is no cell of the block any more")
    start = treated_on
    if start is None:
        start = draw.drawn_on
        wait = timedelta(days=register.tunables.trial_wait_days)
        if not begun or register.on - start < wait:
            return dataclasses.replace(seen, waits=_not_done(draw, pair, works))
    halves = _halves(register, pair, start)
    if isinstance(halves, str):
        return dataclasses.replace(seen, waits=halves)
    return dataclasses.replace(seen, treated=halves[0], other=halves[1])


def _done_on(draw: TrialDraw, cell: str, works: Sequence[Work], *, named: bool) -> date | None:
    """Give the first day on which a cell was treated; `named` asks for the trial's name too."""
    return min((one.seen.day for one in works
                if one.seen.what == draw.treatment and cell in one.cells
                and one.seen.day >= draw.drawn_on
                and (not named or one.seen.trial == draw.trial)), default=None)


def _not_done(draw: TrialDraw, pair: TrialPair, works: Sequence[Work]) -> str:
    nameless = _done_on(draw, pair.treated, works, named=False)
    if nameless is not None:
        return (f"{pair.treated} was {draw.treatment.replace('_', ' ')} on "
                f"{nameless.isoformat()}, but not for trial {draw.trial}: mend that record")
    return f"{pair.treated} is not {draw.treatment.replace('_', ' ')} yet"


def _halves(register: Register, pair: TrialPair, start: date) -> tuple[Half, Half] | str:
    """Give both cells before and after, or why that cannot be told yet."""
    tunables = register.tunables
    mine, other = register.crop.cells[pair.treated], register.crop.cells[pair.other]
    visits = visits_of(mine, survey_days=tunables.survey_days)
    before = [visit for visit in visits if visit.last <= start]
    after = [visit for visit in visits if visit.first > start]
    if not before:
        return f"{pair.treated} was not measured before {start.isoformat()}"
    if not after:
        return f"{pair.treated} was not measured since {start.isoformat()}"
    theirs = _like(other, mine, before[-1], after[-1], tunables)
    if theirs is None:
        return (f"{pair.other} was not measured at about the same times as {pair.treated}, with "
                "as many picks between")
    return _half(pair.treated, before[-1], after[-1]), _half(pair.other, *theirs)


def _like(
    other: CellCrop, mine: CellCrop, before: Visit, after: Visit, tunables: Tunables
) -> tuple[Visit, Visit] | None:
    """Give the two visits of the other cell that are nearest to those of the treated."""
    picks = picks_between(mine, before, after)
    found = []
    visits = visits_of(other, survey_days=tunables.survey_days)
    for first, second in itertools.combinations(visits, 2):
        apart = (abs((first.last - before.last).days), abs((second.last - after.last).days))
        if max(apart) <= tunables.trial_apart_days and (
            picks_between(other, first, second) == picks
        ):
            found.append((sum(apart), first.first, second.first, first, second))
    return min(found, key=lambda one: one[:3])[3:] if found else None


def _half(cell: str, before: Visit, after: Visit) -> Half:
    both = sorted(set(before.plots) & set(after.plots))
    was, now = before.mean_l_m2, after.mean_l_m2
    if both:
        was = statistics.fmean(before.plots[plot] for plot in both)
        now = statistics.fmean(after.plots[plot] for plot in both)
    return Half(cell, before.last, after.last, was, now, now - was, len(both),
                (*before.records, *after.records))
