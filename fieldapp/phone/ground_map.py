"""What the map shows: the ground around one's own place, as plain values in metres.

Rule 1: with a sheet all lies on its plane; without one, on a flat earth about the first place
known, and only track and marks are shown.
Rule 2: cells are worked out anew only when the sheet or the day changes.
Rule 3: no other person is ever shown.
"""

import dataclasses
import math
from collections.abc import Iterator
from datetime import date, datetime, tzinfo
from typing import Literal

from fieldapp.capture.days import season_bounds
from fieldapp.capture.outing import Outing
from fieldapp.capture.places import flat_m
from fieldapp.capture.walk import Walk
from fieldapp.ground import FIX_STALE_S, UNKNOWN_ACCURACY_M, Band, Sheet, state_on
from fieldapp.ground.shapes import Box, Point, Shape, bearing_deg, box_of, holds, nearest_on
from fieldapp.ground.slices import whole
from fieldapp.ground.states import in_force
from fieldapp.phone.map_shown import Ground, How, MapShown, MarkShown, Me, PlotShown, Standing
from fieldapp.phone.track_line import TrackLine
from fieldapp.phone.tunables import FIX_WEAK_M
from fieldapp.record import Where

Step = Literal[0, 1, 2]

#: Widths of the map at its first two steps; the third shows the whole block. [m]
WIDTHS_M = (60.0, 200.0)
#: Ground shown about the block when all of it is, as a share of its size.
_ROOM = 1.08
#: Least width where nothing but a track or a mark gives one. [m]
_LEAST_WHOLE_M = 200.0
#: The scale bar is at most this share of the map.
_BAR_SHARE = 0.25
#: Over this step true north is looked up on the plane. [deg]
_NORTH_STEP_DEG = 1e-3


class PhoneMap:
    """The map of one phone.

    Parameters
    ----------
    outing : Outing
        Who carries it; its sheet is the ground.
    zone : tzinfo
        The block's time zone.
    walk : Walk or None
        The surveyor's; None without a sheet.
    """

    def __init__(self, outing: Outing, *, zone: tzinfo, walk: Walk | None = None) -> None:
        self._outing = outing
        self._zone = zone
        self._walk = walk
        self._origin: tuple[float, float] | None = None
        self._last: Me | None = None
        self._drawn: tuple[Sheet, date] | None = None
        self._cells: tuple[Ground, ...] = ()
        self._closed: tuple[Ground, ...] = ()
        self._line = TrackLine(outing, self._to_m)

    def show(self, *, now: datetime, where: Where | None, step: Step) -> MapShown:
        """Give what the map shows.

        Parameters
        ----------
        now : datetime
            Aware.
        where : Where or None
            The newest fix; without one the last place is shown as lost.
        step : int
            0 about 60 m across, 1 about 200 m, 2 the whole block.

        Returns
        -------
        MapShown
            Centred on one's own place, but for the whole block.
        """
        sheet = self._outing.sheet
        self._catch_up(sheet, now)
        me, track, marks = self._me(where), self._line.pieces(), tuple(self._marks(now))
        centre, span = _whole_of(sheet, me, marks, self._line.box)
        if step != 2:
            span = WIDTHS_M[step], 0.0
            centre = centre if me is None else (me.x, me.y)
        return MapShown(
            cells=self._cells, closed=self._closed,
            outline=() if sheet is None else sheet.outline, me=me, plots=self._plots(now),
            marks=marks, track=track, centre=centre, span_m=span, bar_m=bar_of(max(span)),
            north_deg=_north_deg(sheet, centre), back_deg=_back_deg(sheet, me),
            sheet_day=None if sheet is None else sheet.made_at.astimezone(self._zone).date())

    def _catch_up(self, sheet: Sheet | None, now: datetime) -> None:
        drawn = None if sheet is None else (sheet, now.astimezone(self._zone).date())
        if drawn == self._drawn:
            return
        if (drawn or (None,))[0] != (self._drawn or (None,))[0]:
            self._last, self._line = None, TrackLine(self._outing, self._to_m)
        self._drawn = drawn
        self._cells = () if drawn is None else tuple(_cells(*drawn))
        self._closed = () if drawn is None else tuple(_closed(*drawn))

    def _to_m(self, lat: float, lon: float) -> Point:
        if self._outing.sheet is not None:
            return self._outing.sheet.map.to_m(lat, lon)
        self._origin = self._origin or (lat, lon)
        return flat_m(self._origin, lat, lon)

    def _me(self, where: Where | None) -> Me | None:
        if where is None:
            return None if self._last is None else dataclasses.replace(self._last, how="lost")
        acc_m = UNKNOWN_ACCURACY_M if where.acc_m is None else where.acc_m
        how: How = ("stale" if where.age_s > FIX_STALE_S
                    else "weak" if acc_m > FIX_WEAK_M else "fresh")
        self._last = Me(*self._to_m(where.lat, where.lon), acc_m, how)
        return self._last

    def _plots(self, now: datetime) -> tuple[PlotShown, ...]:
        """Give the plots, each once; a spare only when it is called for or was seen."""
        sheet = self._outing.sheet
        if sheet is None or self._walk is None:
            return ()
        left = {plot.name for plot in self._walk.left(now)}
        read = {one.record.get("plot") for one in self._outing.noted.of("quadrat")}
        skipped = {one.record["plot"] for one in self._outing.noted.of("skip")} - read
        shown: dict[str, PlotShown] = {}
        for plot in sheet.plots:
            standing: Standing = ("left" if plot.name in left
                                  else "skipped" if plot.name in skipped else "done")
            if standing != "done" or not plot.spare or plot.name in read:
                shown[plot.name] = PlotShown(plot.name, *plot.at, standing)
        return tuple(shown.values())

    def _marks(self, now: datetime) -> Iterator[MarkShown]:
        """Give the sheet's marks and pegs and one's own of this season, each once."""
        sheet = self._outing.sheet
        season = season_bounds(now, self._zone, None if sheet is None else sheet.season_start)
        own = [MarkShown(one.record["what"], one.record["name"],
                         *self._to_m(one.where.lat, one.where.lon))
               for one in self._outing.noted.of("mark", within=season) if one.where is not None]
        told = [] if sheet is None else [
            *(MarkShown(mark.what, mark.name, *mark.at) for mark in sheet.marks),
            *(MarkShown("peg", peg.name, *peg.at) for peg in sheet.pegs)]
        yield from {(one.what, one.name): one for one in (*told, *own)}.values()


def bar_of(span_m: float) -> float:
    """Choose the length of a scale bar.

    Parameters
    ----------
    span_m : float
        Width of the map, more than 0. [m]

    Returns
    -------
    float
        The largest of 1, 2 or 5 times a power of ten that is at most a quarter of it. [m]
    """
    most = span_m * _BAR_SHARE
    ten = 10.0 ** math.floor(math.log10(most))
    return max(times * ten for times in (1, 2, 5) if times * ten <= most * (1 + 1e-9))


def _cells(sheet: Sheet, day: date) -> Iterator[Ground]:
    return (_ground(cell.name, state_on(sheet, cell, day), cell.shape) for cell in sheet.cells)


def _closed(sheet: Sheet, day: date) -> Iterator[Ground]:
    return (_ground("", "closed", one.shape) for one in sheet.closures if in_force(one, day))


def _ground(name: str, band: Band, shape: Shape) -> Ground:
    pieces, box = tuple(whole(shape)), box_of(shape)
    at = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    if not holds(shape, *at) and pieces:
        widest = max(pieces, key=lambda quad: (quad[1][0] + quad[2][0] - quad[0][0] - quad[3][0])
                     * (quad[2][1] - quad[0][1]))
        at = sum(x for x, _ in widest) / 4, sum(y for _, y in widest) / 4
    return Ground(name, band, shape, pieces, at, box)


def _whole_of(sheet: Sheet | None, me: Me | None, marks: tuple[MarkShown, ...],
              walked: Box | None) -> tuple[Point, tuple[float, float]]:
    """Give middle and size [m] of all there is to show."""
    if sheet is not None:
        west, south, east, north = box_of(sheet.outline)
        least = 0.0
    else:
        points = [(mark.x, mark.y) for mark in marks]
        points += [] if me is None else [(me.x, me.y)]
        points += [] if walked is None else [walked[:2], walked[2:]]
        xs, ys = [x for x, _ in points] or [0.0], [y for _, y in points] or [0.0]
        west, south, east, north = min(xs), min(ys), max(xs), max(ys)
        least = _LEAST_WHOLE_M
    size = max((east - west) * _ROOM, least), (north - south) * _ROOM
    return ((west + east) / 2, (south + north) / 2), size


def _north_deg(sheet: Sheet | None, at: Point) -> float:
    if sheet is None:
        return 0.0
    lat, lon = sheet.map.to_deg(*at)
    return bearing_deg(sheet.map.to_m(lat, lon), sheet.map.to_m(lat + _NORTH_STEP_DEG, lon))


def _back_deg(sheet: Sheet | None, me: Me | None) -> float | None:
    if sheet is None or me is None or holds(sheet.outline, me.x, me.y):
        return None
    return bearing_deg((me.x, me.y), nearest_on(sheet.outline, me.x, me.y)[1])
