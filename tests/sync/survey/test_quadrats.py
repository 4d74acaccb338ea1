import math
import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.errors import SurveyError
from sync.survey.quadrats import (
    BARE,
    Index,
    class_mean_index,
    index_of,
    mean_range,
    pickable_share,
)

DEPTHS = st.lists(st.floats(0.0, 800.0), min_size=1, max_size=5)


def read(published, *, longest=None, factor=1.0):
    one = published["quadrat"]
    return index_of(
        one["cover_pct"], one["depth_mm"], living_layer_mm=one["living_layer_mm"],
        longest_strand_mm=longest, observer_factor=factor)


def test_a_quadrat_is_cover_times_depth_and_the_living_layer_comes_off_each_probe(
        published, agrees):
    printed = published["quadrat"]
    index = read(published)

    assert agrees(index.volume_l_m2, printed["volume"])
    assert agrees(index.pickable_l_m2, printed["pickable"])
    assert not agrees(index.pickable_l_m2, printed["pickable_mean_depth_trap"])


def test_the_longest_strand_cuts_each_probe(published, agrees):
    index = read(published, longest=60.0)

    assert agrees(index.pickable_l_m2, published["quadrat"]["pickable_longest_60"])
    assert agrees(index.volume_l_m2, published["quadrat"]["volume"])


def test_an_observer_factor_scales_the_cover_and_is_held_to_all_of_the_frame(published, agrees):
    printed = published["quadrat"]

    assert agrees(read(published, factor=1.05).volume_l_m2, printed["volume_observer_1_05"])
    assert agrees(read(published, factor=1.05).pickable_l_m2, printed["pickable_observer_1_05"])
    assert agrees(read(published, factor=1.30).volume_l_m2, printed["volume_observer_1_30"])


def test_a_pool_counts_as_bare_ground_and_an_unsafe_plot_does_not_count(published, agrees):
    printed = published["cell_mean"]
    two = [read(published), Index(*printed["second"])]

    with_pool, with_unsafe = class_mean_index([*two, BARE]), class_mean_index(two)

    assert agrees(with_pool.volume_l_m2, printed["volume_with_pool"])
    assert agrees(with_pool.pickable_l_m2, printed["pickable_with_pool"])
    assert agrees(with_unsafe.volume_l_m2, printed["volume_with_unsafe"])
    assert agrees(with_unsafe.pickable_l_m2, printed["pickable_with_unsafe"])


def test_a_cell_leans_on_two_quadrats_of_its_class_for_its_pickable_share(published, agrees):
    printed = published["pickable"]
    own = [Index(*pair) for pair in printed["own"]]
    class_mean = Index(*printed["class_mean"])

    assert agrees(pickable_share(own, class_mean), printed["surveyed"])
    assert agrees(pickable_share([], class_mean), printed["unsurveyed"])


def test_nothing_is_pickable_where_there_is_no_moss():
    assert pickable_share([BARE], BARE) == 0.0


def test_probes_without_moss_are_left_out():
    with_zeros = index_of(60, [0, 100, 0, 80], living_layer_mm=50, longest_strand_mm=None)
    without = index_of(60, [100, 80], living_layer_mm=50, longest_strand_mm=None)

    assert with_zeros == without


@pytest.mark.parametrize("depth_mm", [[], [0, 0, 0]])
def test_cover_without_a_depth_is_missing_and_hardly_any_cover_is_bare(depth_mm):
    assert index_of(5, depth_mm, living_layer_mm=50, longest_strand_mm=None) is None
    assert index_of(4.9, depth_mm, living_layer_mm=50, longest_strand_mm=None) == BARE


def test_a_little_cover_with_a_depth_is_what_it_is():
    assert index_of(2, [100], living_layer_mm=50, longest_strand_mm=None) == Index(2.0, 1.0)


def test_a_mean_over_no_quadrat_is_refused():
    with pytest.raises(SurveyError, match="no quadrat"):
        class_mean_index([])


def test_the_range_of_the_real_cores_is_their_t_interval(published, cores):
    printed = published["mite_cores"]
    mean, low, high = mean_range(
        [float(core["SubsDens"]) for core in cores], low_bound=0.0, high_bound=math.inf)

    # t(0.95; 69) of a printed table: 1.66724
    half = 1.66724 * float(printed["sd"]) / math.sqrt(70)

    assert mean == pytest.approx(float(printed["mean"]), rel=1e-9)
    assert (low, high) == pytest.approx((mean - half, mean + half), abs=1e-5)


def test_a_range_is_held_to_what_can_be():
    assert mean_range([0.0, 100.0], low_bound=0.0, high_bound=100.0) == (50.0, 0.0, 100.0)


def test_one_reading_has_no_range_and_none_has_no_mean():
    assert mean_range([40.0], low_bound=0.0, high_bound=100.0) == (40.0, None, None)
    with pytest.raises(SurveyError, match="no reading"):
        mean_range([], low_bound=0.0, high_bound=100.0)


@given(cover=st.floats(5.0, 100.0), depth_mm=DEPTHS, layer=st.floats(0.0, 200.0))
def test_what_is_pickable_lies_between_the_mean_depth_rule_and_all_of_the_moss(
        cover, depth_mm, layer):
    index = index_of(cover, depth_mm, living_layer_mm=layer, longest_strand_mm=None)
    probes = [depth for depth in depth_mm if depth > 0.0]
    if not probes:
        assert index is None
        return

    by_mean_depth = cover / 100.0 * max(statistics.fmean(probes) - layer, 0.0)

    assert by_mean_depth <= index.pickable_l_m2 + 1e-9
    assert index.pickable_l_m2 <= index.volume_l_m2 + 1e-9


@given(
    own=st.lists(st.tuples(st.floats(0.01, 300.0), st.floats(0.0, 1.0)), max_size=5),
    volume=st.floats(0.01, 300.0), share=st.floats(0.0, 1.0))
def test_the_pickable_share_lies_between_the_quadrats_shares(own, volume, share):
    shares = [*(one for _, one in own), share]
    cell = [Index(x, x * one) for x, one in own]

    q = pickable_share(cell, Index(volume, volume * share))

    assert min(shares) - 1e-9 <= q <= max(shares) + 1e-9
