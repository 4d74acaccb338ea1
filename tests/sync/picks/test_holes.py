import math

import pytest

from sync.picks.holes import expected_missing
from sync.picks.kilos import KgPerBag


def test_a_hole_hides_the_printed_bags_and_kg(kappa, printed, agrees):
    hole = printed["hole"]
    missing = expected_missing(
        hole["hole_h"], bags_seen=hole["bags_seen"], seen_h=hole["seen_h"], kappa=kappa
    )

    assert missing is not None
    assert agrees(missing.bags, hole["bags"])
    assert agrees(missing.bags_sd, hole["bags_sd"])
    assert agrees(missing.kg, hole["kg"])
    assert agrees(missing.kg_sd, hole["kg_sd"])


def test_without_a_pace_there_is_no_guess(kappa):
    assert expected_missing(2.0, bags_seen=3, seen_h=0.0, kappa=kappa) is None


def test_a_hole_without_length_hides_nothing(kappa):
    missing = expected_missing(0.0, bags_seen=8, seen_h=5.0, kappa=kappa)

    assert missing is not None
    assert (missing.bags, missing.kg, missing.kg_sd) == (0.0, 0.0, 0.0)


def test_bags_of_known_weight_scatter_by_their_number_alone():
    exact = KgPerBag(6.0, 0.0, 0.0, 9, False)
    missing = expected_missing(2.0, bags_seen=8, seen_h=1.0, kappa=exact)

    assert missing is not None
    assert missing.kg_sd == pytest.approx(6.0 * math.sqrt(16.0))


def test_the_printed_error_is_made_of_the_number_of_the_bags_and_of_the_mean_bag(
    kappa, printed, agrees
):
    hole = printed["hole"]

    def variance(bag_variance, of_mean):
        weight = kappa._replace(bag_variance=bag_variance, variance=of_mean)
        missing = expected_missing(
            hole["hole_h"], bags_seen=hole["bags_seen"], seen_h=hole["seen_h"], kappa=weight)
        assert missing is not None
        return missing.kg_sd**2

    count = variance(0.0, 0.0)

    assert agrees(count, hole["kg_variance_count"])
    assert agrees(variance(kappa.bag_variance, 0.0) - count, hole["kg_variance_bag"])
    assert agrees(variance(0.0, kappa.variance) - count, hole["kg_variance_kappa"])
