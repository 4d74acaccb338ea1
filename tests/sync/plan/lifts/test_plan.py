"""The lifts of a day: slings and lifts of G20 from real records, order, hazards, cost."""

import math

import pytest

from sync.block import Costs
from sync.errors import SettingsError
from sync.plan.lifts.plan import lift_cost, plan_lifts
from sync.plan.lifts.values import Hazard

PILES = {"K-1": 37, "K-2": 52, "K-3": 48}


def piles_of(scale):
    for label, bags in PILES.items():
        scale.pile(label, bags)
    return [scale.at(label, bags) for label, bags in PILES.items()]


@pytest.mark.parametrize(("kg", "sling", "lifts"), [(95.0, 6, (7, 9, 8)), (118.0, 5, (8, 11, 10))])
def test_the_golden_slings_and_lifts_come_out_of_records(scale, ten, kg, sling, lifts):
    piles = piles_of(scale)
    scale.weigh(ten(kg, 12.0))

    plan = plan_lifts(scale.register(), piles, ())

    assert [(one.sling, one.lifts) for one in plan.piles] == [(sling, n) for n in lifts]
    assert len(plan.lifts) == sum(lifts)
    assert plan.bags == sum(card.bags for card in plan.lifts) == 137


def test_the_limit_asked_for_stands_before_the_block_s(scale, ten):
    piles = piles_of(scale)
    scale.weigh(ten(95.0, 12.0))
    register = scale.register()

    assert plan_lifts(register, piles, (), limit_kg=340.0).piles[0].sling == 3
    assert plan_lifts(register, piles, (), limit_kg=340.0).limit_asked
    assert not plan_lifts(register, piles, ()).limit_asked


def test_without_any_limit_it_says_where_to_write_one(scale):
    with pytest.raises(SettingsError, match=r"\[lifts\] hook_limit_kg.*--limit-kg"):
        plan_lifts(scale.register(limit_kg=None), [], ())


def test_without_a_weighing_there_is_no_sling_but_the_pile_is_told(scale):
    plan = plan_lifts(scale.register(), piles_of(scale), ())

    assert [(one.wet, one.sling, one.lifts, one.cost) for one in plan.piles] == [
        (None, None, None, None)] * 3
    assert plan.lifts == ()
    assert plan.bags == 137


def test_a_bag_over_the_limit_hangs_on_no_hook(scale, ten):
    piles = piles_of(scale)
    scale.weigh(ten(95.0, 12.0))

    plan = plan_lifts(scale.register(), piles, (), limit_kg=100.0)

    assert {(one.sling, one.lifts) for one in plan.piles} == {(0, None)}
    assert plan.lifts == ()


def test_piles_come_in_a_short_round_from_the_gate_and_those_nobody_marked_last(scale):
    piles = [scale.at("far", 1, 150, 280), scale.at("a-lost", 1), scale.at("near", 1, 140, 30),
             scale.at("middle", 1, 160, 150)]

    plan = plan_lifts(scale.register(), piles, ())

    order = [one.pile.label for one in plan.piles]
    assert order[-1] == "a-lost"
    assert order[:3] in (["near", "middle", "far"], ["near", "far", "middle"])
    assert order.index("near") == 0


def test_hazards_near_a_pile_or_the_landing_are_told_with_their_distance(scale, mire):
    hazards = [Hazard("wire", mire.latlon(100, 130)), Hazard("pool", mire.latlon(100, 149)),
               Hazard("far", mire.latlon(100, 151)), Hazard("pole", mire.latlon(160, -20))]

    plan = plan_lifts(scale.register(), [scale.at("K-1", 5, 100, 100)], hazards)

    ((near, pool),) = (one.hazards for one in plan.piles)
    assert (near[0], pool[0]) == ("wire", "pool")
    assert near[1] == pytest.approx(30.0, abs=0.01)
    ((name, metres),) = plan.landing_hazards
    assert (name, round(metres)) == ("pole", 10)


@pytest.mark.parametrize(("costs", "cost"), [
    (Costs(lift_each=95.0), 760.0),
    (Costs(lift_minute=30.0, lift_minutes=4.0), 960.0),
    (Costs(lift_each=95.0, lift_minute=30.0, lift_minutes=4.0), 760.0),
    (Costs(lift_minute=30.0), None),
    (Costs(), None),
])
def test_lifts_cost_what_the_owner_s_rate_says(costs, cost):
    assert lift_cost(costs, 8) == cost
    assert lift_cost(costs, None) is None


def test_what_is_planned_is_what_a_plain_count_gives(scale, ten):
    piles = piles_of(scale)
    scale.weigh(ten(95.0, 12.0))

    plan = plan_lifts(scale.register(), piles, ())

    for one in plan.piles:
        mine = [card for card in plan.lifts if card.pile is one.pile]
        assert len(mine) == math.ceil(one.pile.bags / one.sling) == one.lifts
        assert one.cost == 95.0 * one.lifts
