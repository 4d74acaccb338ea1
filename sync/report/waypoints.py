"""Where to go, for a handheld receiver: plots to be read, piles with bags, pegs and hazards.

Rule 1: it holds the places that a phone's ground sheet holds, by the same rules.
Rule 2: no name stands twice: a receiver lays a waypoint over the one of the same name.
Rule 3: each says that the shed gave it out, so that a receiver's file brings none of them back.
"""

from collections import Counter
from collections.abc import Iterator, Sequence

from sync.block import season_of
from sync.geometry.gpx import Waypoint
from sync.geometry.receiver import GIVEN_OUT
from sync.intake.merge import Counted
from sync.register.build import Register
from sync.report.sheet_places import marks_standing, pegs_deg
from sync.report.sheet_plots import sheet_plots

_WHEN = {"survey": "for the survey", "before_pick": "before the pick",
         "after_pick": "after the pick"}
_MARKED = ("pile", "hazard")
#: Nobody lays a waypoint within a hand's breadth: 1e-7 degree is 1 cm.
_DIGITS = 7


def waypoints(register: Register) -> tuple[Waypoint, ...]:
    """Give the places that somebody without the app is to find.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Returns
    -------
    tuple of Waypoint
        Plots in the order of the draw, piles and hazards as they were marked, pegs; without
        times, each name once.
    """
    return (*_plots(register), *_marks(register), *_pegs(register))


def _plots(register: Register) -> Iterator[Waypoint]:
    places = {plot.name: (plot.lat, plot.lon) for plot in register.block.plots}
    for row in sheet_plots(register):
        told = [f"plot in {row['cell']}", _WHEN[row["when"]]]
        if row["spare"]:
            told.append("a spare: read it only if another of its cell cannot be seen")
        if row["again"]:
            told.append("to be read by a second person too")
        yield _waypoint(f"plot {row['plot']}", places[row["plot"]], told)


def _marks(register: Register) -> Iterator[Waypoint]:
    marks = [pair for pair in marks_standing(register) if pair[0].record["what"] in _MARKED]
    often = Counter(_called(one) for one, _ in marks)
    for one, bags in marks:
        name = _called(one)
        if often[name] > 1:
            name = f"{name} of {season_of(one.day, register.block.season_start)}"
        told = [one.record["what"]] if bags is None else [f"pile: {bags:g} bags wait"]
        where = one.where
        if where is not None:
            note = one.record.get("note")
            yield _waypoint(name, (where.lat, where.lon), [*told, note] if note else told)


def _pegs(register: Register) -> Iterator[Waypoint]:
    for name, place in pegs_deg(register).items():
        yield _waypoint(_with_kind("peg", name), place, ["peg"])


def _called(one: Counted) -> str:
    return _with_kind(one.record["what"], one.record["name"])


def _with_kind(what: str, name: str) -> str:
    """Put the kind before a name that does not begin with it."""
    return name if name.startswith(f"{what} ") else f"{what} {name}"


def _waypoint(name: str, place: tuple[float, float], told: Sequence[str]) -> Waypoint:
    lat, lon = place
    return Waypoint(name, round(lat, _DIGITS), round(lon, _DIGITS),
                    note=GIVEN_OUT + "; ".join(told))
