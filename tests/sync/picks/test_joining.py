import itertools
from datetime import date, timedelta
from functools import partial

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.picks.joining import Pick, is_open, join_days, mean_day, would_join

WINDOW = {"season_start": (7, 1), "same_pick_days": 28, "pick_longest_days": 365}
join = partial(join_days, **WINDOW)
DAYS = st.lists(st.dates(date(2020, 1, 1), date(2026, 12, 31)), max_size=30)


def _pick(*days):
    (pick,) = join([date.fromisoformat(day) for day in days])
    return pick


def test_days_join_into_the_printed_picks(printed):
    rules = printed["joining"]
    window = {
        "season_start": tuple(rules["season_start"]),
        "same_pick_days": rules["same_pick_days"],
        "pick_longest_days": rules["pick_longest_days"],
    }
    for case in rules["cases"]:
        wanted = [tuple(date.fromisoformat(day) for day in days) for days in case]
        picks = join_days([day for days in wanted for day in days], **window)

        assert [pick.days for pick in picks] == wanted


def test_a_pick_never_lasts_a_year():
    start = date(2025, 7, 1)
    steady = [start + timedelta(days=28 * i) for i in range(15)]
    first, second = join(steady)

    assert first.days == tuple(steady[:14])
    assert second.days == (start + timedelta(days=392),)
    assert would_join(first, start + timedelta(days=364), **WINDOW)
    assert not would_join(first, start + timedelta(days=365), **WINDOW)


def test_a_day_before_a_pick_does_not_join_it():
    assert not would_join(_pick("2026-01-10"), date(2026, 1, 9), **WINDOW)


@given(DAYS, st.randoms(use_true_random=False))
def test_order_and_repeats_play_no_part(days, random):
    shuffled = days + days[: len(days) // 2]
    random.shuffle(shuffled)

    assert join(shuffled) == join(days)


@given(DAYS)
def test_joining_what_is_joined_changes_nothing(days):
    picks = join(days)

    assert join([day for pick in picks for day in pick.days]) == picks
    for pick in picks:
        assert join(pick.days) == (pick,)


@given(DAYS)
def test_every_day_is_in_one_pick_and_picks_do_not_overlap(days):
    picks = join(days)

    assert [day for pick in picks for day in pick.days] == sorted(set(days))
    for pick in picks:
        assert (pick.first, pick.last) == (pick.days[0], pick.days[-1])
        assert (pick.last - pick.first).days < 365
    for before, after in itertools.pairwise(picks):
        assert not would_join(before, after.first, **WINDOW)


def test_a_pick_is_open_until_its_window_has_passed():
    pick = _pick("2026-06-20")

    assert is_open(pick, date(2026, 7, 18), finished_days=(), **WINDOW)
    assert not is_open(pick, date(2026, 7, 19), finished_days=(), **WINDOW)


def test_naming_a_cell_finished_ends_its_pick():
    pick = _pick("2026-02-10", "2026-02-11")
    finished = [date(2026, 2, 11)]

    assert not is_open(pick, date(2026, 2, 11), finished_days=finished, **WINDOW)
    assert not is_open(pick, date(2026, 3, 1), finished_days=finished, **WINDOW)


def test_a_day_is_not_closed_by_what_was_said_later():
    pick = _pick("2026-02-10")

    assert is_open(pick, date(2026, 2, 11), finished_days=[date(2026, 2, 12)], **WINDOW)


def test_a_later_day_inside_the_window_opens_a_finished_pick_again():
    finished = [date(2026, 2, 11)]
    pick = _pick("2026-02-10", "2026-02-11", "2026-02-20")

    assert is_open(pick, date(2026, 2, 20), finished_days=finished, **WINDOW)
    assert len(join(pick.days)) == 1


def test_a_pick_is_not_open_before_it_began():
    assert not is_open(_pick("2026-02-10"), date(2026, 2, 9), finished_days=(), **WINDOW)


def test_the_mean_day_lies_where_the_kg_are():
    first, last = date(2024, 12, 1), date(2024, 12, 11)

    assert mean_day({first: 300.0, last: 100.0}) == first.toordinal() + 2.5


def test_without_kg_the_days_count_alike():
    assert mean_day({date(2024, 12, 1): 0.0, date(2024, 12, 2): 0.0}) == pytest.approx(
        date(2024, 12, 1).toordinal() + 0.5
    )


def test_a_pick_without_days_has_no_mean_day():
    with pytest.raises(ValueError, match="at least one day"):
        mean_day({})


@given(
    st.dictionaries(
        st.dates(date(2020, 1, 1), date(2020, 12, 31)), st.floats(0, 5000), min_size=1
    )
)
def test_the_mean_day_lies_within_the_pick(kg_by_day):
    assert min(kg_by_day).toordinal() <= mean_day(kg_by_day) <= max(kg_by_day).toordinal()


def test_a_pick_is_plain_data():
    assert Pick(date(2026, 1, 1), date(2026, 1, 1), (date(2026, 1, 1),)) == _pick("2026-01-01")
