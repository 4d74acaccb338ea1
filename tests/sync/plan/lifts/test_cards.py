"""A card a lift: no sling too full, every bag on one, labels that nobody used."""

import math
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.picks.lift import bags_per_lift, lifts_of_piles, load_kg
from sync.plan.lifts.cards import cards_of, shared_loads
from sync.plan.lifts.values import ByMachine, Pile, PileLifts, WetBag

ON = date(2026, 1, 28)


def planned(label, bags, sling, wet=None):
    wet = wet or WetBag(88.0, 9.0, ON, 10, 10.0, False, True)
    return PileLifts(Pile(label, 2025, bags, None), ("sack",), wet, sling,
                     lifts_of_piles([bags], sling), None, (), ByMachine(None, None, None))


@given(st.integers(1, 400), st.integers(1, 12))
def test_every_half_bag_hangs_once_and_no_sling_is_fuller_than_it_may_be(halves, sling):
    bags = halves / 2
    loads = shared_loads(bags, lifts_of_piles([bags], sling))

    assert sum(loads) == bags
    assert min(loads) > 0
    assert max(map(math.ceil, loads)) <= sling
    assert max(map(math.ceil, loads)) - min(map(math.ceil, loads)) <= 1


@given(st.integers(1, 200), st.floats(20.0, 150.0), st.floats(0.0, 30.0), st.floats(300.0, 1500.0))
def test_no_card_is_over_the_limit_with_its_chance(bags, kg, sd_kg, limit_kg):
    sling = bags_per_lift(kg, sd_kg, limit_kg=limit_kg)
    if sling == 0:
        return
    wet = WetBag(kg, sd_kg, ON, 10, 10.0, False, True)

    for card in cards_of([planned("K-1", float(bags), sling, wet)], ON, ()):
        assert card.most_kg <= limit_kg * (1 + 1e-12)
        assert card.kg <= card.most_kg


def test_the_story_s_pile_has_eight_lifts_of_six_and_five():
    cards = cards_of([planned("K-1", 46.0, 6)], ON, ())

    assert [card.bags for card in cards] == [6, 6, 6, 6, 6, 6, 5, 5]
    assert [card.number for card in cards] == list(range(1, 9))
    assert cards[0].kg == pytest.approx(528.0)
    assert cards[0].most_kg == pytest.approx(load_kg(6, 88.0, 9.0))


def test_a_card_s_label_was_used_by_no_batch():
    cards = cards_of([planned("K-1", 12.0, 6)], ON, ("L0128-1", "L0128-7", "L0127-30", "L0128-x"))

    assert [card.batch for card in cards] == ["L0128-8", "L0128-9"]


def test_a_pile_whose_bag_may_not_hang_has_no_card():
    piles = [PileLifts(Pile("K-1", 2025, 5.0, None), (), None, None, None, None, (),
                       ByMachine(None, None, None)), planned("K-2", 3.0, 6)]

    assert [(card.pile.label, card.number) for card in cards_of(piles, ON, ())] == [("K-2", 1)]
