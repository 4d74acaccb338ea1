"""Touch or pick: by the qC known before the pick, once and for all."""

from datetime import date, timedelta

import pytest

DAY = date(2025, 11, 10)


@pytest.fixture
def book(made):
    book = made.Book()
    book.quadrat(date(2025, 6, 20), "B02", 60, (90, 110))
    book.quadrat(date(2025, 6, 20), "A01", 60, (90, 110))
    return book


def picks(made, book, on=date(2026, 6, 1), name="B02"):
    return made.register(book, on).crop.cells[name].picks


def test_the_line_between_touch_and_pick_is_a_tenth_of_the_pickable_crop_at_the_mark(made, book):
    # Two cells alike: X = 60 L/m² in both and q = 60/100, whatever leans on what.
    area = made.register(book, DAY).crop.ground.cells["B02"].open_m2
    at_mark = 0.6 * area * 12 * 60 / 1000
    book.bags(DAY, "B02", 61)
    (pick,) = picks(made, book)
    assert pick.pickable_at_mark_kg == pytest.approx(at_mark)
    assert 7 * 61 < 0.1 * at_mark < 7 * 62
    assert (pick.touch, pick.rest_ends) == (True, None)
    book.bags(DAY, "B02", 1)
    (pick,) = picks(made, book)
    assert (pick.touch, pick.rest_ends) == (False, date(2030, 11, 10))


def test_a_pick_is_judged_by_what_was_measured_before_its_first_day(made, book):
    book.bags(DAY, "B02", 61)
    before = picks(made, book)
    for day in (DAY, DAY + timedelta(days=1), DAY + timedelta(days=400)):
        book.quadrat(day, "B02", 5, (50,))
    assert picks(made, book) == before


def test_a_late_word_of_an_earlier_day_judges_anew(made, book):
    book.bags(DAY, "B02", 61)
    book.quadrat(DAY - timedelta(days=1), "B02", 5, (50,))
    (pick,) = picks(made, book)
    assert not pick.touch


def test_where_nothing_was_measured_before_whatever_was_taken_is_a_pick(made):
    book = made.Book()
    book.bags(DAY, "B02", 0.5)
    book.quadrat(DAY, "B02", 60, (90, 110))
    (pick,) = picks(made, book)
    assert (pick.touch, pick.pickable_at_mark_kg) == (False, None)
    assert pick.rest_ends == date(2030, 11, 10)


def test_a_class_that_another_cell_measured_judges_a_cell_nobody_measured(made, book):
    book.bags(DAY, "C03", 1)
    (pick,) = picks(made, book, name="C03")
    assert pick.touch
    assert pick.pickable_at_mark_kg == pytest.approx(
        0.6 * made.register(book, DAY).crop.ground.cells["C03"].open_m2 * 12 * 60 / 1000)


def test_a_quadrat_of_a_resting_cell_judges_no_later_pick(made, book):
    book.bags(DAY, "B02", 200)
    book.finished(DAY, "B02")
    book.quadrat(date(2027, 1, 1), "B02", 5, (50,))
    book.bags(date(2027, 3, 1), "B02", 61)
    first, second = picks(made, book, date(2027, 3, 1))
    assert (first.touch, second.touch) == (False, True)
    assert second.pickable_at_mark_kg == pytest.approx(first.pickable_at_mark_kg)


def test_a_touch_leaves_the_cell_rested(made, book):
    book.bags(DAY, "B02", 2)
    book.quadrat(date(2026, 8, 1), "B02", 60, (90, 110))
    book.bags(date(2026, 11, 10), "B02", 200)
    first, second = picks(made, book, date(2026, 12, 1))
    assert (first.touch, second.touch) == (True, False)
    found = made.register(book, date(2026, 12, 1)).crop.classes["all"].prediction
    # Three quadrats of B02 would be pooled, were the last of them not as rested as the first.
    assert found.df == 5
    assert made.register(book, date(2026, 9, 1)).crop.cells["B02"].walked.forecast is False


@pytest.mark.parametrize(("share", "kg", "touch"), [
    (5.0, 100.0, True), (9.9, 100.0, True), (10.0, 100.0, False), (5.0, 2000.0, False),
    (100.0, 0.0, False), (5.0, None, False)])
def test_a_pick_of_before_the_program_is_one_by_its_share_or_its_kg(made, book, share, kg, touch):
    fields = {"from": "2025-11-10", "to": "2025-11-12", "share_pct": share, "dry_kg": kg}
    book.note("past_pick", date(2026, 1, 1), "O", cell="B02", **fields)
    (pick,) = picks(made, book)
    assert pick.touch == touch


def test_2026_11_25_a_past_pick_over_two_seasons_rests_from_where_it_ended(made, book):
    fields = {"from": "2026-02-01", "to": "2026-09-01", "dry_kg": None}
    book.note("past_pick", date(2026, 10, 1), "O", cell="B02", **fields)
    found = made.register(book, date(2027, 8, 1)).cells["B02"]
    assert found.state == "resting"
    assert found.picks.last_over.rest_ends == date(2031, 9, 1)


@pytest.mark.parametrize(("last", "ends"), [
    (date(2025, 8, 31), date(2030, 8, 31)), (date(2028, 2, 29), date(2033, 3, 1))])
def test_a_rest_ends_on_the_same_day_of_the_month_or_on_the_first_of_the_next(
    made, book, last, ends
):
    book.quadrat(last - timedelta(days=30), "B02", 60, (90, 110))
    book.bags(last, "B02", 200)
    assert picks(made, book, last)[-1].rest_ends == ends
