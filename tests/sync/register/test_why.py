"""The sentences behind a cell's figures: they hold the figures and the records they came from."""

from datetime import UTC, date, datetime, timedelta

import pytest

from sync.block import Feature
from sync.errors import SurveyError
from sync.register.why import why_cell

ON = date(2026, 2, 20)


@pytest.fixture
def book(mire):
    book = mire.Book()
    for cell in ("A01", "B02", "B02"):
        book.quadrat(date(2025, 6, 20), cell, 60, (90, 110))
    return book


def why(mire, book, cell="B02", on=ON):
    return why_cell(mire.register(book, on), cell)


def said(sentences, start):
    (one,) = [s for s in sentences if s.startswith(start)]
    return one


def test_a_cell_that_is_not_there_is_refused(mire, book):
    with pytest.raises(SurveyError, match="Z99"):
        why(mire, book, "Z99")


@pytest.mark.parametrize("cell", ["A01", "A02", "B02", "C03"])
def test_every_cell_can_be_asked_about_even_on_an_empty_block(mire, book, cell):
    for one in (book, mire.Book()):
        assert why(mire, one, cell)[0].startswith(f"Ground: {cell} has ")


def test_a_ready_cell_tells_the_least_of_its_margins(mire, book):
    found = mire.register(book, ON)
    allowed = found.cells["B02"].allowance
    sentence = said(why(mire, book), "May take")
    assert f"regrowth {allowed.regrowth_kg:.0f} kg" in sentence
    assert f"{allowed.kept_kg:.0f} kg (30 % of the pickable crop stays" in sentence
    assert f"{allowed.may_take_kg:.0f} kg; {allowed.binds} binds" in sentence


def test_every_quadrat_is_told_with_its_record(mire, book):
    sentences = [s for s in why(mire, book) if s.startswith("Quadrat of 2025-06-20")]
    assert [s.split("[")[1] for s in sentences] == ["shed:2].", "shed:3]."]
    told = "give 0.600 × 100.0 = 60.0 L/m², 36.0 of it above the 40 mm"
    assert all(told in s for s in sentences)


def test_a_pick_is_told_with_kg_rest_and_records_and_what_is_left(mire, book):
    names = book.bags(date(2025, 11, 10), "B02", 80)
    sentences = why(mire, book)
    pick = said(sentences, "Pick 2025-11-10 to 2025-11-10")
    assert "80.0 bags, 560 kg" in pick
    assert all(name in pick for name in names)
    assert "less 560 kg taken in this pick" in said(sentences, "Left")
    book.finished(date(2025, 11, 11), "B02")
    sentences = why(mire, book)
    assert "its rest ends 2030-11-10" in said(sentences, "Pick 2")
    assert said(sentences, "May take") == "May take: 0 kg, for the cell is resting."
    assert "only a measurement" in said(sentences, "Next")


def test_2026_11_28_words_of_several_days_are_told_from_the_least_to_the_most(mire, book):
    """The last day's figures stood there as if they were every day's."""
    phone = mire.Book("p1-aaaa")
    for days, x in ((0, 150), (1, 199), (2, 150), (3, 199)):
        mire.stood(phone, datetime(2025, 11, 10, 8, tzinfo=UTC) + timedelta(days=days), x,
                   cell="B02")

    told = said(why(mire, [book, phone]), "For 2 bags of that pick the track leaves the cell open")
    assert "of 1 to 2 such words proved on days before 1.0 to 2.0 were right" in told
    assert "is a chance of 0.67 to 0.75 [p1-aaaa:" in told


def test_a_touch_says_that_no_rest_starts(mire, book):
    book.bags(date(2025, 11, 10), "B02", 1)
    assert "only touched" in said(why(mire, book), "Pick 2")


def test_of_many_records_the_first_are_named_and_the_others_counted(mire, book):
    for _ in range(20):
        book.bags(date(2025, 11, 10), "B02", 5)
    assert "and 8 more]" in said(why(mire, book), "Pick 2")


def test_a_scatter_of_less_than_half_a_kilogram_is_worth_no_sentence(mire, book):
    book.note("bag", date(2025, 11, 10), bags=1, where=mire.where(193.7, 150))
    assert not [s for s in why(mire, book, "C02") if "stray" in s]
    book.note("bag", date(2025, 11, 12), bags=0.5, where=mire.where(200, 150))
    assert [s for s in why(mire, book, "C02") if "stray" in s]


def test_an_incomplete_pick_says_so(mire, book):
    book.bags(date(2025, 11, 10), "B02", 80)
    book.bags(date(2025, 11, 10), None, 1)
    assert [s for s in why(mire, book) if "not complete" in s]


def test_2026_11_25_a_closed_cell_tells_when_it_is_ready_though_not_how_much(mire, book):
    closed = mire.mire(closures=(
        Feature(mire.polygon(100, 100, 200, 200), {"why": "nesting"}, until=date(2026, 3, 31)),))
    found = mire.register(book, ON, closed)
    sentences = why_cell(found, "B02")
    assert said(sentences, "Next") == "Next: 2026-04-01; how much can be told once it is open."
    assert said(sentences, "Closed in").endswith("whole: nesting until 2026-03-31.")


def test_2026_11_25_ground_closed_without_an_end_does_not_wait_for_a_measurement(mire, book):
    closed = mire.mire(closures=(Feature(mire.polygon(100, 100, 300, 200), {"why": "nesting"}),))
    found = mire.register(book, ON, closed)
    assert said(why_cell(found, "B02"), "Next") == "Next: no day is known on which it opens."
    assert said(why_cell(found, "C02"), "Next") == "Next: only a measurement can tell."
