"""What a phone's numbers and clock say: holes with and without paper, doubled names, lags."""

import math
from datetime import UTC, date, datetime, timedelta

import pytest

DAY = datetime(2025, 11, 10, 8, tzinfo=UTC)
ON = date(2026, 2, 20)


def hours(n):
    return DAY + timedelta(hours=n)


@pytest.fixture
def p1(mire):
    """Four hours out, two bags every half hour; records 5 to 7, hours 1.5 to 3, can be lost."""
    book = mire.Book("p1-aaaa")
    book.note("outing", DAY, state="start", role="picker")
    for i in range(1, 8):
        book.note("bag", hours(0.5 * i), bags=2, where=mire.where(150, 150))
    book.note("outing", hours(4), state="end", finished=[])
    return book


def lose(book, first, last):
    book.kept = [one for one in book.kept if not first <= one["seq"] <= last]


def missing(mire, books, on=ON):
    return mire.flags(mire.register(books, on), "missing_records")


def test_without_a_hole_nothing_is_missing(mire, p1):
    assert missing(mire, p1) == {}


def test_a_hole_is_guessed_at_the_pace_of_the_rest_of_the_day(mire, p1):
    lose(p1, 5, 7)
    flag = missing(mire, p1)["missing_records:p1-aaaa:2025"]
    # Left: record 4 at 1.5 h and 8 at 3.5 h. 8 bags in the 2 hours outside, 2 hours within.
    (hole,) = flag.figures["holes"]
    assert (hole["from_seq"], hole["to_seq"]) == (5, 7)
    assert (hole["from"], hole["to"]) == (hours(1.5), hours(3.5))
    assert hole["bags"] == pytest.approx(8.0)
    assert hole["paper_bags"] is None
    assert flag.records == ("p1-aaaa:4", "p1-aaaa:8")
    # λh ± √(λh).
    assert f"8.0 ± {math.sqrt(8):.1f} bags (56 kg)" in flag.why
    assert (flag.how_sure, flag.probability, flag.cell) == ("sure", None, None)


def test_what_is_guessed_is_counted_nowhere(mire, p1):
    lose(p1, 5, 7)
    found = mire.register(p1, ON)
    assert found.crop.cells["B02"].picks[0].made.whole.kg == pytest.approx(56.0)


def test_a_hole_in_a_short_look_at_the_day_is_not_guessed(mire, p1):
    lose(p1, 2, 7)
    (flag,) = missing(mire, p1).values()
    # Record 8 at 3.5 h and the END at 4 h: half an hour is seen.
    assert flag.figures["holes"][0]["bags"] is None


def test_a_hole_with_a_paper_count_is_told_not_flagged(mire, p1):
    lose(p1, 5, 7)
    shed = mire.Book()
    shed.note("bag", DAY, bags=6, covers=["p1-aaaa", 5, 7], cell="B02")
    assert missing(mire, [p1, shed]) == {}
    found = mire.register([p1, shed], ON)
    assert [hole.paper_bags for hole in found.holes] == [6.0]
    assert found.crop.cells["B02"].picks[0].made.whole.kg == pytest.approx(56.0 + 42.0)


def test_a_paper_count_of_part_of_a_hole_does_not_tell_it(mire, p1):
    lose(p1, 5, 7)
    shed = mire.Book()
    shed.note("bag", DAY, bags=4, covers=["p1-aaaa", 5, 6])
    assert list(missing(mire, [p1, shed])) == ["missing_records:p1-aaaa:2025"]


def test_a_flag_tells_the_holes_with_a_paper_count_beside_the_others(mire, p1):
    lose(p1, 3, 3)
    lose(p1, 6, 6)
    shed = mire.Book()
    shed.note("bag", DAY, bags=2, covers=["p1-aaaa", 3, 3])
    (flag,) = missing(mire, [p1, shed]).values()
    assert [(h["from_seq"], h["paper_bags"]) for h in flag.figures["holes"]] == [
        (3, 2.0), (6, None)]
    assert flag.records == ("p1-aaaa:5", "p1-aaaa:7")
    assert "records 3" not in flag.why


def test_the_first_records_of_a_phone_may_be_missing(mire, p1):
    lose(p1, 1, 2)
    (flag,) = missing(mire, p1).values()
    (hole,) = flag.figures["holes"]
    assert (hole["from"], hole["to"], hole["bags"]) == (None, hours(1), None)
    assert flag.records == ("p1-aaaa:3",)


def test_each_season_has_its_own_flag(mire, p1):
    p1.note("check_in", hours(24 * 300), state="fine")
    p1.note("check_in", hours(24 * 301), state="fine")
    p1.note("check_in", hours(24 * 302), state="fine")
    lose(p1, 5, 7)
    lose(p1, 11, 11)
    assert list(missing(mire, p1, on=date(2027, 1, 1))) == [
        "missing_records:p1-aaaa:2025", "missing_records:p1-aaaa:2026"]
    assert list(missing(mire, p1)) == ["missing_records:p1-aaaa:2025"]


def test_a_hole_that_closes_leaves_its_flag(mire, p1):
    whole = list(p1.kept)
    lose(p1, 5, 7)
    assert missing(mire, p1)
    p1.kept = whole
    assert missing(mire, p1) == {}


def test_neither_the_shed_nor_a_form_has_holes(mire):
    shed, form = mire.Book(), mire.Book("form-tally7")
    for book in (shed, form):
        book.note("bag", DAY, bags=1)
        book.kept[0]["seq"] = 9
    assert missing(mire, [shed, form]) == {}


def test_one_name_with_two_contents_is_flagged_and_one_counts(mire, p1):
    other = mire.Book("p1-aaaa")
    other.kept = [{**p1.kept[3], "bags": 3}]
    found = mire.register([p1, other], ON)
    flag = mire.flags(found)["number_twice:p1-aaaa:4:2025"]
    assert (flag.about, flag.season, flag.records) == ("p1-aaaa:4", 2025, ("p1-aaaa:4",))
    assert len(flag.figures["sums"]) == 2
    assert sum(one.kind == "bag" for one in found.merged.counted) == 7


def lagging(mire, lag_s, bags=1, book=None, day=DAY):
    book = book or mire.Book("p1-aaaa")
    for i in range(bags):
        book.note("bag", day + timedelta(minutes=i, seconds=lag_s), bags=1,
                  where={**mire.where(150, 150), "lag_s": lag_s})
    return book


@pytest.mark.parametrize(("lag_s", "said"), [
    (-5_270_400.0, "61 days behind"), (5_270_400.0, "61 days ahead of"),
    (121.0, "2 minutes ahead of"), (-7200.0, "120 minutes behind")])
def test_a_wrong_clock_is_told_with_its_lag_and_mended(mire, lag_s, said):
    found = mire.register(lagging(mire, lag_s, bags=2), ON)
    flag = mire.flags(found)["clock_wrong:p1-aaaa:2025"]
    assert said in flag.why
    assert flag.figures["lag_s"] == lag_s
    assert flag.records == ("p1-aaaa:1", "p1-aaaa:2")
    assert {one.day for one in found.merged.counted} == {DAY.date()}


@pytest.mark.parametrize("lag_s", [0.0, 120.0, -120.0])
def test_a_clock_within_two_minutes_is_right(mire, lag_s):
    assert mire.flags(mire.register(lagging(mire, lag_s), ON), "clock_wrong") == {}


def test_of_two_lags_the_worse_is_told_and_the_span_of_days(mire):
    book = lagging(mire, -300.0)
    lagging(mire, 900.0, book=book, day=DAY + timedelta(days=2))
    (flag,) = mire.flags(mire.register(book, ON), "clock_wrong").values()
    assert flag.figures["lag_s"] == 900.0
    assert "2025-11-10 to 2025-11-12" in flag.why


def test_a_season_is_that_of_the_mended_time(mire):
    book = lagging(mire, -86_400.0 * 20, day=datetime(2026, 7, 5, tzinfo=UTC))
    found = mire.register(book, date(2026, 8, 1))
    assert list(mire.flags(found, "clock_wrong")) == ["clock_wrong:p1-aaaa:2026"]


def test_a_clock_that_went_wrong_after_the_day_is_not_known_on_it(mire):
    book = lagging(mire, -900.0, day=datetime(2026, 2, 21, 12, tzinfo=UTC))
    assert mire.flags(mire.register(book, ON), "clock_wrong") == {}
