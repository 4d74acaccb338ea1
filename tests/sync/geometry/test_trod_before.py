"""What walks told for the register before is given again where all is the same, and only there."""

import contextlib
import dataclasses
import json
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from sync.errors import IntakeError
from sync.geometry.bags import Trodden, in_order, tread
from sync.geometry.before import TrodBefore
from sync.geometry.fresh import Piece
from sync.geometry.ground import Hold, ground_on
from sync.geometry.swept import swept_of
from sync.geometry.traces import written
from sync.intake.fixes import ms_of
from sync.intake.memo import NoMemo
from sync.intake.seen import BagSeen, OutingSeen, ThinnedSeen, TrackSeen
from sync.picks.presses import Numbered, with_groups
from sync.settings import Tunables

FIRST, START = date(2026, 1, 20), datetime(2026, 1, 20, 20, tzinfo=UTC)
PHONES = {"p1-aaaa": "MT", "p2-aaaa": "JR"}
DAYS, PRESSES, WAYS = 2, 2, 3
MINUTES, FIX_S = 20, 15


@pytest.fixture(scope="module")
def ground(nztm, block_of, feature, box):
    return ground_on(block_of([feature(box(0, 0, 1000, 1000))]), nztm, FIRST)


@pytest.fixture(scope="module")
def pool(nztm, grid):
    """Outings, tracks in some ways, and presses of two phones on three days, each made once."""
    outings, tracks, bags = {}, {}, {}
    for (phone, person), day in ((one, day) for one in PHONES.items() for day in range(DAYS)):
        start = START + timedelta(days=day)
        number = 100 * day
        outings[phone, day] = [
            OutingSeen(f"{phone}:{number + i}", start + timedelta(minutes=after),
                       FIRST + timedelta(days=day), phone, number + i, person, state)
            for i, after, state in ((1, 0, "start"), (99, MINUTES, "end"))]
        for way in range(WAYS):
            east, count = 95.0 + 5 * way, (MINUTES - 5 * way) * 60 // FIX_S
            steps = np.arange(count) * 1.5
            lat, lon = nztm.to_deg(np.full(count, grid.origin_e + east),
                                   grid.origin_n + 20.0 + steps % 60.0)
            at_ms = round(ms_of(start)) + 1000 * FIX_S * np.arange(count)
            tracks[phone, day, way] = TrackSeen(
                at_ms, np.asarray(lat), np.asarray(lon), np.full(count, 6.0))
        for press in range(PRESSES):
            at = start + timedelta(minutes=4 + 9 * press)
            other = next(one for one in PHONES.values() if one != person)
            for whose in (person, other):
                seq = number + 10 + 2 * press + (whose != person)
                for cell in ("A01", "B01", None):
                    bags[phone, day, press, whose == person, cell] = BagSeen(
                        f"{phone}:{seq}", at, FIRST + timedelta(days=day), phone, seq, whose,
                        whose == person, 1.0, None, None, None, cell, None, None)
    return Pool(outings, tracks, bags)


@dataclasses.dataclass(frozen=True, repr=False)
class Pool:
    outings: dict
    tracks: dict
    bags: dict


def joined(parts):
    return TrackSeen(*(np.concatenate([getattr(one, field.name) for one in parts])
                       for field in dataclasses.fields(TrackSeen)))


@st.composite
def states(draw):
    """Which outings there are, which way each track went, who pressed and what they confirmed."""
    days = [(phone, day) for phone in PHONES for day in range(DAYS)]
    return {
        "outings": [one for one in days if draw(st.integers(0, 5))],
        "tracks": [(*one, draw(st.integers(0, WAYS - 1))) for one in days
                   if draw(st.integers(0, 3))],
        "bags": [(*one, press, draw(st.integers(0, 4)) > 0,
                  draw(st.sampled_from(["A01", "A01", "B01", None])))
                 for one in days for press in range(PRESSES) if draw(st.integers(0, 3))],
    }


def trodden_of(pool, state):
    by_phone = {phone: [pool.tracks[one] for one in sorted(state["tracks"]) if one[0] == phone]
                for phone in PHONES}
    return Trodden(
        sorted((pool.bags[one] for one in state["bags"]), key=lambda bag: (bag.at, bag.name)),
        [press for one in state["outings"] for press in pool.outings[one]],
        {phone: joined(parts) for phone, parts in by_phone.items() if parts})


def grouped(trod, kept=None):
    """All bags of a tread with their position groups, in their order."""
    return in_order(trod.bags, with_groups(trod.by_whose, Tunables(), kept))


def plain(placed):
    """A placed bag with its arrays as lists, so that two can be compared."""
    said = placed._asdict()
    drift = said.pop("drift")
    if drift is not None:
        said |= {"outside_by_error": drift.outside.tolist()} | {
            name: {cell: parts.tolist() for cell, parts in getattr(drift, name).items()}
            for name in ("cells", "closed", "held")}
    return said


@settings(max_examples=25)
@given(st.lists(states(), min_size=2, max_size=4))
def test_after_any_registers_a_tread_is_the_one_alone(ground, nztm, pool, made):
    summed, before, numbered = dataclasses.replace(ground, maps="sum"), None, Numbered()
    for state in made:
        trodden = trodden_of(pool, state)
        found = tread(trodden, lambda _: summed, nztm, Tunables(), before=before)
        alone = tread(trodden, lambda _: summed, nztm, Tunables())

        assert [plain(one) for one in found.placed] == [plain(one) for one in alone.placed]
        assert [one.bag for one in found.placed] == list(trodden.bags)
        assert found.swept == alone.swept
        assert [one.group for one in grouped(found, numbered)] == [
            one.group for one in grouped(alone)]
        before = found


class Remembers:
    """A memo in memory; `read_again` are the names of phones that were found in it."""

    def __init__(self):
        self.kept, self.read_again = {}, []

    def look(self, key, reader):
        with contextlib.suppress(IntakeError):
            found = reader(self.kept[key]) if key in self.kept else None
            if found is not None:
                self.read_again.append(key)
            return found
        return None

    read = look

    def put(self, key, value):
        self.kept[key] = value

    def keep(self):
        pass


def summed_up(state):
    """A sum of all that each phone's records say in a state."""
    return {phone: repr([[one for one in each if one[0] == phone] for each in state.values()])
            for phone in PHONES}


@settings(max_examples=25)
@given(st.lists(states(), min_size=1, max_size=4))
def test_a_tread_from_memory_is_the_one_from_nothing(ground, nztm, pool, made):
    summed, memo = dataclasses.replace(ground, maps="sum"), Remembers()
    for state in made:
        trodden = dataclasses.replace(trodden_of(pool, state), made_of=summed_up(state))
        alone = tread(trodden, lambda _: summed, nztm, Tunables())
        for _ in range(2):
            memo.read_again.clear()
            found = tread(trodden, lambda _: summed, nztm, Tunables(), memo=memo)
            assert [plain(one) for one in found.placed] == [plain(one) for one in alone.placed]
            assert found.swept == alone.swept
            assert [one.group for one in grouped(found)] == [one.group for one in grouped(alone)]
            for fresh in (one for each in found.swept.by_cell.values() for one in each):
                assert found.swept.read(fresh.piece) == alone.swept.read(fresh.piece)
        walked = [one[:2] for one in state["tracks"] if one[:2] in state["outings"]]
        assert {one for one in memo.read_again if one.startswith("phone:")} == {
            f"phone:{one[0]}" for each in (walked, state["bags"]) for one in each}
        # What was read from memory serves the next register as what was worked out does.
        again = tread(trodden, lambda _: summed, nztm, Tunables(), before=found)
        assert all(a is b for a, b in zip(again.placed, found.placed, strict=True))


def test_a_phone_is_remembered_anew_when_another_that_its_picker_used_is_another(
        ground, nztm, pool):
    """The day's first press counts from the press before it, on whatever phone that was."""
    summed, memo = dataclasses.replace(ground, maps="sum"), Remembers()
    state = {"outings": [("p1-aaaa", 0), ("p2-aaaa", 0)],
             "tracks": [("p1-aaaa", 0, 0), ("p2-aaaa", 0, 1)],
             "bags": [("p1-aaaa", 0, 1, True, None)]}
    with_other = state | {"bags": [*state["bags"], ("p2-aaaa", 0, 0, False, None)]}

    def read_again(state, **changed):
        memo.read_again.clear()
        trodden = dataclasses.replace(trodden_of(pool, state), made_of=summed_up(state) | changed)
        found = tread(trodden, lambda _: summed, nztm, Tunables(), memo=memo)
        alone = tread(trodden_of(pool, state), lambda _: summed, nztm, Tunables())
        assert [plain(one) for one in found.placed] == [plain(one) for one in alone.placed]
        return sorted(one for one in memo.read_again if one.startswith("phone:"))

    both = ["phone:p1-aaaa", "phone:p2-aaaa"]
    assert [read_again(state), read_again(state)] == [[], both]
    assert read_again(state, **{"p2-aaaa": "another"}) == ["phone:p1-aaaa"]
    assert [read_again(with_other), read_again(with_other)] == [[], both]
    assert read_again(with_other, **{"p2-aaaa": "another"}) == []


@settings(max_examples=10)
@given(states(), st.integers(0, DAYS - 1))
def test_what_stayed_the_same_is_the_very_same_object(ground, nztm, pool, state, day):
    numbered = Numbered()
    before = tread(trodden_of(pool, state), lambda _: ground, nztm, Tunables())
    groups = grouped(before, numbered)
    again = tread(trodden_of(pool, state), lambda _: ground, nztm, Tunables(), before=before)

    assert all(a is b for a, b in zip(again.placed, before.placed, strict=True))
    assert all(a is b for a, b in zip(
        grouped(again, numbered), groups, strict=True))

    fewer = state | {"bags": [one for one in state["bags"]
                              if one[:2] != ("p2-aaaa", day) or not one[3]]}
    other = tread(trodden_of(pool, fewer), lambda _: ground, nztm, Tunables(), before=before)
    known = {one.bag.name: one for one in before.placed}
    for one in other.placed:
        if one.bag.device == "p1-aaaa" and one.bag.own and one.word is None:
            assert one is known[one.bag.name]


def test_another_hold_or_track_is_another_ground_or_walk(ground, nztm, pool):
    kept = TrodBefore()
    state = {"outings": [("p1-aaaa", 0)], "tracks": [("p1-aaaa", 0, 0)],
             "bags": [("p1-aaaa", 0, 1, True, None)]}
    trod = tread(trodden_of(pool, state), lambda _: ground, nztm, Tunables())
    hold = Hold("sprayed", FIRST, None, ("A01",))
    kept.keep([hold], trod)

    assert kept.given([hold]) is trod
    assert kept.given([]) is None
    assert kept.given([dataclasses.replace(hold, cells=("B01",))]) is None

    moved = state | {"tracks": [("p1-aaaa", 0, 2)]}
    (one,) = tread(trodden_of(pool, moved), lambda _: ground, nztm, Tunables(), before=trod).placed
    assert one.e - trod.placed[0].e == pytest.approx(10.0, abs=0.1)


def test_what_was_written_down_of_a_walk_is_read_once_and_anew_when_it_is_another(
        ground, nztm, pool):
    state = {"outings": [("p1-aaaa", 0)], "tracks": [("p1-aaaa", 0, 0)],
             "bags": [("p1-aaaa", 0, 1, True, None)]}
    whole = trodden_of(pool, state)
    walkers = tread(whole, lambda _: ground, nztm, Tunables()).walkers
    (walk,) = walkers.walks()

    def left(east):
        said = json.loads(json.dumps(written(walkers.trace(walk))))
        said = {"spans": said["spells"], "swept_m2": {},
                "walk": {"since_ms": walk.name[0], "fixes": said["fixes"]}}
        said["walk"]["fixes"][0][1] += east
        return dataclasses.replace(whole, tracks={}, thinned={
            "p1-aaaa": [ThinnedSeen("p1-aaaa:50", "p1-aaaa", said)]})

    one, other = left(0.0), left(7.0)
    before = tread(one, lambda _: ground, nztm, Tunables())
    assert tread(one, lambda _: ground, nztm, Tunables(), before=before).placed[0] is (
        before.placed[0])
    moved = tread(other, lambda _: ground, nztm, Tunables(), before=before).placed[0]
    assert moved.e - before.placed[0].e == pytest.approx(7.0)



@given(st.lists(st.tuples(st.integers(0, 3), st.integers(0, 8), st.booleans()), max_size=6),
       st.lists(st.tuples(st.integers(0, 3), st.integers(0, 8), st.booleans()), max_size=6))
@settings(max_examples=40)
def test_new_ground_of_a_season_is_that_worked_out_from_its_start(nztm, grid, first, more):
    def piece(number, made):
        day, east, gone = made
        west, south = grid.origin_e + 3.0 * east, grid.origin_n
        swath = str(east).encode()
        ground[swath] = shapely.to_wkb(shapely.box(west, south, west + 7.0, south + 9.0))
        return Piece("A01", FIRST + timedelta(days=day), (float(number), "p1-aaaa"),
                     None if gone else swath, 5.0 if gone else None)

    def read(piece):
        return ground[piece.total]

    ground = {}
    pieces = [piece(number, made) for number, made in enumerate(first + more)]
    before = swept_of(pieces[:len(first)], nztm, (7, 1), NoMemo(), read)
    here, alone = (swept_of(pieces, nztm, (7, 1), NoMemo(), read, one) for one in (before, None))
    assert here == alone


def test_2026_11_28_two_walks_that_begin_at_one_instant_keep_apart(ground, nztm, pool):
    """They had one name: which of them told depended on which was asked first."""
    start, end = pool.outings["p1-aaaa", 0]
    again = dataclasses.replace(start, name="p1-aaaa:51", seq=51, person="JR")
    trodden = trodden_of(pool, {"outings": [], "tracks": [("p1-aaaa", 0, 0)],
                                "bags": [("p1-aaaa", 0, 1, True, None)]})
    trodden = dataclasses.replace(trodden, outings=[start, again, end])
    walkers = tread(trodden, lambda _: ground, nztm, Tunables()).walkers

    mine, other = sorted(walkers.walks(), key=lambda walk: walk.carried.seq)
    assert mine.name != other.name
    assert walkers.trace(mine) is not walkers.trace(other)
