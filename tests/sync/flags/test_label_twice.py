"""A label on two things in one season is flagged; in two seasons it is nothing."""

from datetime import date

import pytest

ON = date(2026, 3, 1)
NOV = date(2025, 11, 10)
NOTHING = {"fields": {}, "stages": [], "apart_m": None}


@pytest.fixture
def book(mire):
    made = mire.Book()
    made.bags(NOV, "B02", 10, pile="P1-001")
    return made


def twice(mire, book, on=ON):
    return mire.flags(mire.register(book, on), "label_twice")


def test_labels_in_order_are_no_flag(mire, book):
    book.note("mark", NOV, what="pile", name="P1-001", where=mire.where(150, 150))
    book.quadrat(date(2025, 8, 20), "A01", clip="P1-002")
    book.note("clip", date(2025, 9, 20), clip="P1-002", cut="plug", area_m2=0.06, to_mm=80)
    book.note("clip", date(2025, 10, 20), clip="P1-002", dry_g=70, dried="shed")
    book.note("batch", NOV, batch="P1-001", stage="lifted", bags=10)
    book.note("batch", NOV, batch="P1-001", stage="arrived", bags=10, **{"from": ["P1-001"]})
    assert twice(mire, book) == {}


def test_a_clip_with_two_weights_waits_and_is_told(mire, book):
    book.note("clip", date(2025, 9, 20), clip="P1-002", cut="plug", area_m2=0.06, to_mm=80)
    for dry_g in (70, 75):
        book.note("clip", date(2025, 10, 20), clip="P1-002", dry_g=dry_g, dried="shed")
    (flag,) = twice(mire, book).values()
    assert (flag.name, flag.how_sure, flag.probability) == (
        "label_twice:P1-002:2025", "sure", None)
    assert flag.figures == {**NOTHING, "things": ["clip"], "fields": {"dry_g": [70, 75]}}
    assert "dry_g of its clip is 70 and 75, so the clip waits" in flag.why
    assert len(flag.records) == 3


def test_one_label_on_a_pile_and_a_clip(mire, book):
    book.quadrat(date(2025, 8, 20), "A01", clip="P1-001")
    (flag,) = twice(mire, book).values()
    assert flag.figures == {**NOTHING, "things": ["clip", "pile"]}
    assert flag.why == (
        "label P1-001 is used twice in the season of 2025: it is on a clip and a pile; a look at "
        "the tags, and the wrong record voided or its label mended, would settle it")


def test_a_batch_of_other_piles_with_the_label_of_a_pile(mire, book):
    book.bags(NOV, "A01", 10, pile="P1-009")
    book.note("batch", NOV, batch="P1-001", stage="lifted", bags=10, **{"from": ["P1-009"]})
    (flag,) = twice(mire, book).values()
    assert flag.figures["things"] == ["batch", "pile"]


def test_two_records_of_one_stage_of_a_batch(mire, book):
    for bags in (4, 6):
        book.note("batch", date(2025, 12, 20), batch="D-1", stage="dried", bags=bags,
                  dry_kg=7.0 * bags, **{"from": ["P1-001"]})
    (flag,) = twice(mire, book).values()
    assert flag.figures == {**NOTHING, "things": ["batch"], "stages": ["dried"]}
    assert "its batch was dried 2 times, and the bags add up" in flag.why


@pytest.mark.parametrize(("metres", "flagged"), [(57, False), (59, True)])
def test_piles_marked_farther_apart_than_one_can_be(mire, book, metres, flagged):
    """50 m and both radii of 4 m."""
    for x in (100, 100 + metres):
        book.note("mark", NOV, what="pile", name="P1-001", where=mire.where(x, 150))
    found = twice(mire, book)
    assert bool(found) == flagged
    if flagged:
        (flag,) = found.values()
        assert flag.figures["apart_m"] == pytest.approx(metres, abs=0.1)


def test_the_same_label_next_season_is_another_thing(mire, book):
    book.note("mark", NOV, what="pile", name="P1-001", where=mire.where(20, 20))
    book.note("mark", date(2026, 9, 1), what="pile", name="P1-001", where=mire.where(250, 250))
    book.quadrat(date(2026, 8, 20), "A01", clip="P1-001")
    (flag,) = twice(mire, book, date(2026, 12, 1)).values()
    assert flag.name == "label_twice:P1-001:2026"
    assert twice(mire, book, date(2026, 8, 1)) == {}


def test_a_voided_record_settles_it(mire, book):
    name = book.quadrat(date(2025, 8, 20), "A01", clip="P1-001")
    assert twice(mire, book)
    book.note("void", ON, of=name)
    assert twice(mire, book) == {}
