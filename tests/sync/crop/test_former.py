"""What is given again of a former day: nothing until that day may be another."""

import dataclasses
from datetime import date, timedelta

import pytest

from sync.crop.former import Dated, Former, first_other_day
from sync.geometry.fresh import Fresh, Piece
from sync.geometry.swept import Swept
from sync.intake.seen import LotSeen, PastPick
from sync.picks.day_bags import DayBags
from sync.picks.kilos import Lot
from sync.picks.sources import WeighedLot

DAY = date(2025, 11, 10)
LATER = DAY + timedelta(days=1)
NOTHING = Dated({}, (), (), {}, (), Swept())


@dataclasses.dataclass(frozen=True)
class On:
    """What happened on a day, and what it says."""

    day: date
    says: int = 0


def past(day, kg):
    return PastPick("shed:1", "A01", day, day, 100.0, kg)


def lot(day, bags, tallied=40.0):
    seen = LotSeen("shed:2", "L-1", LATER, bags, 280.0, ("P-1",))
    return WeighedLot(Lot(bags, 280.0), (seen,), frozenset({("P-1", 2025)}), day, 2025, "sack",
                      tallied)


def swept(day, m2):
    return Swept({"A01": (Fresh(Piece("A01", day, (0.0, "p1"), None, m2), m2),)})


def bags():
    return object.__new__(DayBags)


@pytest.mark.parametrize(("what", "one", "other"), [
    ("bags", {LATER: bags()}, {LATER: bags()}),
    ("bags", {}, {LATER: bags()}),
    ("past", (past(LATER, 1.0),), (past(LATER, 2.0),)),
    ("past", (), (past(LATER, 2.0),)),
    ("lots", (lot(LATER, 40.0),), (lot(LATER, 39.0),)),
    ("lots", (lot(LATER, 40.0),), ()),
    ("quadrats", {"A01": [On(DAY), On(LATER, 1)]}, {"A01": [On(DAY), On(LATER, 2)]}),
    ("quadrats", {}, {"A01": [On(LATER)]}),
    ("clips", (On(DAY), On(LATER, 1)), (On(DAY), On(LATER, 2))),
    # One that came in between shifts those behind it; all of them count.
    ("clips", (On(date.max), On(LATER)), (On(date.max, 1), On(date.max), On(LATER))),
    ("swept", swept(LATER, 1.0), swept(LATER, 2.0)),
    ("swept", Swept(), swept(LATER, 2.0)),
])
def test_the_first_day_on_which_anything_is_another_is_found(what, one, other):
    first, second = (dataclasses.replace(NOTHING, **{what: each}) for each in (one, other))

    assert first_other_day(first, second) == first_other_day(second, first) == LATER
    assert first_other_day(first, first) == first_other_day(second, second) == date.max


def test_bags_laid_on_a_pile_later_make_its_lot_no_other():
    one, other = (dataclasses.replace(NOTHING, lots=(lot(DAY, 40.0, tallied),))
                  for tallied in (40.0, 60.0))
    assert first_other_day(one, other) == date.max


def test_only_days_before_the_first_other_are_given_again():
    former, asked = Former(), []

    def ask(of, until):
        return former.give(of, until, until, lambda: asked.append(until) or len(asked))

    one, other = (dataclasses.replace(NOTHING, clips=(On(LATER, says),)) for says in (1, 2))
    ask(one, DAY), ask(one, LATER), ask(one, LATER)
    former.turn()
    ask(other, DAY), ask(other, LATER)
    assert asked == [DAY, LATER, LATER]


def test_what_the_last_turn_did_not_ask_for_is_forgotten():
    former, asked = Former(), []
    for until in (DAY, LATER, DAY):
        former.give(NOTHING, until, until, lambda until=until: asked.append(until))
        former.turn()
    assert asked == [DAY, LATER, DAY]


def test_a_turn_serves_the_first_that_asks_alone():
    former, other = Former(), dataclasses.replace(NOTHING, past=(past(DAY, 1.0),))
    assert former.give(NOTHING, DAY, "A01", lambda: 1) == 1
    assert former.give(other, DAY, "A01", lambda: 2) == 2
    assert former.give(NOTHING, DAY, "A01", lambda: 3) == 1
