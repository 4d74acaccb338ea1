"""A register that has what former ones left is the one built alone, to the last byte."""

import dataclasses
import threading
from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sync.block import Permit, Rule
from sync.crop import base
from sync.crop.befores import Befores
from sync.crop.chain import chain
from sync.crop.kept import Kept
from sync.geometry.fresh import Fresh, Piece
from sync.geometry.swept import Swept
from sync.plan.watched import watched_of
from sync.report.document import register_document, register_json

#: Few days and cells, so that picks, rests, readings and lots fall upon one another.
FIRST, STEP, STEPS = date(2022, 7, 5), 25, 50
CELL = st.sampled_from(["A01", "A02", "B02"])
DAY = st.integers(0, STEPS)
EVENT = st.one_of(
    st.tuples(st.just("bags"), DAY, CELL, st.sampled_from([3.0, 80.0, 320.0])),
    st.tuples(st.just("bags"), DAY, CELL, st.sampled_from([3.0, 80.0, 320.0])),
    st.tuples(st.just("quadrat"), DAY, CELL, st.integers(1, 100)),
    st.tuples(st.just("quadrat"), DAY, CELL, st.integers(1, 100)),
    st.tuples(st.just("again"), DAY, CELL, st.integers(1, 100)),
    st.tuples(st.just("dried"), DAY, CELL, st.sampled_from([20, 300, 900])),
    st.tuples(st.just("walked"), DAY, CELL, st.just(0)),
    st.tuples(st.just("typed"), DAY, CELL, st.sampled_from([None, 500.0])),
    st.tuples(st.just("sprayed"), DAY, CELL, st.just(0)),
)
EVENTS = st.lists(EVENT, min_size=8, max_size=24)


@pytest.fixture(scope="module")
def block(made):
    permit = Permit("TM-1", (), None, None, (7, 1), 3000.0, "kg_dry", None, None, None, None, None)
    return made.mire(rules=(Rule(None, 12, 5.0, 40.0, 30.0),), permits=(permit,))


def books_of(made, events):
    """Note the events, each under numbers of its own, whatever the others are."""
    shed, phone = made.Book(), made.Book("p1-aaaa")
    for number, event in enumerate(events):
        before = len(shed.kept), len(phone.kept)
        if event is not None:
            note(made, shed, phone, number, event)
        for book, count in zip((shed, phone), before, strict=True):
            for place, record in enumerate(book.kept[count:]):
                record["seq"] = 100 * number + place + 1
    return [book for book in (shed, phone) if book.kept]


def note(made, shed, phone, number, event):
    what, step, cell, value = event
    day = FIRST + timedelta(days=STEP * step)
    if what == "bags":
        shed.bags(day, cell, value, pile=f"P-{cell}")
    elif what == "quadrat":
        shed.quadrat(day, cell, value)
    elif what == "again":
        shed.again(day, cell, value)
    elif what == "dried":
        shed.dried(day, f"L{number}", value, 6.5 * value + number, pile=f"P-{cell}")
    elif what == "walked":
        x = 100.0 * "ABC".index(cell[0]) + 50.0
        made.stood(phone, datetime.combine(day, time(8), UTC), x, cell=cell)
    elif what == "typed":
        shed.note("past_pick", day, "O", cell=cell, **{"from": day.isoformat(),
                  "to": (day + timedelta(days=2)).isoformat(), "dry_kg": value})
    elif what == "sprayed":
        shed.note("work", day, "O", what="sprayed", cells=[cell], hold_days=30)


def told(made, register):
    """All that a register says: its bytes, what is watched, and cells before their picks."""
    flags = tuple(made.flags(register).values())
    befores = Befores(register.known)
    before = [
        (found.open_m2, found.rule, found.picks, found.takings, found.readings, found.growth,
         repr(found.walked))
        for cell, one in register.crop.cells.items() for pick in one.picks
        if (found := befores.cell(cell, register.grounds.on(pick.made.first),
                                  until=pick.made.first - timedelta(days=1),
                                  rules_of=pick.made.first)) is not None]
    return (register_json(register_document(register, flags)), repr(watched_of(register)), before,
            [one.picks for one in register.crop.cells.values()])


@settings(max_examples=30, deadline=None)
@given(events=EVENTS, changes=st.lists(
    st.tuples(st.integers(0, 23), st.one_of(st.none(), EVENT), st.integers(0, 1)),
    min_size=1, max_size=3))
def test_register_after_register_says_what_it_says_alone(made, block, events, changes):
    """One thing after another comes, is gone, or is another; the day goes on or stays."""
    kept, step = Kept(), STEPS + 2
    for place, event, steps in (None, None, 0), *changes:
        if place is not None:
            events = [*events[:place], event, *events[place + 1:]]
            step += steps
        on, books = FIRST + timedelta(days=STEP * step), books_of(made, events)
        if not books:
            continue
        here = told(made, made.register(books, on, block, kept=kept))
        assert here == told(made, made.register(books, on, block))


READ = [("quadrat", 0, "A01", 60), ("quadrat", 0, "A02", 60), ("quadrat", 5, "A01", 5)]
LAST, FORMER = ("bags", 8, "A02", 320.0), ("bags", 4, "A01", 320.0)
GONE = [*READ, LAST, FORMER]


@pytest.mark.parametrize("lists", [
    (GONE, [*READ, LAST]),
    (READ, GONE),
    (GONE, [*GONE, ("sprayed", 4, "A01", 0)]),
    (GONE, [*GONE, ("walked", 4, "A01", 0)]),
    (GONE, [*READ, ("bags", 8, "A02", 160.0), FORMER]),
    *((  # both cells have come back; what one of them teaches is another
        [*GONE, ("quadrat", 24, "A01", 40), ("quadrat", 24, "A02", 45)],
        [*GONE, ("quadrat", 24, "A01", 40), ("quadrat", 24, "A02", cover)]) for cover in (30, 90)),
], ids=["a rest is gone", "rests came", "ground was held", "somebody walked there",
        "less was picked", "less came back", "more came back"])
def test_what_comes_late_of_former_days_is_told_as_if_it_had_been_there(made, block, lists):
    """Picks of a later day are judged by it: a reading at rest, and the ground of that day."""
    kept, on = Kept(), FIRST + timedelta(days=STEP * 26)
    said = []
    for events in lists:
        books = books_of(made, events)
        said.append(told(made, made.register(books, on, block, kept=kept)))
        assert said[-1] == told(made, made.register(books, on, block))
    assert said[0] != said[1]


def test_ground_swept_otherwise_is_judged_anew(made):
    """The share of a cell that hands went over tells a touch from a pick."""
    on = FIRST + timedelta(days=STEP * 10)
    found = made.register(books_of(made, GONE), on)
    day = found.crop.cells["A01"].picks[0].made.first
    fresh = Fresh(Piece("A01", day, (0.0, "p1"), None, 5000.0), 5000.0)
    more = dataclasses.replace(found.known, swept=Swept({"A01": (fresh,)}))

    found.known.kept.turn()
    shares = [chain(known, found.crop.ground, until=on).cells["A01"].picks[0].swept_share
              for known in (more, found.known)]
    assert shares == [pytest.approx(0.5, rel=0.01), None]
    before = Befores(more).cell("A01", found.crop.ground, until=day)
    assert before.picks[0].swept_share == pytest.approx(0.5, rel=0.01)


def test_2026_11_28_a_class_half_judged_by_one_thread_serves_no_other(made, monkeypatch):
    """A plan of the last register was still judging picks: the next one took its classes."""
    def book_with(cell):
        book = made.Book()
        for day, covers in ((date(2024, 8, 1), (60, 20, 45)), (date(2025, 8, 1), (50, 15, 40))):
            for at, cover in zip(("A01", "A02", "A03"), covers, strict=True):
                for more in range(4):
                    book.quadrat(day, at, cover + more)
            if day.year == 2024:
                book.bags(date(2024, 9, 10), cell, 40.0)
        return book

    on, kept = date(2025, 9, 1), Kept()
    before = made.register(book_with("A01"), on, kept=kept)
    real, weights = base.judged_picks, base.weights_until
    began, told, planned = threading.Event(), threading.Event(), threading.Event()

    def plan():
        chain(before.known, before.grounds.on(on), until=on, rules_of=date(2026, 1, 1))
        planned.set()

    plans = threading.Thread(target=plan)

    def judged(*args):
        if threading.current_thread() is plans:
            began.set()
            told.wait(20)
            return real(*args)
        found = real(*args)
        told.set()
        planned.wait(20)
        return found

    def begun(known, until):
        if threading.current_thread() is not plans and not began.is_set():
            plans.start()
            began.wait(20)
        return weights(known, until)

    monkeypatch.setattr(base, "judged_picks", judged)
    monkeypatch.setattr(base, "weights_until", begun)
    here = made.register(book_with("A02"), on, kept=kept)
    plans.join()
    monkeypatch.undo()
    assert planned.is_set()
    alone = made.register(book_with("A02"), on)
    assert register_json(register_document(here, ())) == register_json(
        register_document(alone, ()))
