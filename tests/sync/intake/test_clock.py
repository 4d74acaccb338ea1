from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldapp.record import stamp, where_of
from sync.intake.check import Held
from sync.intake.clock import EARLIEST, is_phone, lag_of, may_be_off, mended_times

OFF_S = 120.0
TRUE = datetime(2026, 1, 20, 18, 40, tzinfo=UTC)
#: A phone whose clock is 61 days behind.
BEHIND_S = -5_270_400.0


def bag(at, lag_s=None, **fields):
    where = {"lat": -42.8, "lon": 169.6, "age_s": 1}
    if lag_s is not None:
        where["lag_s"] = lag_s
    text = at if isinstance(at, str) else stamp(at)
    return {"kind": "bag", "at": text, "bags": 1, "where": where, **fields}


def times_of(records, *, phone=True):
    held = {seq: Held(f"p3-k7f2:{seq}", "", one, sealed=True) for seq, one in records.items()}
    own = {seq: one.said.at for seq, one in held.items() if one.said.at is not None}
    lags = {seq: one.said.lag_s for seq, one in held.items() if one.said.lag_s is not None}
    return mended_times(own, lags, phone=phone, clock_off_s=OFF_S)


def mended(records, *, phone=True):
    timed = times_of(records, phone=phone)
    return {seq: (one.at, one.lag_s) for seq, one in timed.items()}


def test_a_clock_61_days_behind_is_mended_by_the_records_own_satellite_time():
    behind = TRUE + timedelta(seconds=BEHIND_S)
    assert behind == datetime(2025, 11, 20, 18, 40, tzinfo=UTC)
    assert mended({1: bag(behind, BEHIND_S)}) == {1: (TRUE, BEHIND_S)}


def test_a_record_without_satellite_time_takes_the_lag_of_the_nearest_number():
    behind = TRUE + timedelta(seconds=BEHIND_S)
    records = {1: bag(TRUE, 0.2), 5: bag(behind), 7: bag(behind, BEHIND_S)}
    assert mended(records)[5] == (TRUE, BEHIND_S)
    records[4] = bag(TRUE, 0.3)
    assert mended(records)[5] == (behind, None), "4 is nearer than 7"


def test_of_two_numbers_as_near_the_lower_one_lends_its_lag():
    records = {1: bag(TRUE, 600.0), 2: bag(TRUE), 3: bag(TRUE, -600.0)}
    assert mended(records)[2] == (TRUE - timedelta(minutes=10), 600.0)


@pytest.mark.parametrize(("lag_s", "moved"), [(120.0, False), (-120.0, False), (120.5, True),
                                              (-120.5, True)])
def test_within_two_minutes_the_phones_own_time_stands(lag_s, moved):
    at, used = mended({1: bag(TRUE, lag_s)})[1]
    assert (at != TRUE) is moved
    assert used == (lag_s if moved else None)


@pytest.mark.parametrize("device", ["shed", "form-tally7", "form-tall", "gpx-0a1b2c3d",
                                    "gpx-abcd"])
def test_the_shed_forms_and_receivers_have_no_clock_to_mend(device):
    assert not is_phone(device)
    assert mended({1: bag(TRUE, 9999.0)}, phone=is_phone(device)) == {1: (TRUE, None)}


@pytest.mark.parametrize("device", ["p3-k7f2", "x-k7f2", "shed-k7f2"])
def test_a_phone_is_known_by_its_code_and_install_tag(device):
    assert is_phone(device)


def test_a_time_of_before_2020_is_that_of_the_nearest_sound_number():
    records = {1: bag(TRUE), 2: bag("1970-01-01T00:00:07.000Z"), 3: bag(TRUE + timedelta(hours=1))}
    at, lag_s = mended(records)[2]
    assert at == TRUE
    assert lag_s == (datetime(1970, 1, 1, 0, 0, 7, tzinfo=UTC) - TRUE).total_seconds()


def test_the_first_instant_of_2020_stands_and_the_last_of_2019_does_not():
    records = {1: bag(TRUE), 2: bag(EARLIEST), 3: bag(EARLIEST - timedelta(milliseconds=1))}
    assert mended(records)[2] == (EARLIEST, None)
    assert mended(records)[3][0] == EARLIEST, "2 is nearer than 1"


def test_without_any_sound_number_an_old_time_stands():
    old = datetime(1999, 12, 31, 23, 59, tzinfo=UTC)
    assert mended({4: bag(old)}) == {4: (old, None)}


def test_a_clock_of_1970_with_a_satellite_time_needs_no_neighbour():
    start = datetime(1970, 1, 1, tzinfo=UTC)
    lag_s = (start - TRUE).total_seconds()
    assert mended({1: bag(start, lag_s), 2: bag(start + timedelta(minutes=1))}) == {
        1: (TRUE, lag_s), 2: (TRUE + timedelta(minutes=1), lag_s)}


def test_a_track_is_mended_by_its_own_lag_else_by_that_of_its_place():
    track = {"kind": "track", "at": stamp(TRUE), "lag_s": 300.0,
             "where": {"lat": -42.8, "lon": 169.6, "age_s": 1, "lag_s": 900.0}}
    assert mended({1: track})[1] == (TRUE - timedelta(seconds=300), 300.0)
    assert mended({1: {**track, "lag_s": None}})[1] == (TRUE - timedelta(seconds=900), 900.0)


def test_a_lag_in_a_broken_place_mends_nothing():
    broken = bag(TRUE, 9999.0)
    broken["where"]["lat"] = 91
    assert mended({1: broken}) == {1: (TRUE, None)}


def test_2026_11_25_a_record_of_an_unknown_kind_without_a_time_stops_nobody():
    records = {1: {"kind": "dream"}, 2: {"kind": "dream", "at": "noon"}, 3: bag(TRUE)}
    assert mended(records) == {3: (TRUE, None)}
    assert mended(records, phone=False) == {3: (TRUE, None)}


@pytest.mark.parametrize("lag_s", [1e11, -1e12, 1e300, -1e300])
def test_2026_11_25_a_lag_beyond_the_calendar_is_no_lag(lag_s):
    assert mended({1: bag(TRUE, lag_s), 2: bag(TRUE)}) == {1: (TRUE, None), 2: (TRUE, None)}


def test_2026_11_25_the_lag_of_a_time_taken_from_a_neighbour_is_the_whole_of_it():
    start = datetime(1970, 1, 1, tzinfo=UTC)
    at, lag_s = mended({1: bag(TRUE, 0.0), 2: bag(start, 300.0)})[2]
    assert at == TRUE
    assert start - timedelta(seconds=lag_s) == TRUE


@pytest.mark.parametrize("text", ["0001-01-01T00:00:00.000Z", "9999-12-31T23:59:59.999Z"])
@pytest.mark.parametrize("phone", [True, False])
def test_2026_11_25_an_instant_at_the_end_of_the_calendar_still_has_a_local_day(text, phone):
    at, _ = mended({1: bag(text)}, phone=phone)[1]
    for hours in (-24, 24):
        assert at + timedelta(hours=hours)


@given(st.dictionaries(
    st.integers(1, 30),
    st.tuples(st.datetimes(timezones=st.just(UTC)),
              st.one_of(st.none(), st.floats(allow_nan=False, allow_infinity=False))),
    max_size=8))
def test_every_record_gets_a_time_whatever_its_clock_says_and_in_whatever_order(said):
    records = {seq: bag(at, lag_s) for seq, (at, lag_s) in said.items()}
    timed = times_of(records)
    assert timed.keys() == records.keys()
    backwards = dict(reversed(records.items()))
    assert times_of(backwards) == timed


#: What a line that waits may say in the place of a number.
SAID = st.none() | st.booleans() | st.floats() | st.integers() | st.sampled_from(
    ["7", [1], {}, 119.9, 120, 120.1, -120.1, 10**400])


@given(SAID, SAID, st.sampled_from(["track", "bag", None]), st.booleans())
def test_no_record_is_off_that_may_not_be_at_a_glance(said, of_place, kind, has_place):
    place = {"lat": -42.8, "lon": 169.7, "age_s": 1, "lag_s": of_place} if has_place else [1]
    record = {"kind": kind, "lag_s": said, "where": place}
    lag_s = lag_of(record, where_of(record))
    if not may_be_off(record, 120.0):
        assert lag_s is None or abs(lag_s) <= 120.0
    if said is None and (not has_place or of_place is None):
        assert not may_be_off(record, 120.0)
