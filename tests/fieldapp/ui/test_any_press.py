"""Whatever is pressed, in any order, anywhere: the app goes on and the journal stays sound."""

import random

import pytest

from fieldapp.record import problems

pytestmark = pytest.mark.draws


def one_step(hand, place, chance):
    """Press a key that is there, touch at random, lose or find the place, or let time pass."""
    what = chance.random()
    if what < 0.85:
        hand.wait(0.5)
        face = chance.choice(list(hand.root.faces()))
        touch = hand.touch(face.center_x, face.center_y)
        hand.wait(chance.choice([0.1, 0.15, 0.45, 1.2, 2.1]))
        touch.touch_up()
        hand.wait(0.2)
    elif what < 0.9:
        touch = hand.touch(chance.uniform(0, 360), chance.uniform(0, 568))
        hand.wait(chance.choice([0.05, 0.3]))
        touch.touch_up()
        hand.wait(0.2)
    elif what < 0.94:
        place.go(chance.uniform(-60, 360), chance.uniform(-60, 260),
                 acc_m=chance.choice([3, 9, 28]), age_s=chance.choice([1, 1, 45]))
    elif what < 0.96:
        place.lose()
    elif what < 0.98:
        hand.root.back()
    else:
        hand.wait(chance.choice([5, 70]), step=2)


@pytest.mark.parametrize("seed", range(4))
def test_no_order_of_presses_ends_the_app_or_spoils_the_journal(bench, make_sheet, spot, seed):
    chance = random.Random(seed)
    place = spot()
    hand = bench.open(make_sheet(), at=place)
    for _ in range(120):
        one_step(hand, place, chance)
    records = list(hand.phone.journal.records())
    assert [one["seq"] for one in records] == list(range(1, len(records) + 1))
    assert not [one for one in records if problems(one)]
    counted = hand.phone.tally.by_person(hand.phone.now())
    bench.kill(hand)
    again = bench.open(make_sheet(), at=place)
    assert again.phone.tally.by_person(again.phone.now()) == counted
