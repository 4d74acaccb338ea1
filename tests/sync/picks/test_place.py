from statistics import NormalDist

import pytest

from sync.errors import SurveyError
from sync.picks.groups import GroupShare, group_variance
from sync.picks.kilos import Lot, count_kg
from sync.picks.place import cell_bags, cell_kg, cell_kg_of_lot, place_variance
from sync.settings import R68_PER_SIGMA


@pytest.fixture
def chance_west(printed):
    sigma = printed["border"]["r68_m"] / R68_PER_SIGMA
    return NormalDist(0.0, sigma).cdf(-printed["border"]["east_of_border_m"])


def test_a_bag_near_a_border_is_shared_between_both_cells(kappa, printed, agrees, chance_west):
    figures = printed["border"]

    assert agrees(chance_west, figures["chance_west"])
    assert agrees(cell_kg([GroupShare(1, chance_west)], kappa)[0], figures["west_kg"])
    assert agrees(cell_kg([GroupShare(1, 1 - chance_west)], kappa)[0], figures["east_kg"])


def test_three_bags_of_one_group_are_right_or_wrong_together(
    kappa, printed, agrees, chance_west
):
    together = group_variance(GroupShare(3, chance_west), kappa.kg)
    apart = 3 * group_variance(GroupShare(1, chance_west), kappa.kg)

    assert agrees(together, printed["border"]["one_group_of_three"])
    assert agrees(apart, printed["border"]["three_groups_of_one"])


def test_a_bag_follows_the_picking_time_along_the_track(kappa, printed, agrees):
    figures = printed["border"]
    whole = sum(figures["picking_min"])
    for minutes, share, kg in zip(
        figures["picking_min"], figures["shares"], figures["track_kg"], strict=True
    ):
        assert agrees(minutes / whole, share)
        assert agrees(cell_kg([GroupShare(1, minutes / whole, 0.0)], kappa)[0], kg)


def test_the_variance_of_a_cell_is_of_weight_and_of_place(kappa):
    groups = [GroupShare(3, 0.8), GroupShare(2, 0.5, 0.02)]
    kg, variance = cell_kg(groups, kappa)
    of_weight = count_kg(3.4, kappa)[1]

    assert cell_bags(groups) == pytest.approx(3.4)
    assert kg == pytest.approx(3.4 * kappa.kg)
    assert variance == pytest.approx(of_weight + kappa.kg**2 * (9 * 0.16 + 4 * 0.02))


def test_bags_surely_in_the_cell_are_a_plain_count(kappa):
    assert cell_kg([GroupShare(10, 1.0), GroupShare(8, 1.0)], kappa) == count_kg(18, kappa)


def test_two_days_together_are_less_sure_than_each_alone_would_make_them(kappa):
    day = [GroupShare(10, 1.0)]

    assert cell_kg(day * 2, kappa)[1] > 2 * cell_kg(day, kappa)[1]


def test_a_weighed_lot_lends_its_own_weight_of_a_bag(kappa):
    groups, of_place = [GroupShare(20, 0.9), GroupShare(4, 0.5)], 25.0 * (400 * 0.09 + 16 * 0.25)
    kg, variance = cell_kg_of_lot(
        cell_bags(groups), place_variance(groups, 5.0), Lot(40, 200.0), kappa)

    assert kg == pytest.approx(100.0)
    assert variance == pytest.approx(20 * 0.5 * kappa.bag_variance + of_place)


def test_more_bags_than_the_lot_holds_are_refused(kappa):
    with pytest.raises(SurveyError):
        cell_kg_of_lot(50.0, 0.0, Lot(40, 200.0), kappa)
