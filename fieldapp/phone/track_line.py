"""The line of one's own walk, as it grows.

Rule 1: only the outing that is open: a phone that is handed on shows nobody another's way.
Rule 2: each record is read once; a piece that is full never changes again.
"""

import math
from collections.abc import Callable

from fieldapp.capture.outing import Outing
from fieldapp.ground.shapes import Box, Point
from fieldapp.record import decode_track

#: Most points of a piece; the next begins where it ends.
PIECE_POINTS = 1_000
#: Points nearer to the one before add nothing to a map. [m]
STEP_M = 1.0
#: After so long without a fix the line is broken off. [s]
GAP_S = 120.0

Piece = tuple[Point, ...]


class TrackLine:
    """The line so far.

    Parameters
    ----------
    outing : Outing
        Whose.
    to_m : callable
        Maps latitude and longitude [deg] to the plane [m].
    """

    def __init__(self, outing: Outing, to_m: Callable[[float, float], Point]) -> None:
        self._outing = outing
        self._to_m = to_m
        self._first = 0
        self._begin(1)

    def _begin(self, first: int) -> None:
        self._first, self._next = first, first
        self._full: list[Piece] = []
        self._last: list[Point] = []
        self._at_s = -math.inf
        self.box: Box | None = None

    def pieces(self) -> tuple[Piece, ...]:
        """Give the line up to the last record.

        Returns
        -------
        tuple of Piece
            Each of 2 to 1,000 points [m], the same object every time once it is full; the line is
            broken where the outing was paused and where no fix came for two minutes.
        """
        if self._outing.first_seq != self._first:
            self._begin(self._outing.first_seq)
        for record in self._outing.book.records(self._next):
            self._next = record["seq"] + 1
            if record["kind"] == "track":
                for at, lat, lon, _ in decode_track(record):
                    self._add(at.timestamp(), self._to_m(lat, lon))
            elif record["kind"] == "outing" and record["state"] != "resume":
                self._break()
        return (*self._full, *([tuple(self._last)] if len(self._last) > 1 else []))

    def _add(self, at_s: float, point: Point) -> None:
        if not 0 <= at_s - self._at_s <= GAP_S:
            self._break()
        self._at_s = at_s
        if self._last and math.dist(self._last[-1], point) < STEP_M:
            return
        self._last.append(point)
        self._widen(point)
        if len(self._last) == PIECE_POINTS:
            self._full.append(tuple(self._last))
            self._last = [point]

    def _break(self) -> None:
        if len(self._last) > 1:
            self._full.append(tuple(self._last))
        self._last = []

    def _widen(self, point: Point) -> None:
        x, y = point
        west, south, east, north = self.box or (x, y, x, y)
        self.box = min(west, x), min(south, y), max(east, x), max(north, y)
