from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.block import season_of
from sync.picks.rests import days_early, local_day, rest_ends
from sync.settings import DAYS_PER_YEAR

DAYS = st.dates(date(1990, 1, 1), date(2100, 1, 1))


def test_a_rest_ends_on_the_printed_day(printed):
    for last, months, ends in printed["rests"]["ends"]:
        assert rest_ends(date.fromisoformat(last), months) == date.fromisoformat(ends)


def test_a_pick_is_early_by_the_printed_days(printed):
    for last, months, first, early in printed["rests"]["early"]:
        ends = rest_ends(date.fromisoformat(last), months)

        assert days_early(ends, date.fromisoformat(first)) == early


def test_a_rest_of_no_months_ends_at_once():
    assert rest_ends(date(2024, 2, 29), 0) == date(2024, 2, 29)


def test_a_negative_rest_is_refused():
    with pytest.raises(ValueError, match="rest_months=-1"):
        rest_ends(date(2024, 2, 29), -1)


@given(DAYS, st.integers(0, 1100), st.integers(0, 12))
def test_a_longer_rest_never_ends_sooner(last, months, more):
    assert rest_ends(last, months) <= rest_ends(last, months + more)


@given(DAYS, DAYS, st.integers(0, 1100))
def test_a_later_pick_never_ends_its_rest_sooner(one, other, months):
    first, last = sorted((one, other))

    assert rest_ends(first, months) <= rest_ends(last, months)


def test_the_day_is_that_of_the_block():
    at = datetime(2026, 1, 31, 11, 30, tzinfo=UTC)

    assert local_day(at, timezone(timedelta(hours=13))) == date(2026, 2, 1)
    assert local_day(at, ZoneInfo("Pacific/Auckland")) == date(2026, 2, 1)
    assert local_day(at, UTC) == date(2026, 1, 31)


def test_an_instant_without_a_zone_has_no_day():
    with pytest.raises(ValueError, match="time zone"):
        local_day(datetime(2026, 1, 31, 11, 30), UTC)  # noqa: DTZ001 - the mistake under test


def test_a_season_is_named_by_the_year_it_starts_in():
    assert season_of(date(2026, 6, 30), (7, 1)) == 2025
    assert season_of(date(2026, 7, 1), (7, 1)) == 2026
    assert season_of(date(2026, 1, 1), (1, 1)) == 2026
    assert season_of(date(2027, 2, 28), (2, 29)) == 2026
    assert season_of(date(2027, 3, 1), (2, 29)) == 2027


def test_the_years_since_a_pick_are_its_days_by_the_mean_year():
    """Reference run: picked to 2021-03-10, again 2025-12-01: 1727 days = 4.728268 yr since."""
    days = (date(2025, 12, 1) - date(2021, 3, 10)).days
    assert days == 1727
    assert abs(days / DAYS_PER_YEAR - 4.728268) <= 5e-7
    assert days_early(rest_ends(date(2021, 3, 10), 60), date(2025, 12, 1)) == 99
