"""The surveyor's walk: which plots are left, which is next, and the way there.

Rule 1: a plot is done by a quadrat or a skip that the sheet's maker did not know of yet; what the
shed held when it asked for the plot does not do it again.
Rule 2: a plot asked for again is still mine when another has done it, never when I have.
Rule 3: a spare is walked to only in the place of a plot of its cell that could not be seen.
"""

import dataclasses
from collections import Counter
from collections.abc import Sequence
from datetime import datetime
from typing import Literal

from fieldapp.capture.book import CaptureError, Record
from fieldapp.capture.on_plots import OnPlots
from fieldapp.capture.outing import Outing
from fieldapp.capture.places import distance_m, way_to
from fieldapp.ground import UNKNOWN_ACCURACY_M, Plot, Sheet
from fieldapp.ground.shapes import wind_of
from fieldapp.record import Where

Why = Literal["pool", "scrub", "flooded_today", "unsafe", "other"]
#: At this distance one has arrived. [m]
REACH_M = 3.0
#: Fixes that must lie apart before a direction of travel is believed.
MOVING_FIXES = 3


@dataclasses.dataclass(frozen=True)
class Way:
    """The way to a plot.

    Attributes
    ----------
    plot : Plot
        Where to.
    distance_m : float or None
        None without a fix. [m]
    bearing_deg : float or None
        From true north. [deg]
    compass_deg : float or None
        As a hand compass reads it there. [deg]
    wind : str or None
        One of the eight winds.
    reached : bool
        Within 3 m, or within the fix's radius.
    """

    plot: Plot
    distance_m: float | None
    bearing_deg: float | None
    compass_deg: float | None
    wind: str | None
    reached: bool


class Walk:
    """The walk of whoever carries the phone over a sheet's plots.

    Parameters
    ----------
    outing : Outing
        Who walks.
    sheet : Sheet
        Whose plots.
    """

    def __init__(self, outing: Outing, sheet: Sheet) -> None:
        self._outing = outing
        self._sheet = sheet
        self._chosen: Plot | None = None
        self._seen: tuple[tuple[int, ...], OnPlots] | None = None

    def left(self, now: datetime) -> tuple[Plot, ...]:
        """Give the plots left to do.

        Parameters
        ----------
        now : datetime
            Aware.

        Returns
        -------
        tuple of Plot
            In the sheet's order; spares only as far as they stand in for plots not seen.
        """
        noted, me = self._on_plots(), self._outing.person
        missed = Counter(plot.cell for plot in self._sheet.plots
                         if not plot.spare and noted.not_seen(plot))
        left: list[Plot] = []
        for plot in self._sheet.plots:
            if plot.spare:
                if missed[plot.cell] == 0 or noted.not_seen(plot):
                    continue
                missed[plot.cell] -= 1
            if not noted.done(plot, me, now):
                left.append(plot)
        return tuple(left)

    def next(self, now: datetime, where: Where | None) -> Way | None:
        """Propose a plot: one reached or asked for by `other` until it is done, else the nearest.

        One that was reached stays, so that nobody strolls on to nicer moss.

        Parameters
        ----------
        now : datetime
            Aware.
        where : Where or None
            The fix; without one, the first on the sheet.

        Returns
        -------
        Way or None
            None when nothing is left.
        """
        near = self._by_distance(now, where)
        if not near:
            return None
        way = self.way(self._chosen if self._chosen in near else near[0], where)
        if way.reached:
            self._chosen = way.plot
        return way

    def other(self, now: datetime, where: Where | None) -> Way | None:
        """Step to the next nearest plot, and past the farthest back to the nearest."""
        shown, near = self.next(now, where), self._by_distance(now, where)
        if shown is None:
            return None
        self._chosen = near[(near.index(shown.plot) + 1) % len(near)]
        return self.way(self._chosen, where)

    def way(self, plot: Plot, where: Where | None) -> Way:
        """Give the way to a plot.

        Parameters
        ----------
        plot : Plot
            Where to.
        where : Where or None
            Where from.

        Returns
        -------
        Way
            With nothing but the plot if there is no fix.
        """
        if where is None:
            return Way(plot, None, None, None, None, reached=False)
        distance, bearing = way_to(self._sheet, where, plot.at)
        acc_m = UNKNOWN_ACCURACY_M if where.acc_m is None else where.acc_m
        compass = (bearing - self._sheet.declination_deg) % 360.0
        return Way(plot, distance, bearing, compass, wind_of(bearing),
                   reached=distance <= max(REACH_M, acc_m))

    def skip(self, plot: Plot, why: Why, *, now: datetime, where: Where | None,
             note: str | None = None, press_ms: int | None = None) -> Record:
        """Note that a plot cannot be done.

        Parameters
        ----------
        plot : Plot
            One of the sheet's.
        why : str
            pool and scrub mean that no moss is there; flooded_today, unsafe and other that it was
            not seen, and the cell's next spare stands in.
        now, where : datetime, Where or None
            When and where.
        note : str or None
            Words.
        press_ms : int or None
            How long the press was. [ms]

        Returns
        -------
        dict
            The record, on disk.

        Raises
        ------
        CaptureError
            If the plot is none of the sheet's.
        """
        if plot not in self._sheet.plots:
            raise CaptureError(f"plot {plot.name!r} is not on the sheet")
        return self._outing.note("skip", now=now, where=where, plot=plot.name, why=why, note=note,
                                 press_ms=press_ms)

    def _on_plots(self) -> OnPlots:
        """Give what was noted on plots, looked through again only after some of it changed."""
        noted = self._outing.noted
        changes = noted.changes("quadrat", "skip")
        if self._seen is None or self._seen[0] != changes:
            held = self._sheet.held_by(self._outing.book.device)
            self._seen = (changes, OnPlots(noted, held))
        return self._seen[1]

    def _by_distance(self, now: datetime, where: Where | None) -> list[Plot]:
        left = self.left(now)
        if where is None:
            return list(left)
        away = {plot: way_to(self._sheet, where, plot.at)[0] for plot in left}
        return sorted(left, key=lambda plot: (away[plot], plot.name))


def is_moving(fixes: Sequence[Where]) -> bool:
    """Say whether a direction of travel can be believed.

    Parameters
    ----------
    fixes : sequence of Where
        The newest last.

    Returns
    -------
    bool
        True if the last three span more than twice the worst radius among them.
    """
    last = fixes[-MOVING_FIXES:]
    if len(last) < MOVING_FIXES:
        return False
    worst = max(UNKNOWN_ACCURACY_M if fix.acc_m is None else fix.acc_m for fix in last)
    return distance_m(last[0], last[-1]) > 2.0 * worst
