"""A day's crop is the same whatever days were asked about before: nothing kept is ever stale."""

import dataclasses
from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from sync.crop.chain import chain
from sync.crop.kept import Kept
from sync.crop.known import Known

#: Few days and cells, so that picks, rests and readings fall upon one another.
FIRST, DAYS = date(2023, 7, 1), 600
CELL = st.sampled_from(["A01", "A02"])
DAY = st.integers(0, DAYS // 20).map(lambda step: 20 * step)
EVENT = st.one_of(
    st.tuples(st.just("bags"), DAY, CELL, st.sampled_from([3.0, 40.0, 160.0])),
    st.tuples(st.just("quadrat"), DAY, CELL, st.integers(0, 100)),
    st.tuples(st.just("again"), DAY, CELL, st.integers(0, 100)),
    st.tuples(st.just("dried"), DAY, CELL, st.integers(1, 400)),
)


def book_of(made, events):
    book = made.Book()
    for number, (what, offset, cell, value) in enumerate(events):
        day = FIRST + timedelta(days=offset)
        if what == "bags":
            book.bags(day, cell, value, pile=f"P-{cell}")
        elif what == "quadrat":
            book.quadrat(day, cell, value)
        elif what == "again":
            book.again(day, cell, value)
        elif what == "dried":
            book.dried(day, f"L{number}", value, 6.5 * value, pile=f"P-{cell}")
    return book


def figures(crop):
    """Everything that a day's register takes from the chain, but for arrays shared by cells."""
    return {cell: (one.picks, one.takings, one.readings, one.growth,
                   None if one.walked is None else (
                       one.walked.stand, one.walked.pickable_kg, one.walked.share))
            for cell, one in crop.cells.items()}


def afresh(known):
    """The same, knowing of no other day."""
    return Known(**{field.name: getattr(known, field.name)
                    for field in dataclasses.fields(known) if field.name != "kept"})


@settings(max_examples=60, deadline=None)
@given(events=st.lists(EVENT, min_size=6, max_size=25),
       days=st.lists(DAY, min_size=2, max_size=4))
def test_days_asked_about_in_any_order_tell_each_what_it_tells_alone(made, events, days):
    found = made.register(book_of(made, events), FIRST + timedelta(days=DAYS))
    ground = found.grounds.on(found.on)
    for offset in days:
        day = FIRST + timedelta(days=offset)
        for rules_of in (None, day + timedelta(days=1)):
            here = chain(found.known, ground, until=day, rules_of=rules_of)
            alone = chain(afresh(found.known), ground, until=day, rules_of=rules_of)
            assert figures(here) == figures(alone)
            assert here.weights == alone.weights


def test_a_touch_that_became_a_pick_later_is_a_touch_on_the_days_between(made):
    """A01 is touched, read, and picked in earnest after A02: on day 90 its reading counts."""
    events = [("quadrat", 0, "A01", 60), ("quadrat", 0, "A02", 60), ("bags", 40, "A01", 3.0),
              ("quadrat", 60, "A01", 10), ("bags", 80, "A02", 200.0), ("bags", 100, "A01", 320.0)]
    found = made.register(book_of(made, events), FIRST + timedelta(days=DAYS))
    day = FIRST + timedelta(days=90)
    here, alone = (chain(known, found.crop.ground, until=day)
                   for known in (found.known, afresh(found.known)))
    now, then = (crop.cells["A02"].picks[0].pickable_at_mark_kg for crop in (found.crop, here))
    assert figures(here) == figures(alone)
    assert now > 1.1 * then


@settings(max_examples=8, deadline=None)
@given(events=st.lists(EVENT, min_size=4, max_size=15), more=st.lists(EVENT, max_size=6),
       last=DAY)
def test_a_register_built_with_what_former_ones_left_is_the_one_built_alone(
        made, events, more, last):
    """Records come in, a day before is asked about, and some are gone again."""
    kept, day = Kept(), FIRST + timedelta(days=DAYS)
    made.register(book_of(made, events), day, kept=kept)
    for told, on in ((events + more, day), (events[1:] + more, FIRST + timedelta(days=last))):
        here = made.register(book_of(made, told), on, kept=kept)
        alone = made.register(book_of(made, told), on)
        assert figures(here.crop) == figures(alone.crop)
        assert here.cells == alone.cells
        assert here.permits == alone.permits
        assert made.flags(here) == made.flags(alone)


def test_what_is_kept_of_one_block_serves_no_other(made):
    kept, day = Kept(), FIRST + timedelta(days=DAYS)
    book = book_of(made, [("quadrat", 0, "A01", 60), ("bags", 40, "A01", 160.0)])
    made.register(book, day, kept=kept)
    stricter = made.register(book, day, kept=kept, longest_strand_mm=50)
    alone = made.register(book, day, longest_strand_mm=50)
    assert figures(stricter.crop) == figures(alone.crop)
    assert stricter.crop.cells["A01"].readings != made.register(book, day).crop.cells[
        "A01"].readings
