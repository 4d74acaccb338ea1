"""Which cells teach regrowth: rested, one pick of known kg, then drawn quadrats of their own."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sync.crop.again import facts_until
from sync.crop.cell_walk import cell_surveys
from sync.crop.regrown import regrown_cell, teaching
from sync.settings import Tunables
from sync.survey.density import of_class

TUNABLES = Tunables()
SURVEYED, PICKED, AGAIN = date(2024, 1, 10), date(2024, 2, 9), date(2026, 2, 9)


@pytest.fixture
def book(made):
    book = made.Book()
    for cell in ("A01", "B02", "C03"):
        book.quadrat(SURVEYED, cell, 60, (90, 110))
        book.quadrat(SURVEYED, cell, 60, (90, 110))
    return book


def learned(made, book, on=AGAIN, **tunables):
    return made.register(book, on, **tunables).crop.learned


def test_a_cell_measured_before_and_after_its_pick_teaches(made, book):
    book.bags(PICKED, "B02", 300)
    names = [book.quadrat(AGAIN, "B02", 50, (80, 100)) for _ in range(2)]
    found = learned(made, book)
    (one,) = found.regrown
    area = made.register(book, AGAIN).crop.cells["B02"].open_m2
    assert one.cell == "B02"
    assert one.mark_kg == pytest.approx(area * 12 * 60 / 1000)
    assert one.left_kg == pytest.approx(one.mark_kg - 300 * 7)
    assert one.years == pytest.approx(731 / 365.25)
    assert one.measured_kg == pytest.approx(area * 12 * 45 / 1000)
    assert one.records == tuple(names)
    assert found.growth.rate != found.prior.rate


def test_stray_bags_between_the_surveys_are_taken_off_too(made, book):
    book.bags(PICKED, "B02", 300)
    book.note("bag", date(2025, 3, 1), bags=0.5, where=made.where(100, 150, 5.0))
    book.quadrat(AGAIN, "B02", 50, (80, 100))
    (one,) = learned(made, book).regrown
    assert one.mark_kg - one.left_kg == pytest.approx(300 * 7 + 0.25 * 7, abs=1e-3)


def test_the_last_survey_before_the_next_pick_counts(made, book):
    book.bags(PICKED, "B02", 300)
    book.quadrat(date(2025, 1, 1), "B02", 30, (60, 70))
    book.quadrat(date(2025, 12, 1), "B02", 50, (80, 100))
    book.bags(date(2025, 12, 20), "B02", 200)
    book.quadrat(AGAIN, "B02", 20, (50, 60))
    (one,) = learned(made, book).regrown
    assert one.years == pytest.approx((date(2025, 12, 1) - PICKED).days / 365.25)


@pytest.mark.parametrize("what", ["never measured before", "after by eye", "right after the pick",
                                  "kg unknown", "not picked", "only touched"])
def test_other_cells_teach_nothing(made, what):
    book = made.Book()
    for cell in ("A01", "C03"):
        book.quadrat(SURVEYED, cell, 60, (90, 110))
    if what != "never measured before":
        book.quadrat(SURVEYED, "B02", 60, (90, 110))
    if what == "kg unknown":
        book.note("past_pick", PICKED, "O", cell="B02", to=None, share_pct=None, dry_kg=None,
                  **{"from": PICKED.isoformat()})
    elif what != "not picked":
        book.bags(PICKED, "B02", 10 if what == "only touched" else 300)
    fields = {"when": "after_pick"} if what == "right after the pick" else {}
    book.quadrat(AGAIN, "B02", 50, (80, 100), drawn=what != "after by eye", **fields)
    found = learned(made, book)
    assert found.regrown == ()
    assert found.growth == found.prior


def test_a_class_with_cells_enough_learns_by_itself(made, book):
    for cell in ("A01", "B02"):
        book.bags(PICKED, cell, 300)
        book.quadrat(AGAIN, cell, 50, (80, 100))
    block = made.register(book, AGAIN).crop
    assert block.class_learned == {}
    own = made.register(book, AGAIN, cells_for_own_growth=2).crop
    assert own.class_learned["all"].growth == own.learned.growth == block.learned.growth
    assert {one.growth for one in own.cells.values()} == {own.learned.growth}


def test_what_is_learned_later_moves_no_allowance_of_an_open_pick(made, book):
    start = date(2026, 2, 1)
    book.bags(PICKED, "B02", 300)
    book.finished(PICKED, "B02")
    book.bags(start, "C03", 20)
    before = made.register(book, AGAIN).cells["C03"].may_take_kg
    book.quadrat(AGAIN, "B02", 90, (110, 130))
    after = made.register(book, AGAIN)
    assert after.crop.learned.regrown
    assert after.cells["C03"].may_take_kg == before


def test_2026_11_25_a_bag_type_that_nobody_fills_makes_growth_no_less_known(made, book):
    book.bags(PICKED, "B02", 300, pile="P-1")
    book.note("batch", date(2024, 3, 1), "O", batch="D-1", stage="dried", bags=300, dry_kg=2100.0,
              **{"from": ["P-1"]})
    book.quadrat(AGAIN, "B02", 50, (80, 100))
    one = made.mire()
    two = made.mire(bags=(*one.bags, made.BagType("bale", 180.0, 15.0)))
    plain, other = (made.register(book, AGAIN, block).crop.learned for block in (one, two))
    assert other.growth == plain.growth


def test_2026_11_28_a_cell_read_again_because_it_was_low_teaches_by_its_first_survey(made, book):
    # Of cells measured after their rest those found full are picked and those found poor are read
    # again: while the last survey taught, chance lows were exchanged and chance highs were kept.
    book.bags(PICKED, "B02", 300)
    book.quadrat(date(2026, 2, 20), "B02", 30, (60, 70))
    rested = date(2030, 3, 1)
    for day, cover in ((rested, 20), (date(2031, 3, 1), 60)):
        book.quadrat(day, "B02", cover, (80, 100))
    (one,) = learned(made, book, date(2031, 4, 1)).regrown
    assert one.years == pytest.approx((rested - PICKED).days / 365.25)


def test_2026_11_28_what_grew_in_the_class_since_moves_no_mark_from_before_the_pick(made, book):
    # A cell leans on its class; while that was the class of today, moss that outgrew its marks
    # raised what the cell was thought to have held, and the rate that was learned fell for ever.
    book.bags(PICKED, "B02", 300)
    book.quadrat(date(2029, 3, 1), "B02", 50, (80, 100))
    (before,) = learned(made, book, date(2029, 3, 2)).regrown
    for cell in ("A01", "C03"):
        book.quadrat(date(2030, 3, 1), cell, 90, (150, 170))
    (after,) = learned(made, book, date(2030, 3, 2)).regrown
    assert after.mark_kg == before.mark_kg


DAYS = st.integers(0, 40).map(lambda step: PICKED + timedelta(days=30 * step - 90))
EVENTS = st.lists(st.one_of(
    st.tuples(st.just("bags"), DAYS, st.sampled_from([0.5, 4.0, 150.0])),
    st.tuples(st.just("drawn"), DAYS, st.integers(10, 90)),
    st.tuples(st.just("eye"), DAYS, st.integers(10, 90))), min_size=3, max_size=12)


@settings(max_examples=60, deadline=None)
@given(EVENTS)
def test_what_is_kept_for_teaching_teaches_what_all_facts_do(made, events):
    book = made.Book()
    for cell in ("A01", "C03"):
        book.quadrat(SURVEYED, cell, 60, (90, 110))
    for what, day, value in events:
        if what == "bags":
            book.bags(day, "B02", value)
        else:
            book.quadrat(day, "B02", value, (80, 100), drawn=what == "drawn")
    crop = made.register(book, PICKED + timedelta(days=1200)).crop
    facts = facts_until(crop, "B02", crop.day)
    of = crop.classes[crop.cells["B02"].ground_class]
    density = of_class(crop.densities, of.ground_class)

    def taught(facts):
        return regrown_cell("B02", facts, cell_surveys(facts, TUNABLES), of, density,
                            TUNABLES, bag_cv2=lambda _: 0.0, class_on=lambda _: of)

    kept = teaching(facts)
    assert (None if kept is None else taught(kept)) == taught(facts)
