import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.errors import SurveyError
from sync.picks.lift import bags_per_lift, lifts_of_piles, load_kg

WEIGHTS = st.floats(1.0, 200.0)


def test_the_hook_takes_the_printed_bags_and_the_piles_the_printed_lifts(printed, agrees):
    case = printed["lift"]
    for wet_kg, bags, load, over, lifts in case["cases"]:
        assert bags_per_lift(wet_kg, case["sd_kg"], limit_kg=case["limit_kg"]) == bags
        assert agrees(load_kg(bags, wet_kg, case["sd_kg"]), load)
        if over:
            assert agrees(load_kg(bags + 1, wet_kg, case["sd_kg"]), over)
        assert lifts_of_piles(case["piles"], bags) == lifts


def test_a_sling_is_not_loaded_from_two_piles(printed):
    case = printed["lift"]
    piles, bags = case["piles"], case["cases"][0][1]

    assert lifts_of_piles([sum(piles)], bags) == case["lifts_of_all_bags_together"]
    assert lifts_of_piles(piles, bags) > case["lifts_of_all_bags_together"]


def test_bags_all_alike_are_plain_division():
    assert bags_per_lift(65.0, 0.0, limit_kg=650.0) == 10
    assert bags_per_lift(65.1, 0.0, limit_kg=650.0) == 9


def test_a_limit_met_exactly_is_kept():
    assert bags_per_lift(10.0, 2.0, limit_kg=load_kg(9, 10.0, 2.0)) == 9


def test_a_bag_that_may_be_too_heavy_hangs_on_no_hook():
    assert bags_per_lift(95.0, 12.0, limit_kg=100.0) == 0
    with pytest.raises(SurveyError):
        lifts_of_piles([5.0], 0)


def test_a_part_of_a_bag_takes_a_place_and_an_empty_pile_no_lift():
    assert lifts_of_piles([6.0, 6.5, 0.5, 0.0], 6) == 1 + 2 + 1
    assert lifts_of_piles([], 6) == 0


@given(WEIGHTS, st.floats(0.0, 60.0), st.floats(10.0, 5000.0))
def test_one_more_bag_would_be_too_many(wet_kg, sd_kg, limit_kg):
    bags = bags_per_lift(wet_kg, sd_kg, limit_kg=limit_kg)

    assert load_kg(bags + 1, wet_kg, sd_kg) > limit_kg
    assert bags == 0 or load_kg(bags, wet_kg, sd_kg) <= limit_kg


@given(st.integers(1, 60), WEIGHTS, st.floats(0.0, 60.0))
def test_the_weight_of_so_many_bags_as_a_limit_gives_so_many(bags, wet_kg, sd_kg):
    assert bags_per_lift(wet_kg, sd_kg, limit_kg=load_kg(bags, wet_kg, sd_kg)) == bags


def test_a_tiny_bag_does_not_hang_the_run():
    assert bags_per_lift(1e-20, 0.0, limit_kg=650.0) > 10**22


@pytest.mark.parametrize(
    ("wet_kg", "sd_kg", "limit_kg", "z"),
    [(0.0, 1.0, 650.0, 1.6), (-5.0, 1.0, 650.0, 1.6), (95.0, -1.0, 650.0, 1.6),
     (95.0, 1.0, 0.0, 1.6), (95.0, 1.0, 650.0, -1.6), (math.nan, 1.0, 650.0, 1.6),
     (95.0, math.inf, 650.0, 1.6), (95.0, 1.0, math.inf, 1.6)],
)
def test_weights_that_are_none_are_refused(wet_kg, sd_kg, limit_kg, z):
    with pytest.raises(SurveyError):
        bags_per_lift(wet_kg, sd_kg, limit_kg=limit_kg, z=z)
