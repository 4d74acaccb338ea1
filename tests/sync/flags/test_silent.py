"""Who went out and of whom no end is known: by days, whatever the clock says now."""

from datetime import UTC, date, datetime, timedelta

import pytest

from sync.disk.load import load_inputs
from sync.flags.raised import flags_of
from sync.register.build import build

OUT = datetime(2025, 11, 10, 8, tzinfo=UTC)
NEXT = date(2025, 11, 11)
NAME = "silent_phone:p1-aaaa:2025"


@pytest.fixture
def p1(mire):
    """A phone that went out, tallied until 11 o'clock, and was heard of no more."""
    book = mire.Book("p1-aaaa")
    book.note("outing", OUT, state="start", role="picker")
    for i in range(1, 4):
        book.note("bag", OUT + timedelta(hours=i), bags=1, where=mire.where(150, 150))
    return book


def silent(mire, book, on=NEXT):
    return mire.flags(mire.register(book, on), "silent_phone")


def test_an_outing_without_an_end_is_told_once_the_next_noon_has_passed(mire, p1):
    assert silent(mire, p1, OUT.date()) == {}
    flag = silent(mire, p1)[NAME]
    assert flag.figures == {"since": OUT + timedelta(hours=3), "began": OUT}
    assert flag.records == ("p1-aaaa:1", "p1-aaaa:4")
    assert (flag.about, flag.cell, flag.probability, flag.how_sure) == (
        "p1-aaaa", None, None, "sure")
    assert "2025-11-10 08:00" in flag.why
    assert "last record 2025-11-10 11:00" in flag.why


def test_it_stays_told_in_the_season_of_the_outing(mire, p1):
    assert list(silent(mire, p1, date(2027, 3, 1))) == [NAME]


@pytest.mark.parametrize("state", ["end", "start"])
def test_an_end_or_a_new_start_ends_the_outing(mire, p1, state):
    p1.note("outing", OUT + timedelta(hours=5), state=state, role="picker", finished=[])
    p1.note("outing", OUT + timedelta(hours=6), state="end", finished=[])
    assert silent(mire, p1) == {}


@pytest.mark.parametrize("states", [["pause"], ["pause", "resume"]])
def test_a_pause_is_no_end(mire, p1, states):
    for i, state in enumerate(states):
        p1.note("outing", OUT + timedelta(hours=5 + i), state=state)
    flag = silent(mire, p1)[NAME]
    assert flag.figures["began"] == OUT
    assert flag.figures["since"] == OUT + timedelta(hours=4 + len(states))


def test_an_end_the_next_day_is_not_known_on_the_evening_before_it_but_on_its_own_day(mire, p1):
    p1.note("outing", OUT + timedelta(days=2), state="end", finished=[])
    assert list(silent(mire, p1, NEXT)) == [NAME]
    assert silent(mire, p1, NEXT + timedelta(days=1)) == {}


def test_an_end_that_came_late_clears_the_day_it_is_of(mire, p1):
    whole = list(p1.kept)
    p1.note("outing", OUT + timedelta(hours=8), state="end", finished=[])
    ended, p1.kept = list(p1.kept), whole
    assert list(silent(mire, p1)) == [NAME]
    p1.kept = ended
    assert silent(mire, p1) == {}


def test_a_start_that_never_came_leaves_what_did(mire, p1):
    p1.note("outing", OUT + timedelta(hours=4), state="pause")
    p1.kept = p1.kept[1:]
    assert silent(mire, p1)[NAME].figures["began"] == OUT + timedelta(hours=4)


def test_of_many_outings_the_last_is_told(mire, p1):
    p1.note("outing", OUT + timedelta(hours=8), state="end", finished=[])
    p1.note("outing", OUT + timedelta(days=3), state="start", role="picker")
    assert silent(mire, p1, NEXT) == {}
    assert silent(mire, p1, date(2025, 11, 13)) == {}
    assert silent(mire, p1, date(2025, 11, 14))[NAME].figures["began"] == OUT + timedelta(days=3)


@pytest.mark.parametrize("device", ["gpx-0a1b2c3d", "form-aaaa", "form-tally7", "shed"])
def test_a_receiver_a_form_and_the_shed_never_fall_silent(mire, device):
    book = mire.Book(device)
    book.note("outing", OUT, state="start", role="picker")
    assert silent(mire, book) == {}


def test_each_phone_is_told_by_itself(mire, p1):
    p2 = mire.Book("p2-bbbb")
    p2.note("outing", OUT, "RK", state="start", role="surveyor")
    assert list(silent(mire, [p1, p2])) == [NAME, "silent_phone:p2-bbbb:2025"]


def test_days_are_the_blocks_own(small):
    block = small()
    phone = block.phone("p1")
    # 9 o'clock on the 11th at the block.
    phone.note("outing", datetime(2025, 11, 10, 20, tzinfo=UTC), state="start", role="picker",
               where=None)
    block.take({"a.handover.zip": phone.pack()})
    inputs = load_inputs(block.folder)
    told = [[flag.name for flag in flags_of(build(inputs, on=date(2025, 11, day)))
             if flag.rule == "silent_phone"] for day in (10, 11, 12)]
    assert told == [[], [], [NAME]]
