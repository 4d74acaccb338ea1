"""Which cells in which season: the register's outlook, the owner's wishes, and the solver joined.

Rule 1: the most kg over all the seasons; of plans that give the same, the one with earlier and
fewer picks.
Rule 2: a plan is a forecast and binds nobody; every pick of a second round is by a survey to come.
Rule 3: where no plan keeps every rule, it is told which rule clashes, where and by how much.
"""

import dataclasses
from collections.abc import Collection, Mapping, Sequence
from datetime import date

from sync.geometry.grid import cell_index
from sync.picks.bags import kg_of
from sync.plan.clash import clash_sentences
from sync.plan.gives_way import clash_of
from sync.plan.outlook import Outlook, Possible, outlooks
from sync.plan.schedule import Item, Need, Option, Problem, Rule, Schedule, Status, between, even
from sync.plan.search import Clock
from sync.plan.solve import solve
from sync.plan.spans import Cap, Span, caps_of, spans_from, without_permit
from sync.plan.wishes import Wishes, refuse_odd
from sync.plan.yearly import Yield, yields_of
from sync.register.build import Register

#: Of two plans of the same kg the one that picks earlier: this part a season. [-]
_EARLIER = 1e-3
#: ... and the one with fewer picks. [kg a pick]
_FEWER_KG = 1.0
#: Under this no plan picks anything. [kg]
_SOMETHING_KG = 1.0
#: How near the best is near enough: half a hundredth of the worth, far less than its range. [-]
GAP = 5e-3
LIMIT_S = 30.0


@dataclasses.dataclass(frozen=True)
class Planned:
    """A pick of the plan.

    Attributes
    ----------
    season : int
        Named by the year it starts in.
    day : date
        Earliest day.
    kg : float
        May take then, by what is known. [kg]
    measure_first : bool
        Whether the cell must be measured before.
    unsurveyed : bool
        Whether nobody ever measured it, so that its kg are its class's.
    """

    cell: str
    ground_class: str
    season: int
    day: date
    kg: float
    measure_first: bool
    unsurveyed: bool


@dataclasses.dataclass(frozen=True)
class Season:
    """A season of the plan.

    Attributes
    ----------
    span : Span
        What of it is planned.
    already_kg : float
        Picked in it before the day asked about. [kg]
    planned : Yield
        What its picks give. [kg]
    caps : tuple of (Cap, float)
        Of the permits' caps that it counts for, and what all their seasons take of each. [kg]
    """

    span: Span
    already_kg: float
    planned: Yield
    caps: tuple[tuple[Cap, float], ...]


@dataclasses.dataclass(frozen=True)
class SeasonPlan:
    """Which cells in which season.

    Attributes
    ----------
    status : {"optimal", "limit", "infeasible", "nothing"}
        As the solver says; see `Schedule`.
    gap : float or None
        How much better another plan might be, as a share. [-]
    gap_wanted, limit_s : float
        As asked of the solver. [-], [s]
    in_turns : bool
        Whether another run may give another plan as near the best.
    picks : tuple of Planned
        By season, column and row.
    clash : tuple of str
        Where no plan keeps every rule: what would have to give way.
    idle : mapping of str to str
        Cells that are not in the plan, and why.
    could_open_kg : mapping of str to float
        Of cells nobody measured: what the class's value would let take, once they are. [kg]
    untold_caps : tuple of str
        Permits whose cap cannot be had in kg, and is left out.
    without_permit : tuple of int
        Seasons in whose middle no permit is in force, where one is needed: nothing is planned.
    """

    on: date
    wishes: Wishes
    status: Status
    gap: float | None
    gap_wanted: float
    limit_s: float
    in_turns: bool
    seasons: tuple[Season, ...]
    picks: tuple[Planned, ...]
    clash: tuple[str, ...]
    idle: Mapping[str, str]
    could_open_kg: Mapping[str, float]
    untold_caps: tuple[str, ...]
    without_permit: tuple[int, ...]


def plan_seasons(
    register: Register, wishes: Wishes, *, gap: float = GAP, limit_s: float = LIMIT_S,
    clock: Clock | None = None,
) -> SeasonPlan:
    """Plan the seasons to come.

    Parameters
    ----------
    register : Register
        Of the day asked about.
    wishes : Wishes
        What the owner asks of the plan.
    gap : float
        How far from the best it may be. [-]
    limit_s : float
        Longest time for the solver. [s]
    clock : callable, optional
        Seconds that run.

    Returns
    -------
    SeasonPlan
        The same for the same register, wishes and solver, unless the time limit was hit.

    Raises
    ------
    SettingsError
        If a wish makes no sense on this block.
    """
    wishes_fit(register, wishes)
    spans = _spans(register, wishes)
    known = outlooks(register, spans, with_unsurveyed=True)
    never = frozenset(name for name, one in register.cells.items()
                      if one.state == "unsurveyed" and one.picks.last_over is None)
    shown = {name: one for name, one in known.items()
             if wishes.with_unsurveyed or name not in never}
    caps, untold = caps_of(register, spans)
    closed = without_permit(register.block, spans)
    already = _already_kg(register, spans[0])
    problem = season_problem(shown, spans, wishes, caps, already_kg=already,
                             apart=neighbours(shown) if wishes.no_neighbours else (),
                             without=closed)
    found = solve(problem, gap=gap, limit_s=limit_s, clock=clock)
    clash: tuple[str, ...] = ()
    if found.status == "infeasible":
        told = clash_of(problem, limit_s=limit_s, clock=clock)
        clash = clash_sentences(told, shown, spans, wishes)
    picks = _planned(found, shown, spans, never)
    return SeasonPlan(
        register.on, wishes, found.status, found.gap, gap, limit_s, found.in_turns,
        _seasons(register, spans, picks, shown, caps, already), picks, clash,
        _idle(register, shown, picks, never, wishes),
        {name: max((one.kg for one in known[name].firsts.values()), default=0.0)
         for name in sorted(never, key=cell_index)},
        untold, tuple(spans[t].season for t in sorted(closed)),
    )


def wishes_fit(register: Register, wishes: Wishes) -> None:
    """Refuse wishes that make no sense on a block.

    Parameters
    ----------
    register : Register
        Of the day asked about.
    wishes : Wishes
        What is asked.

    Raises
    ------
    SettingsError
        With every mistake.
    """
    refuse_odd(wishes, register.cells, ())
    spans = _spans(register, wishes)
    refuse_odd(wishes, register.cells, [one.season for one in spans])


def _spans(register: Register, wishes: Wishes) -> tuple[Span, ...]:
    return spans_from(register.on, register.block.season_start, wishes.seasons,
                      least_days=register.tunables.same_pick_days)


def season_problem(
    known: Mapping[str, Outlook],
    spans: Sequence[Span],
    wishes: Wishes,
    caps: Sequence[Cap] = (),
    *,
    already_kg: float = 0.0,
    apart: Sequence[tuple[str, str]] = (),
    without: Collection[int] = (),
) -> Problem:
    """Put the outlook and the wishes as a problem of items and periods.

    Parameters
    ----------
    known : mapping of str to Outlook
        By cell.
    spans : sequence of Span
        The seasons.
    wishes : Wishes
        What is asked.
    caps : sequence of Cap
        What the permits leave. [kg]
    already_kg : float
        Picked in the first season so far; it counts for an even yield. [kg]
    apart : sequence of (str, str)
        Neighbours that must not be picked in one season.
    without : collection of int
        Seasons without a permit: they need not be even with the others.

    Returns
    -------
    Problem
        In kg.
    """
    fixed = set(wishes.fixed)
    items = []
    for name, one in known.items():
        if name in wishes.never:
            continue

        def worth(possible: Possible, cell: str = name) -> bool:
            asked = (cell, spans[possible.period].season) in fixed
            return asked or possible.kg >= wishes.least_kg

        firsts = [_option(p, None) for p in one.firsts.values() if worth(p)]
        laters = [_option(p, before) for (before, _), p in one.laters.items() if worth(p)]
        if firsts:
            items.append(Item(name, (*firsts, *laters)))
    first = spans[0].season
    rules = [_cap_rule(cap) for cap in caps]
    if wishes.at_least_t is not None:
        rules += [between("at_least", f"{wishes.at_least_t:g} t in {span.season}", period,
                          low=1000.0 * wishes.at_least_t - (already_kg if period == 0 else 0.0))
                  for period, span in enumerate(spans) if period not in without]
    if wishes.even_pct is not None:
        rules += even("even", {t: f"{span.season}" for t, span in enumerate(spans)
                               if t not in without},
                      wishes.even_pct / 100.0, {0: already_kg})
        if items:
            # Seasons of nothing are even, and no plan: that must clash and not pass for one.
            rules.append(Rule("", "something is picked", dict.fromkeys(range(len(spans)), 1.0),
                              low=_SOMETHING_KG))
    return Problem(
        tuple(items), len(spans), tuple(rules),
        tuple(Need(f"fix {cell}={season}", cell, season - first) for cell, season in wishes.fixed),
        tuple(apart),
    )


def _cap_rule(cap: Cap) -> Rule:
    """Hold the seasons that count for a permit year to what its cap leaves."""
    return Rule(f"cap {cap.permit}", f"cap of {cap.permit} from {cap.first}",
                dict.fromkeys(cap.periods, 1.0), high=cap.kg, items=cap.cells,
                period=cap.periods[0])


def _option(possible: Possible, after: int | None) -> Option:
    worth = possible.kg * (1.0 - _EARLIER * possible.period) - _FEWER_KG
    return Option({possible.period: possible.kg}, worth, after)


def neighbours(cells: Mapping[str, object]) -> tuple[tuple[str, str], ...]:
    """Give the pairs of cells that share a side.

    Parameters
    ----------
    cells : mapping
        By name.

    Returns
    -------
    tuple of (str, str)
        Each pair once, the western or southern first.
    """
    at = {cell_index(name): name for name in cells}
    pairs = []
    for (column, row), name in at.items():
        pairs += [(name, at[place]) for place in ((column + 1, row), (column, row + 1))
                  if place in at]
    return tuple(pairs)


def _already_kg(register: Register, span: Span) -> float:
    """Give what was picked in the first season until today; 0 where it is yet to begin."""
    if span.first > register.on:
        return 0.0
    month, day = register.block.season_start
    since = date(span.season, month, day)
    mine = [one for one in register.known.placed if since <= one.bag.day <= register.on]
    return kg_of(mine, None, register.crop.weights, register.block).kg


def _planned(
    found: Schedule, known: Mapping[str, Outlook], spans: Sequence[Span], never: frozenset[str]
) -> tuple[Planned, ...]:
    picks = []
    for chosen in found.chosen:
        period = next(iter(chosen.option.takes))
        one = known[chosen.item]
        before = chosen.option.after
        possible = one.firsts[period] if before is None else one.laters[before, period]
        picks.append(Planned(
            one.cell, one.ground_class, spans[period].season, possible.day, possible.kg,
            possible.measure_first, one.cell in never))
    return tuple(sorted(picks, key=lambda p: (p.season, cell_index(p.cell))))


def _seasons(
    register: Register, spans: Sequence[Span], picks: Sequence[Planned],
    known: Mapping[str, Outlook], caps: Sequence[Cap], already_kg: float,
) -> tuple[Season, ...]:
    by_season: dict[int, dict[str, float]] = {span.season: {} for span in spans}
    for pick in picks:
        by_season[pick.season][pick.cell] = pick.kg
    order = [(span.season, by_season[span.season]) for span in spans]
    yields = yields_of(register, spans, [kg for _, kg in order], known)
    seasons = []
    for period, span in enumerate(spans):
        mine = []
        for cap in caps:
            if period in cap.periods:
                kg = sum(by_season[spans[t].season].get(name, 0.0)
                         for t in cap.periods for name in cap.cells)
                mine.append((cap, kg))
        seasons.append(Season(span, already_kg if period == 0 else 0.0, yields[period],
                              tuple(mine)))
    return tuple(seasons)


def _idle(
    register: Register, known: Mapping[str, Outlook], picks: Sequence[Planned],
    never: frozenset[str], wishes: Wishes,
) -> dict[str, str]:
    """Say of every cell that is not in the plan why it is not."""
    used = {pick.cell for pick in picks}
    idle = {}
    for name, today in register.cells.items():
        if name in used:
            continue
        if name in wishes.never:
            idle[name] = "never to be picked, as asked"
        elif name in never and not wishes.with_unsurveyed:
            idle[name] = "unsurveyed"
        elif today.state == "closed":
            idle[name] = today.why
        elif not known[name].firsts:
            idle[name] = known[name].why or "nothing may be taken of it"
        elif max(p.kg for p in known[name].firsts.values()) < wishes.least_kg:
            idle[name] = f"under {wishes.least_kg:g} kg a pick"
        else:
            idle[name] = "not needed: the other cells give as much as the rules allow"
    return idle
