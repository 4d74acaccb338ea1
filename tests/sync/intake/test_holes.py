import dataclasses
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.intake.holes import Hole, gaps, holes_in, seen_hours
from sync.intake.seen import BagSeen, OutingSeen

ZONE = "Pacific/Auckland"
P2 = "p2-c3d4"
T0 = datetime(2025, 3, 18, 20, 0, tzinfo=UTC)
DAY = date(2025, 3, 19)


def at(hours):
    return T0 + timedelta(hours=hours)


def times(*seqs, device=P2):
    return {f"{device}:{seq}": at(seq) for seq in seqs}


def paper(low, high, bags=9.0, device=P2):
    return BagSeen(
        name="shed:1", at=T0, day=DAY, device="shed", seq=1, picker="RK", own=False, bags=bags,
        bag_type=None, pile=None, cell="K04", confirmed=None, where=None,
        covers=(device, low, high))


def test_a_span_of_numbers_that_never_came_is_a_hole_between_its_neighbours_times():
    assert holes_in({P2: (1, 2, 6)}, times(1, 2, 6), []) == (Hole(P2, 3, 5, at(2), at(6), None),)


def test_numbers_begin_with_1_so_a_late_start_is_a_hole_without_a_time_before():
    (hole,) = holes_in({P2: (4,)}, times(4), [])
    assert (hole.first, hole.last, hole.since, hole.until) == (1, 3, None, at(4))


def test_a_number_set_aside_was_received_but_lends_no_time():
    (hole,) = holes_in({P2: (1, 2, 6, 7)}, times(1, 7), [])
    assert (hole.first, hole.last) == (3, 5)
    assert (hole.since, hole.until) == (at(1), at(7))


def test_only_phones_have_holes():
    devices = dict.fromkeys(("shed", "form-tally7", "gpx-0a1b2c3d", "p2-c3d4"), (3,))
    assert [hole.device for hole in holes_in(devices, {}, [])] == [P2]


def test_holes_come_by_phone_and_number_whatever_the_order_of_the_devices():
    numbers = {"p3-k7f2": (2, 4), "p1-a2b3": (2,)}
    found = [(hole.device, hole.first) for hole in holes_in(numbers, {}, [])]
    assert found == [("p1-a2b3", 1), ("p3-k7f2", 1), ("p3-k7f2", 3)]


def test_the_times_of_another_phone_say_nothing():
    (hole,) = holes_in({P2: (3,)}, times(1, 9, device="p3-k7f2"), [])
    assert (hole.since, hole.until) == (None, None)


@pytest.mark.parametrize(("covers", "bags"), [
    ([(3, 5)], 9.0), ([(1, 9)], 9.0), ([(3, 4)], None), ([(4, 5)], None), ([(6, 9)], None),
    ([(3, 5), (3, 5)], 18.0)])
def test_a_paper_count_tells_a_hole_that_it_covers_whole(covers, bags):
    counts = [paper(*span) for span in covers]
    (hole,) = holes_in({P2: (1, 2, 6)}, times(1, 2, 6), counts)
    assert hole.paper_bags == bags


@pytest.mark.parametrize(("covers", "bags"), [
    ([(3, 4), (5, 5)], 18.0), ([(5, 5), (3, 4)], 18.0), ([(3, 3), (5, 5)], None),
    ([(3, 4), (4, 5)], 18.0), ([(1, 3), (4, 9)], 18.0)])
def test_2026_11_25_the_pages_of_a_paper_book_tell_a_hole_together(covers, bags):
    counts = [paper(*span) for span in covers]
    (hole,) = holes_in({P2: (1, 2, 6)}, times(1, 2, 6), counts)
    assert hole.paper_bags == bags


def test_a_paper_count_of_no_bags_tells_the_hole():
    (hole,) = holes_in({P2: (2,)}, {}, [paper(1, 1, bags=0.0)])
    assert hole.paper_bags == 0.0


def test_a_paper_count_of_another_phone_tells_nothing():
    (hole,) = holes_in({P2: (2,)}, {}, [paper(1, 1, device="p3-k7f2")])
    assert hole.paper_bags is None


def test_2026_11_25_a_phone_of_many_holes_is_read_in_one_go():
    seqs = tuple(range(2, 200_001, 2))
    holes = holes_in({P2: seqs}, dict.fromkeys((f"{P2}:{seq}" for seq in seqs), T0), [])
    assert len(holes) == 100_000


@given(st.sets(st.integers(1, 60)))
def test_received_numbers_and_gaps_together_are_all_numbers_up_to_the_highest(seqs):
    missing = [n for low, high in gaps(sorted(seqs)) for n in range(low, high + 1)]
    assert sorted([*missing, *seqs]) == list(range(1, max(seqs, default=0) + 1))
    assert all((low > 1 and low - 1 in seqs) or low == 1 for low, _ in gaps(sorted(seqs)))


def days_of(hole):
    window = (date(2025, 1, 1) + timedelta(days=i) for i in range(800))
    return tuple(day for day in window if hole.touches(day, ZONE))


def test_a_hole_touches_every_local_day_between_its_neighbours():
    eve = datetime(2025, 12, 31, 10, 0, tzinfo=UTC)
    hole = Hole(P2, 3, 5, eve, eve + timedelta(days=2), None)
    assert days_of(hole) == (date(2025, 12, 31), date(2026, 1, 1), date(2026, 1, 2))


def test_a_hole_over_new_year_is_of_the_days_of_the_block_not_of_utc():
    late = datetime(2025, 12, 31, 10, 59, tzinfo=UTC)
    assert days_of(Hole(P2, 3, 3, late, late, None)) == (date(2025, 12, 31),)
    after = late + timedelta(minutes=1)
    assert days_of(Hole(P2, 3, 3, after, after, None)) == (date(2026, 1, 1),)


def test_a_hole_whose_neighbours_times_are_crossed_still_has_days():
    assert days_of(Hole(P2, 3, 3, at(30), at(0), None)) == (DAY, DAY + timedelta(days=1))


def test_a_hole_with_one_neighbour_is_of_that_ones_day_and_without_any_of_none():
    assert days_of(Hole(P2, 1, 3, None, at(0), None)) == (DAY,)
    assert days_of(Hole(P2, 1, 3, None, None, None)) == ()


def outings(*steps, device=P2, day=DAY):
    return [OutingSeen(f"{device}:{n}", at(hours), day, device, n, "RK", state)
            for n, (state, hours) in enumerate(steps, start=1)]


NO_HOLE = Hole(P2, 3, 3, at(50), at(50), None)
WORKED = outings(("start", 0), ("pause", 3), ("resume", 4), ("end", 8))


def test_hours_out_are_those_between_start_and_end_less_the_pause():
    assert seen_hours(WORKED, P2, DAY, NO_HOLE, None) == 7.0


def test_the_hours_of_a_hole_are_not_seen():
    hole = dataclasses.replace(NO_HOLE, since=at(2), until=at(5))
    assert seen_hours(WORKED, P2, DAY, hole, None) == 5.0
    assert seen_hours(WORKED, P2, DAY, dataclasses.replace(hole, since=None), None) == 3.0
    assert seen_hours(WORKED, P2, DAY, dataclasses.replace(hole, until=None), None) == 2.0


def test_an_outing_without_an_end_lasts_to_the_last_press():
    begun = outings(("start", 0))
    assert seen_hours(begun, P2, DAY, NO_HOLE, at(5)) == 5.0
    assert seen_hours(begun, P2, DAY, NO_HOLE, None) == 0.0
    assert seen_hours(begun, P2, DAY, NO_HOLE, at(-1)) == 0.0


def test_a_start_ends_the_outing_before_it():
    twice = outings(("start", 0), ("start", 3), ("end", 8))
    assert seen_hours(twice, P2, DAY, NO_HOLE, None) == 8.0


def test_the_hours_of_another_phone_or_day_are_not_this_ones():
    other = outings(("start", 0), ("end", 5), device="p3-k7f2")
    next_day = outings(("start", 24), ("end", 29), day=DAY + timedelta(days=1))
    assert seen_hours([*other, *next_day], P2, DAY, NO_HOLE, None) == 0.0


@given(st.lists(st.floats(0, 24), min_size=2, max_size=8), st.floats(0, 24), st.floats(0, 24))
def test_seen_hours_never_are_more_than_the_day_out_nor_under_none(hours, since, until):
    states = ["start", "pause", "resume", "pause", "resume", "pause", "resume", "end"]
    steps = outings(*zip(states, sorted(hours), strict=False))
    hole = dataclasses.replace(NO_HOLE, since=at(since), until=at(until))
    seen = seen_hours(steps, P2, DAY, hole, at(24))
    assert -1e-9 <= seen <= 24.0 - min(hours) + 1e-9


@given(st.integers(1, 9), st.integers(0, 9))
def test_numbers_of_which_none_is_missing_have_the_gaps_of_any_others(first, count):
    numbers = range(first, first + count + 1)
    assert gaps(numbers) == gaps(tuple(numbers))
