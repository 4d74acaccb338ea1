"""A pick is complete unless a hole, a bag of no cell or unknown kg touches one of its days."""

from datetime import UTC, date, datetime, timedelta

import pytest

DAY = datetime(2025, 11, 10, 8, tzinfo=UTC)
ON = date(2025, 12, 1)


@pytest.fixture
def p1(mire):
    """Ten bags in B02 on one day, records 2 to 11 of 12."""
    return day_out(mire, mire.Book("p1-aaaa"), DAY)


def day_out(mire, book, start, *, x=150.0, person="MT"):
    book.note("outing", start, person, state="start", role="picker")
    for i in range(10):
        book.note("bag", start + timedelta(minutes=20 * i + 20), person, bags=9,
                  where=mire.where(x, 150))
    book.note("outing", start + timedelta(hours=4), person, state="end", finished=[])
    return book


def lose(book, *numbers):
    book.kept = [one for one in book.kept if one["seq"] not in numbers]


def incomplete(mire, books, on=ON):
    return sorted(mire.register(books, on).incomplete)


def test_a_whole_day_is_complete(mire, p1):
    assert incomplete(mire, p1) == []


def test_a_hole_leaves_its_pickers_cells_of_that_day_incomplete(mire, p1):
    p2 = day_out(mire, mire.Book("p2-aaaa"), DAY, x=250, person="RK")
    lose(p1, 5, 6)
    assert incomplete(mire, [p1, p2]) == ["B02"]


def test_with_a_paper_count_it_is_complete_again(mire, p1):
    lose(p1, 5, 6)
    shed = mire.Book()
    shed.note("bag", DAY, bags=18, cell="B02", covers=["p1-aaaa", 5, 6])
    assert incomplete(mire, [p1, shed]) == []


def test_a_paper_count_of_no_bags_will_do(mire, p1):
    lose(p1, 5)
    shed = mire.Book()
    shed.note("bag", DAY, bags=0, covers=["p1-aaaa", 5, 5])
    assert incomplete(mire, [p1, shed]) == []


def test_a_hole_over_night_touches_both_days(mire, p1):
    day_out(mire, p1, DAY + timedelta(days=1), x=250)
    lose(p1, 12, 13)
    assert incomplete(mire, p1) == ["B02", "C02"]


def test_a_hole_of_another_day_leaves_the_day_alone(mire, p1):
    day_out(mire, p1, DAY + timedelta(days=3), x=250)
    lose(p1, 16)
    assert incomplete(mire, p1) == ["C02"]


def test_a_bag_of_no_cell_leaves_all_that_was_picked_that_day_incomplete(mire, p1):
    p2 = day_out(mire, mire.Book("p2-aaaa"), DAY, x=250, person="RK")
    p2.note("bag", DAY + timedelta(hours=1), "RK", bags=0.5)
    assert incomplete(mire, [p1, p2]) == ["B02", "C02"]
    p2.note("void", DAY + timedelta(hours=1), "RK", of="p2-aaaa:13")
    assert incomplete(mire, [p1, p2]) == []


def test_a_hole_after_the_day_asked_about_leaves_it_complete(mire, p1):
    day_out(mire, p1, DAY + timedelta(days=3))
    lose(p1, 16)
    assert incomplete(mire, p1, on=DAY.date()) == []
    assert incomplete(mire, p1) == ["B02"]


def test_a_bag_for_somebody_else_makes_a_hole_of_that_phone_touch_that_persons_cells(mire, p1):
    for one in p1.kept:
        if one["kind"] == "bag":
            one["for"] = "RK"
    p2 = day_out(mire, mire.Book("p2-aaaa"), DAY, x=250, person="RK")
    lose(p1, 5)
    assert incomplete(mire, [p1, p2]) == ["B02", "C02"]


def test_a_mended_hole_is_none(mire, p1):
    shed = mire.Book()
    whole = p1.kept[4]
    lose(p1, 5)
    assert incomplete(mire, [p1, shed]) == ["B02"]
    p1.kept.append(whole)
    assert incomplete(mire, [p1, shed]) == []


def test_a_pick_whose_kg_nobody_knows_is_not_complete(mire):
    shed = mire.Book()
    shed.note("past_pick", ON, "O", cell="A01",
              **{"from": "2024-11-10", "to": "2024-11-12", "dry_kg": None})
    shed.note("past_pick", ON, "O", cell="A02",
              **{"from": "2024-11-10", "to": "2024-11-12", "dry_kg": 500})
    assert incomplete(mire, shed) == ["A01"]
