"""New ground of walks: joined for one register it serves the next, and changes no figure."""

import hashlib
import math
from datetime import date, timedelta

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from sync.disk.kept import KeptMemo, KeptReads
from sync.disk.memo import MEMO_FILE, DiskMemo
from sync.geometry.fresh import Piece, _sum_of
from sync.geometry.swept import swept_of
from sync.intake.memo import NoMemo
from sync.intake.memo_bytes import summed as summed_up

FIRST = date(2025, 8, 1)
#: Slanted strips of a cell, so that joining them bends every coordinate.
strips = st.tuples(st.integers(0, 5), st.floats(0.0, 90.0), st.floats(0.1, 3.1), st.booleans())


#: The ground of each piece made here, by its sum.
GROUND = {}


def read(piece):
    return GROUND[piece.total]


def summed(wkb):
    total = hashlib.sha256(wkb).digest()
    GROUND[total] = wkb
    return total


def piece(nztm, number, strip):
    day, along, turn, gone = strip
    e, n = nztm.to_m(-42.9, 171.6)
    line = shapely.LineString([
        (float(e) + along, float(n)),
        (float(e) + along + 60.0 * math.cos(turn), float(n) + 60.0 * math.sin(turn))])
    when = FIRST + timedelta(days=day)
    if gone:
        return Piece("C07", when, (float(number), "p1-aaaa", number), None, along)
    return Piece("C07", when, (float(number), "p1-aaaa", number),
                 summed(shapely.to_wkb(line.buffer(1.5))))


@settings(max_examples=40)
@given(st.lists(st.lists(strips, max_size=3), min_size=1, max_size=4), st.booleans())
def test_walks_that_come_later_find_the_ground_they_find_from_nothing(
        tmp_path_factory, nztm, arrivals, shed):
    folder, kept = tmp_path_factory.mktemp("block"), KeptReads()
    pieces, before, number = [], None, 0
    for arrival in arrivals:
        for strip in arrival:
            number += 1
            pieces.append(piece(nztm, number, strip))
        memo = KeptMemo(DiskMemo(folder, 0), kept) if shed else DiskMemo(folder, 0)
        found = swept_of(pieces, nztm, (7, 1), memo, read, before)
        memo.keep()
        alone = swept_of(pieces, nztm, (7, 1), NoMemo(), read)
        assert found.by_cell == alone.by_cell
        before = found if shed else None


def test_one_more_walk_is_joined_to_what_was_joined_before(tmp_path, nztm, monkeypatch):
    pieces = [piece(nztm, i, (i, 8.0 * i, 1.2, False)) for i in range(6)]
    kept, joined, union = KeptReads(), [], shapely.union
    monkeypatch.setattr(shapely, "union", lambda *a, **k: joined.append(1) or union(*a, **k))

    def register(count, before):
        joined.clear()
        memo = KeptMemo(DiskMemo(tmp_path, 0), kept)
        found = swept_of(pieces[:count], nztm, (7, 1), memo, read, before)
        memo.keep()
        return found

    first = register(4, None)
    assert len(joined) == 4
    second = register(5, first)
    assert len(joined) == 1
    third = register(6, second)
    assert len(joined) == 1
    assert third.by_cell == swept_of(pieces, nztm, (7, 1), NoMemo(), read).by_cell


@pytest.mark.parametrize("harm", [lambda said: said[:-1] + bytes([said[-1] ^ 1]),
                                  lambda said: b"", lambda said: said[:40]])
def test_joined_ground_that_is_damaged_is_joined_anew(tmp_path, nztm, harm):
    pieces = [piece(nztm, i, (i, 8.0 * i, 1.2, False)) for i in range(3)]
    memo = DiskMemo(tmp_path, 0)
    before = swept_of(pieces[:2], nztm, (7, 1), memo, read)
    memo.keep()
    memo.put("ground:C07:2025", harm(memo.read("ground:C07:2025", bytes)))
    memo.keep()

    assert (tmp_path / MEMO_FILE).exists()
    assert swept_of(pieces, nztm, (7, 1), memo, read, before).by_cell == swept_of(
        pieces, nztm, (7, 1), NoMemo(), read).by_cell


def test_2026_11_28_ground_that_a_former_program_joined_is_joined_anew(tmp_path, nztm):
    """It stood without its area, under the same name: of walks that are gone by the same sum."""
    pieces = [piece(nztm, i, (i, 8.0 * i, 1.2, i < 2)) for i in range(3)]
    memo = DiskMemo(tmp_path, 0)
    before = swept_of(pieces[:2], nztm, (7, 1), memo, read)
    memo.put("ground:C07:2025", summed_up(
        _sum_of([pieces[:2]], nztm) + shapely.to_wkb(shapely.Polygon())))
    memo.keep()

    assert swept_of(pieces, nztm, (7, 1), memo, read, before).by_cell == swept_of(
        pieces, nztm, (7, 1), NoMemo(), read).by_cell
