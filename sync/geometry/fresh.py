"""New ground of walks: pieces in order, and what each adds, remembered by the sum of the pieces.

Rule 1: what is remembered carries its own sum; damaged, it is worked out anew.
Rule 2: ground joined for the last walk of a season serves the next; it is what joining anew gives.
"""

import dataclasses
import functools
import hashlib
import itertools
import json
import struct
from collections.abc import Callable, Iterable, Sequence
from datetime import date

import shapely

from sync.geometry.crs import Projection
from sync.geometry.outings import Name
from sync.geometry.shapes import NOTHING, Shape, area_m2, polygonal
from sync.geometry.swath import GRID_M
from sync.intake.memo import Memo
from sync.intake.memo_bytes import sound, summed

#: Bytes of the sum of the pieces, then their area [m²], before their joined ground.
_SUM, _M2 = 32, struct.Struct("<d")


@dataclasses.dataclass(frozen=True)
class Piece:
    """What one walk swept of one cell on one day.

    Attributes
    ----------
    walk : Name
        Of the walk.
    total : bytes or None
        The sum of the ground as WKB (SHA-256); None once the points are gone.
    m2 : float or None
        New ground as it was written down, where the points are gone. [m²]
    """

    cell: str
    day: date
    walk: Name
    total: bytes | None
    m2: float | None = None


#: Reads the ground of a piece with points, as WKB. [m]
Reader = Callable[[Piece], bytes]


@dataclasses.dataclass(frozen=True)
class Fresh:
    """A piece with the ground that nobody had swept before it in its season. [m²]."""

    piece: Piece
    m2: float


def fresh_m2(
    season: tuple[str, int], pieces: Sequence[Piece], known: Sequence[Fresh],
    projection: Projection, memo: Memo, read: Reader,
) -> list[float]:
    """Give the new ground of each piece of a cell's season, in order.

    Parameters
    ----------
    season : (str, int)
        The cell, and the year the season starts in.
    pieces : sequence of Piece
        In order.
    known : sequence of Fresh
        New ground that is known where these are the first pieces.
    projection : Projection
        The block's.
    memo : Memo
        Remembers what is worked out, and the ground of all pieces joined.
    read : callable
        Reads the ground of a piece.

    Returns
    -------
    list of float
        What a piece adds to the ground of those before it; of one without points what was written
        down. [m²]
    """
    def work() -> list[float]:
        same = itertools.takewhile(
            lambda pair: pair[0] == pair[1].piece, zip(pieces, known, strict=False))
        found = [fresh.m2 for _, fresh in same]
        before, before_m2 = _ground_of(season, pieces[:len(found)], projection, memo, read)
        for one in pieces[len(found):]:
            if one.total is None:
                found.append(one.m2 or 0.0)
                continue
            before = _with(before, one, read)
            whole_m2 = area_m2(projection, before)
            found.append(max(0.0, whole_m2 - before_m2))
            before_m2 = whole_m2
        memo.put(_key_of(season), summed(
            _ground_sum(pieces, projection) + _M2.pack(before_m2) + shapely.to_wkb(before)))
        return found

    return remembered_m2("fresh", [pieces], len(pieces), projection, memo, work)


def _ground_of(
    season: tuple[str, int], pieces: Sequence[Piece], projection: Projection, memo: Memo,
    read: Reader,
) -> tuple[Shape, float]:
    """Join the first pieces of a cell's season, in order, unless they are remembered joined.

    With their area. [m²].
    """
    if not pieces:
        return NOTHING, 0.0
    known = memo.read(_key_of(season), _sound)
    if known is not None and known[:_SUM] == _ground_sum(pieces, projection):
        (m2,) = _M2.unpack_from(known, _SUM)
        return shapely.from_wkb(bytes(known[_SUM + _M2.size:])), m2
    ground = functools.reduce(lambda ground, one: _with(ground, one, read), pieces, NOTHING)
    return ground, 0.0 if ground.is_empty else area_m2(projection, ground)


def _key_of(season: tuple[str, int]) -> str:
    """Name the ground of a cell's season: the latest is remembered, for it is large."""
    return f"ground:{season[0]}:{season[1]}"


def _ground_sum(pieces: Sequence[Piece], projection: Projection) -> bytes:
    """Sum up pieces that are joined; former programs kept the ground without its area."""
    return hashlib.sha256(b"with its area" + _sum_of([pieces], projection)).digest()


def _with(ground: Shape, piece: Piece, read: Reader) -> Shape:
    if piece.total is None:
        return ground
    return polygonal(shapely.union(ground, shapely.from_wkb(read(piece)), grid_size=GRID_M))


def remembered_m2(
    what: str, made_of: Sequence[Sequence[Piece]], count: int, projection: Projection, memo: Memo,
    work: Callable[[], list[float]],
) -> list[float]:
    """Give areas that are made of some pieces, as they are remembered or else worked out.

    Parameters
    ----------
    what : str
        What they are.
    made_of : sequence of sequence of Piece
        In order.
    count : int
        How many areas there are.
    projection : Projection
        The block's.
    memo : Memo
        Remembers them.
    work : callable
        Works them out. [m²]

    Returns
    -------
    list of float
        [m²]
    """
    key = f"{what}:{_sum_of(made_of, projection).hex()}"
    known = memo.read(key, _areas)
    if known is not None and len(known) == count:
        return known
    found = work()
    memo.put(key, summed(json.dumps(found).encode()))
    return found


def _sum_of(made_of: Iterable[Sequence[Piece]], projection: Projection) -> bytes:
    asked = hashlib.sha256(repr(projection.epsg).encode())
    for each in made_of:
        for one in each:
            asked.update(repr(one.m2).encode() if one.total is None else one.total)
            asked.update(b"|")
        asked.update(b"/")
    return asked.digest()


def _sound(said: bytes) -> memoryview:
    return sound(said, "remembered ground")


def _areas(said: bytes) -> list[float]:
    """Read areas. [m²]."""
    return [float(value) for value in json.loads(bytes(_sound(said)))]
