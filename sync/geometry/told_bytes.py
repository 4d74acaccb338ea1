"""What tracks told of spells as numbers, to be remembered: cells by their place in a list.

Rule 1: read again it is the same to the last bit and in the same order.
Rule 2: a spell that was surely in one cell is that cell; all who read of it share what it tells.
"""

import functools
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from sync.geometry.crs import Floats
from sync.geometry.picking import DRIFTS
from sync.geometry.placed import Drift, Moved
from sync.geometry.traces import Told

#: Of a spell: shares, shares moved, drift.
OfSpell = tuple[Mapping[str, float], Mapping[str, Moved], Drift]
#: Of a spell: the place of the name of the cell that it was surely in; else of shares, of shares
#: moved, and of each kind of arrays the places of the names, with what `_array` says of an array.
Parts = int | list[list[int]]


class ToldWriter:
    """Writes what was told of spells.

    Attributes
    ----------
    names : dict of str to int
        The places of the names.
    numbers : list of float
        Single numbers.
    rows : list of array, shape (DRIFTS,)
        Numbers that are not all the same.
    """

    def __init__(self) -> None:
        self.names: dict[str, int] = {}
        self.numbers: list[float] = []
        self.rows: list[Floats] = []

    def place_of(self, name: str) -> int:
        """Give the place of a name."""
        return self.names.setdefault(name, len(self.names))

    def shares(self, shares: Mapping[str, float]) -> list[int]:
        """Write a number a name; give the places of the names."""
        self.numbers += shares.values()
        return [self.place_of(name) for name in shares]

    def moved(self, moved: Mapping[str, Moved]) -> list[int]:
        """Write four numbers a name; give the places of the names."""
        for ways in moved.values():
            self.numbers += ways
        return [self.place_of(name) for name in moved]

    def parts(self, told: Told) -> Parts:
        """Write what was told of a spell; give what says where it stands."""
        surely = _surely_in(told)
        if surely is not None:
            return self.place_of(surely)
        parts = [self.shares(told.shares), self.moved(told.moved)]
        for arrays in _arrays_of(told.drift):
            parts.append([])
            for cell, array in arrays.items():
                parts[-1] += [self.place_of(cell), self._array(array)]
        return parts

    def _array(self, array: Floats) -> int:
        """Write a row, 1; or one number for all where all are the same, 0."""
        if (array == array[0]).all() and not np.signbit(array).any():  # −0 is another number
            self.numbers.append(float(array[0]))
            return 0
        self.rows.append(array)
        return 1


class ToldReader:
    """Reads what was told of spells, in the order in which it was written.

    Parameters
    ----------
    names : sequence of str
        In their places.
    numbers : array
        Single numbers.
    rows : array, shape (m, DRIFTS)
        Numbers that were not all the same; what is read are parts of it.
    """

    def __init__(self, names: Sequence[str], numbers: Floats, rows: Floats) -> None:
        self._names = names
        self._numbers: Iterator[float] = iter(numbers.tolist())
        self._rows: Iterator[Floats] = iter(rows)

    def number(self) -> float:
        """Read a number."""
        return next(self._numbers)

    def shares(self, places: Sequence[int]) -> dict[str, float]:
        """Read a number a name."""
        return {self._names[place]: next(self._numbers) for place in places}

    def moved(self, places: Sequence[int]) -> dict[str, Moved]:
        """Read four numbers a name."""
        names, take = self._names, self._numbers.__next__
        return {names[place]: (take(), take(), take(), take()) for place in places}

    def told(self, parts: Parts) -> OfSpell:
        """Read what was told of a spell."""
        if isinstance(parts, int):
            return whole_in(self._names[parts])
        shares, moved, cells, closed, held, outside = parts
        shared, ways = self.shares(shares), self.moved(moved)
        here, of_closed, of_held = self._read(cells), self._read(closed), self._read(held)
        return shared, ways, Drift(here, of_closed, self._read(outside)[""], of_held)

    def _read(self, said: Sequence[int]) -> dict[str, Floats]:
        """Read arrays: of each the place of its cell, and whether it is a row."""
        found = {}
        for place in range(0, len(said), 2):
            found[self._names[said[place]]] = (
                next(self._rows) if said[place + 1] else _even(next(self._numbers)))
        return found


def _surely_in(told: Told) -> str | None:
    """Give the cell that a spell was in whatever the error of its track; None if in doubt."""
    drift = told.drift
    if len(drift.cells) != 1 or drift.closed or drift.held:
        return None
    (cell, parts), = drift.cells.items()
    shares, ways, whole = whole_in(cell)
    same = (told.shares, told.moved) == (shares, ways) and all(
        _bits(mine) == _bits(other) for mine, other in (
            (parts, whole.cells[cell]), (drift.outside, whole.outside)))
    return cell if same else None


def _bits(array: Floats) -> bytes:
    """Give numbers as they lie in memory, where -0 is another number."""
    return np.asarray(array, "<f8").tobytes()


def _arrays_of(drift: Drift) -> tuple[Mapping[str, Floats], ...]:
    return drift.cells, drift.closed, drift.held, {"": drift.outside}


@functools.lru_cache(maxsize=1024)
def whole_in(cell: str) -> OfSpell:
    """Give what is told of a spell that was surely in a cell; all walks share it."""
    return {cell: 1.0}, {cell: (1.0, 1.0, 1.0, 1.0)}, Drift({cell: _even(1.0)}, {}, _even(0.0))


@functools.lru_cache(maxsize=256)
def _even(value: float) -> Floats:
    """Give one number for all; most are nought or one, and all walks share these."""
    even = np.full(DRIFTS, value)
    even.setflags(write=False)
    return even
