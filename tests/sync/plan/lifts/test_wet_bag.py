"""What a wet bag weighs: the last day, the pile's own bags where there are enough, its types."""

from datetime import date, timedelta
from statistics import NormalDist, fmean, stdev

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.block import BagType
from sync.picks.lift import bags_per_lift
from sync.plan.lifts.wet_bag import bag_sd_kg, types_by_pile, weighings_of, wet_bag_of
from sync.settings import Tunables

KG = st.floats(20.0, 200.0)


def wet(register, pile):
    types = types_by_pile(register).get((pile.label, pile.season), frozenset())
    return wet_bag_of(pile, types, weighings_of(register), register.tunables)


def test_bags_weighed_one_by_one_have_their_standard_deviation():
    kg = [88, 102, 78, 96, 80, 74, 98, 90, 86, 88]

    assert bag_sd_kg([(1, one) for one in kg]) == pytest.approx(stdev(kg))


def test_bags_weighed_together_tell_the_spread_of_one_by_hand():
    # w = 454/5 = 90.8; (190 - 181.6)^2/2 + (264 - 272.4)^2/3 = 35.28 + 23.52 = 58.8
    assert bag_sd_kg([(2, 190.0), (3, 264.0)]) == pytest.approx(58.8**0.5)


@given(st.lists(KG, min_size=2, max_size=20), st.floats(0.1, 10.0))
def test_the_spread_goes_with_the_scale_s_unit(kg, unit):
    assert bag_sd_kg([(1, unit * one) for one in kg]) == pytest.approx(
        unit * bag_sd_kg([(1, one) for one in kg]), rel=1e-6, abs=1e-4)


def test_the_last_day_counts_and_days_are_never_mixed(scale, ten, day_after):
    scale.pile("K-1", 46)
    scale.weigh(ten(88, 9))
    scale.weigh(ten(112, 13), day=day_after(3))

    before, after = (wet(scale.register(day_after(days)), scale.at("K-1", 46)) for days in (2, 3))

    assert (before.kg, before.sd_kg) == (pytest.approx(88.0), pytest.approx(9.0))
    assert (before.weighings, before.bags, before.assumed) == (10, 10.0, False)
    assert (after.kg, after.sd_kg, after.day) == (
        pytest.approx(112.0), pytest.approx(13.0), day_after(3))


def test_a_pile_s_own_bags_count_alone_where_enough_were_weighed(scale, ten):
    for label in ("K-1", "K-2", "K-3"):
        scale.pile(label, 46)
    scale.weigh(ten(88, 9))
    scale.weigh([100.0] * 4, "K-2")
    register = scale.register()

    own, few, none = (wet(register, scale.at(label, 46)) for label in ("K-1", "K-2", "K-3"))

    assert (own.kg, own.own, own.weighings) == (pytest.approx(88.0), True, 10)
    for one in (few, none):
        assert (one.kg, one.own, one.weighings) == (pytest.approx(1280 / 14), False, 14)
        assert [label for label, _ in one.piles] == ["K-1", "K-2"]
    assert [label for label, _ in own.piles] == ["K-1"]


def test_2026_11_28_a_weighing_of_no_pile_names_none(scale, ten):
    scale.pile("K-1", 46)
    scale.weigh(ten(88, 9), "somewhere")

    found = wet(scale.register(), scale.at("K-1", 46))

    assert (found.weighings, found.own, found.piles) == (10, False, ())


def test_too_few_weighings_take_the_assumed_spread(scale):
    scale.pile("K-1", 46)
    scale.weigh([90.0, 92.0, 91.0])

    found = wet(scale.register(), scale.at("K-1", 46))

    assert found.assumed
    assert found.sd_kg == pytest.approx(Tunables().cv_bag * 91.0)


def test_what_arrived_has_lost_water_and_what_hung_on_the_hook_counts(scale, day_after):
    scale.pile("K-1", 46)
    scale.weigh([500.0] * 6, stage="lifted", bags=5)
    scale.weigh([70.0] * 6, stage="arrived", day=day_after(1))

    found = wet(scale.register(day_after(1)), scale.at("K-1", 46))

    assert (found.kg, found.bags, found.sd_kg) == (100.0, 30.0, 0.0)


def test_a_tally_with_its_wet_weight_counts_too(scale):
    scale.pile("K-1", 40, wet_kg=3600.0)

    found = wet(scale.register(), scale.at("K-1", 40))

    assert (found.kg, found.weighings, found.own) == (90.0, 1, True)


def test_bags_of_another_type_tell_nothing(scale, ten):
    types = (BagType("sack", 90.0, 7.0), BagType("bale", 180.0, 15.0))
    scale.pile("K-1", 20)
    scale.pile("K-2", 20, type="bale")
    scale.weigh(ten(88, 9))
    register = scale.register(bags=types)

    assert wet(register, scale.at("K-2", 20)) is None
    assert wet(register, scale.at("K-1", 20)).kg == pytest.approx(88.0)


def test_without_a_weighing_nothing_is_said(scale):
    scale.pile("K-1", 46)

    assert wet(scale.register(), scale.at("K-1", 46)) is None


def test_a_weighing_of_after_the_season_s_turn_still_tells_of_its_pile(scale, ten, day_after):
    scale.pile("K-1", 46)
    scale.pile("K-2", 46)
    turn = day_after(230)
    scale.weigh(ten(88, 9), day=turn)
    scale.weigh(ten(120, 9), "K-2", day=turn)
    register = scale.register(turn + timedelta(days=1))

    assert wet(register, scale.at("K-1", 46)).kg == pytest.approx(88.0)


def test_2026_11_28_a_weighing_tells_of_the_pile_there_was_by_its_day(scale, ten, day_after):
    """Weighed in July off last season's pile; in November the label is used again."""
    scale.pile("K-1", 46)
    scale.weigh(ten(88, 9), day=day_after(230))
    scale.pile("K-1", 12, day=day_after(345))
    register = scale.register(day_after(346))

    assert wet(register, scale.at("K-1", 46)).own
    assert not wet(register, scale.at("K-1", 12, season=2026)).own


def test_2026_11_28_a_weighing_of_a_pile_over_the_season_s_turn_tells_of_all_of_it(scale, ten):
    scale.pile("K-9", 7, day=date(2026, 6, 29))
    scale.pile("K-9", 5, day=date(2026, 7, 2))
    scale.weigh(ten(88, 9), "K-9", day=date(2026, 7, 4))
    register = scale.register(date(2026, 7, 5))

    for season in (2025, 2026):
        assert wet(register, scale.at("K-9", 5, season=season)).own


def test_loads_of_ten_weighings_are_over_the_limit_less_often_than_it_allows(ten_bags):
    """Made-up bags of known weight: the share of loads over is worked out, not drawn."""
    over = [over_limit(bags, limit_kg) for bags, limit_kg in ten_bags]

    assert fmean(over) < 0.05


TRUE_KG, TRUE_SD_KG = 112.0, 13.0


@pytest.fixture
def ten_bags():
    rng = np.random.default_rng(1)
    return [(rng.normal(TRUE_KG, TRUE_SD_KG, 10), float(rng.uniform(500, 800)))
            for _ in range(2000)]


def over_limit(bags, limit_kg):
    sd_kg = bag_sd_kg([(1, float(one)) for one in bags])
    sling = bags_per_lift(float(bags.mean()), sd_kg, limit_kg=limit_kg)
    return 1.0 - NormalDist(sling * TRUE_KG, TRUE_SD_KG * sling**0.5).cdf(limit_kg)
