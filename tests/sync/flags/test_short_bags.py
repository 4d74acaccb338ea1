"""Bags are short once a later stage counts fewer and nothing explains it."""

from datetime import date

import pytest

ON = date(2026, 3, 1)
NOV = date(2025, 11, 10)


@pytest.fixture
def book(mire):
    made = mire.Book()
    made.bags(NOV, "B02", 60, pile="P1-001")
    made.note("batch", date(2025, 11, 12), "F", batch="L-1", stage="lifted", bags=56,
              **{"from": ["P1-001"]})
    return made


def note(book, day, label, stage, bags, *made_of, **fields):
    sources = {"from": list(made_of)} if made_of else {}
    return book.note("batch", day, "F", batch=label, stage=stage, bags=bags, **sources, **fields)


def short(mire, book, on=ON):
    return mire.flags(mire.register(book, on), "short_bags")


def test_fewer_arrived_than_were_lifted(mire, book):
    note(book, date(2025, 11, 13), "L-1", "arrived", 53.5)
    note(book, date(2025, 12, 20), "D-1", "dried", 50, "L-1", dry_kg=350.0)
    (flag,) = short(mire, book).values()
    assert (flag.name, flag.how_sure, flag.probability, flag.cell) == (
        "short_bags:L-1:2025", "sure", None, None)
    assert flag.figures == {"tallied": 60, "lifted": 56, "arrived": 53.5, "dried": 50,
                            "short": 2.5, "kg": pytest.approx(17.5)}
    assert flag.why == (
        "2.5 bags (about 18 kg) of batch L-1 are short: 56 were lifted on 2025-11-12 and 53.5 "
        "arrived on 2025-11-13; a count at both ends, or the record of the wrong count mended, "
        "would settle it")
    assert len(flag.records) == 2


def test_bags_left_on_the_pile_on_the_way_or_at_the_shed_are_not_short(mire, book):
    assert short(mire, book) == {}
    note(book, date(2025, 11, 13), "L-1", "arrived", 56)
    note(book, date(2025, 12, 20), "D-1", "dried", 50, "L-1", dry_kg=350.0)
    assert short(mire, book) == {}


def test_bags_that_another_batch_took_are_not_short(mire, book):
    note(book, date(2025, 11, 13), "S-1", "arrived", 6, "L-1")
    note(book, date(2025, 11, 13), "L-1", "arrived", 50)
    assert short(mire, book) == {}


def test_a_shortage_is_not_known_before_the_later_count_and_a_mend_takes_it_away(mire, book):
    name = note(book, date(2025, 11, 13), "L-1", "arrived", 53)
    assert short(mire, book, date(2025, 11, 12)) == {}
    assert set(short(mire, book)) == {"short_bags:L-1:2025"}
    note(book, date(2025, 11, 13), "L-1", "arrived", 56, instead_of=name)
    assert short(mire, book) == {}


def test_a_batch_short_twice_tells_both(mire, book):
    note(book, date(2025, 11, 13), "L-1", "arrived", 54)
    note(book, date(2025, 12, 20), "L-1", "dried", 53, dry_kg=371.0)
    (flag,) = short(mire, book).values()
    assert flag.figures["short"] == 3
    assert "lifted on 2025-11-12 and 54 arrived on 2025-11-13 and 53 were dried on" in flag.why


def test_2026_11_28_one_bag_is_told_as_one(mire, book):
    note(book, date(2025, 11, 13), "L-1", "arrived", 55)
    (flag,) = short(mire, book).values()
    assert flag.why.startswith("1 bag (about 7 kg) of batch L-1 is short: 56 were lifted on")
