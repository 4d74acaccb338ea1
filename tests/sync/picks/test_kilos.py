import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.errors import SurveyError
from sync.picks.kilos import KgPerBag, Lot, count_kg, kg_per_bag, lot_share_kg
from sync.settings import Tunables

TUNABLES = Tunables()
LOTS = st.builds(Lot, st.floats(1, 300), st.floats(1, 3000))


def test_three_lots_teach_the_weight_of_a_bag(kappa, printed, agrees):
    figures = printed["bags"]

    assert agrees(kappa.kg, figures["kg"])
    assert agrees(kappa.bag_variance, figures["bag_variance"])
    assert agrees(kappa.variance, figures["variance"])
    assert agrees(math.sqrt(kappa.variance), figures["sd"])
    assert (kappa.lots, kappa.assumed) == (3, False)


def test_one_lot_leans_on_the_assumed_spread_of_bags(printed, agrees):
    one = kg_per_bag([Lot(40, 262.0)], owners_kg=7.0, tunables=TUNABLES)
    figures = printed["bags"]["one_lot"]

    assert agrees(one.kg, figures["kg"])
    assert agrees(one.bag_variance, figures["bag_variance"])
    assert agrees(math.sqrt(one.variance), figures["sd"])


def test_without_a_lot_the_owners_figure_stands_and_is_called_assumed(printed, agrees):
    figures = printed["bags"]["no_lot"]
    none = kg_per_bag([], owners_kg=figures["owners_kg"], tunables=TUNABLES)

    assert none.kg == figures["owners_kg"]
    assert agrees(math.sqrt(none.variance), figures["sd"])
    assert none.bag_variance == pytest.approx(3.5**2)
    assert (none.lots, none.assumed) == (0, True)


def test_one_lot_without_any_prior_still_has_a_spread():
    one = kg_per_bag([Lot(40, 262.0)], owners_kg=7.0, tunables=Tunables(bag_df=0.0))

    assert one.bag_variance == pytest.approx((0.5 * 6.55) ** 2)


def test_the_error_of_many_bags_is_mostly_the_error_of_the_mean_bag(kappa, printed, agrees):
    kg, variance = count_kg(300, kappa)
    figures = printed["bags"]["three_hundred"]

    assert agrees(kg, figures["kg"])
    assert agrees(math.sqrt(variance), figures["sd"])
    assert agrees(math.sqrt(300 * kappa.bag_variance), figures["sd_if_independent"])


def test_eighteen_bags_by_count(kappa, printed, agrees):
    kg, variance = count_kg(18, kappa)
    figures = printed["bags"]["eighteen"]

    assert agrees(kg, figures["kg"])
    assert agrees(variance, figures["variance"])
    assert agrees(math.sqrt(variance), figures["sd"])


def test_the_whole_of_a_lot_has_its_weight_and_no_error(kappa):
    assert lot_share_kg(40, Lot(40, 262.0), kappa) == (262.0, 0.0)


def test_half_of_a_lot_weighs_half_and_is_less_sure(kappa):
    kg, variance = lot_share_kg(20, Lot(40, 262.0), kappa)

    assert kg == 131.0
    assert variance == pytest.approx(20 * 0.5 * kappa.bag_variance)


@pytest.mark.parametrize("bags_here", [40.5, -1.0, math.nan])
def test_no_more_bags_come_out_of_a_lot_than_went_in(kappa, bags_here):
    with pytest.raises(SurveyError, match="bags_here"):
        lot_share_kg(bags_here, Lot(40, 262.0), kappa)


@pytest.mark.parametrize("lot", [Lot(0, 10.0), Lot(10, 0.0), Lot(10, math.nan)])
def test_an_empty_lot_is_refused(kappa, lot):
    with pytest.raises(SurveyError, match="above 0"):
        kg_per_bag([lot], owners_kg=7.0, tunables=TUNABLES)
    with pytest.raises(SurveyError, match="above 0"):
        lot_share_kg(0.0, lot, kappa)


@given(st.lists(LOTS, min_size=1, max_size=8))
def test_the_mean_bag_lies_between_the_lots(lots):
    mean = kg_per_bag(lots, owners_kg=7.0, tunables=TUNABLES).kg
    own = [lot.dry_kg / lot.bags for lot in lots]

    assert min(own) * (1 - 1e-9) <= mean <= max(own) * (1 + 1e-9)


@given(LOTS, st.floats(0, 1))
def test_the_parts_of_a_lot_add_up_and_are_equally_unsure(lot, part):
    kappa = KgPerBag(6.0, 0.1, 9.0, 3, False)
    here, here_variance = lot_share_kg(part * lot.bags, lot, kappa)
    there, there_variance = lot_share_kg(lot.bags - part * lot.bags, lot, kappa)

    assert here + there == pytest.approx(lot.dry_kg)
    assert here_variance == pytest.approx(there_variance, abs=1e-9)
