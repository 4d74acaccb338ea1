"""The ground of cells that hands went over: new ground of each walk and day, in one order.

Rule 1: ground passed again in the same season counts once, on the day it was passed first.
Rule 2: walks of a season stand by day, then by their start, so that no order of arrival tells.
Rule 3: where the points of a walk are gone, the new ground written down for it stands.
"""

import bisect
import dataclasses
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

import shapely

from sync.block import season_of
from sync.geometry.crs import Projection
from sync.geometry.fresh import Fresh, Piece, Reader, fresh_m2, remembered_m2
from sync.geometry.shapes import Shape, area_m2, polygonal
from sync.geometry.swath import GRID_M
from sync.intake.memo import Memo, NoMemo

#: First and last local day.
Days = tuple[date, date]


def _no_ground(piece: Piece) -> bytes:
    raise LookupError(f"nobody reads the ground of {piece.walk}")


@dataclasses.dataclass(frozen=True)
class Swept:
    """The swept ground of a block.

    Attributes
    ----------
    by_cell : mapping of str to tuple of Fresh
        By day, then by walk.
    memo : Memo
        Remembers what is worked out; no figure changes by it.
    read : callable
        Reads the ground of a piece.
    """

    by_cell: Mapping[str, tuple[Fresh, ...]] = dataclasses.field(default_factory=dict)
    memo: Memo = dataclasses.field(default_factory=NoMemo, compare=False, repr=False)
    read: Reader = dataclasses.field(default=_no_ground, compare=False, repr=False)

    def m2(self, cell: str, first: date, last: date) -> float | None:
        """Give the ground of a cell that was swept from one day to another.

        Parameters
        ----------
        cell : str
            Its name.
        first, last : date
            Local days, both included.

        Returns
        -------
        float or None
            [m²]; None where no track tells.
        """
        mine = self.between(cell, (first, last))
        return sum(one.m2 for one in mine) if mine else None

    def twice_m2(
        self, projection: Projection, cell: str, one: Days, other: Days
    ) -> float | None:
        """Give the ground of a cell that was swept in both of two times.

        Parameters
        ----------
        projection : Projection
            The block's.
        cell : str
            Its name.
        one, other : (date, date)
            First and last local day of each.

        Returns
        -------
        float or None
            [m²]; None where no track tells of one of them, or the points of one are gone. It is
            remembered once the memo is told to keep.
        """
        parts = [self.between(cell, days) for days in (one, other)]
        if not all(parts) or any(fresh.piece.total is None for each in parts for fresh in each):
            return None

        def work() -> list[float]:
            old, new = (_joined(each, self.read) for each in parts)
            return [overlap_m2(projection, old, new)]

        pieces = [[fresh.piece for fresh in each] for each in parts]
        (found,) = remembered_m2("twice", pieces, 1, projection, self.memo, work)
        return found

    def is_gone(self, cell: str, first: date, last: date) -> bool:
        """Say whether points of some of that ground are gone."""
        return any(one.piece.total is None for one in self.between(cell, (first, last)))

    def between(self, cell: str, days: Days) -> tuple[Fresh, ...]:
        """Give the pieces of a cell from one local day to another, both included."""
        first, last = days
        mine = self.by_cell.get(cell, ())
        return mine[bisect.bisect_left(mine, first, key=lambda one: one.piece.day):
                    bisect.bisect_right(mine, last, key=lambda one: one.piece.day)]


def _joined(swept: Sequence[Fresh], read: Reader) -> Shape:
    return polygonal(shapely.union_all(
        [shapely.from_wkb(read(one.piece)) for one in swept], grid_size=GRID_M))


def swept_of(
    pieces: Iterable[Piece], projection: Projection, season_start: tuple[int, int], memo: Memo,
    read: Reader, before: Swept | None = None,
) -> Swept:
    """Put the pieces of all walks together.

    Parameters
    ----------
    pieces : iterable of Piece
        In any order.
    projection : Projection
        The block's.
    season_start : tuple of int
        Month and day.
    memo : Memo
        Remembers what is worked out.
    read : callable
        Reads the ground of a piece.
    before : Swept, optional
        That of a register built before, on the same projection and with the same seasons; ground
        of which all pieces are the same is given again.

    Returns
    -------
    Swept
        By cell.
    """
    seasons: dict[tuple[str, int], list[Piece]] = defaultdict(list)
    for one in pieces:
        seasons[one.cell, season_of(one.day, season_start)].append(one)
    known = _by_season(before, season_start)
    by_cell: dict[str, list[Fresh]] = defaultdict(list)
    for season, each in sorted(seasons.items()):
        each.sort(key=lambda one: (one.day, one.walk))
        same = known.get(season, [])
        by_cell[season[0]] += same if [one.piece for one in same] == each else map(
            Fresh, each, fresh_m2(season, each, same, projection, memo, read))
    return Swept({cell: tuple(each) for cell, each in by_cell.items()}, memo, read)


def _by_season(
    swept: Swept | None, season_start: tuple[int, int]
) -> dict[tuple[str, int], list[Fresh]]:
    """Sort swept ground by cell and season, in its order."""
    found: dict[tuple[str, int], list[Fresh]] = defaultdict(list)
    for cell, each in ({} if swept is None else swept.by_cell).items():
        for one in each:
            found[cell, season_of(one.piece.day, season_start)].append(one)
    return found


def overlap_m2(projection: Projection, one: Shape, other: Shape) -> float:
    """Give the ground that two swaths share. [m²]."""
    return area_m2(projection, polygonal(shapely.intersection(one, other, grid_size=GRID_M)))
