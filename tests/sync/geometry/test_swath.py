import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import example, given
from hypothesis import strategies as st

from sync.errors import GeometryError
from sync.geometry.swath import swath_of, swept_m2

E0, N0 = 1_329_400.0, 5_249_300.0
PLACES = st.tuples(st.floats(0.0, 100.0), st.floats(0.0, 100.0))
PASSES = st.lists(st.lists(PLACES, min_size=1, max_size=5), max_size=4)


def straight_passes(case, count=3):
    """North-going passes, each beside the one before."""
    return [[(E0 + case["apart_m"] * i, N0), (E0 + case["apart_m"] * i, N0 + case["pass_m"])]
            for i in range(count)]


def test_three_passes_side_by_side_sweep_the_printed_ground(published):
    case = published["swath"]
    swath = swath_of(straight_passes(case), reach_m=case["reach_m"])
    share = swath.area / case["open_m2"]

    assert swath.area == pytest.approx(float(case["swept_m2"]), rel=1e-9)
    assert 100 * share == pytest.approx(float(case["share_pct"]), abs=0.5e-6)
    assert 100 * case["next_day_m2"] / case["open_m2"] == pytest.approx(
        float(case["next_day_pct"]), abs=0.5e-6)


def test_passes_added_up_would_count_their_overlap_twice(published):
    case = published["swath"]
    alone = sum(swath_of([one], reach_m=case["reach_m"]).area for one in straight_passes(case))

    assert alone == pytest.approx(540.0, rel=1e-9)


def test_an_end_is_flat(published):
    west, south, east, north = swath_of(
        straight_passes(published["swath"], 1), reach_m=1.5).bounds

    assert (west - E0, east - E0) == pytest.approx((-1.5, 1.5))
    assert (south - N0, north - N0) == pytest.approx((0.0, 60.0), abs=1e-8)


def test_ground_is_measured_on_the_ellipsoid(published, nztm):
    case = published["swath"]
    lat, lon = nztm.to_deg(E0 + 2.0, N0 + 30.0)
    expected = float(case["swept_m2"]) / nztm.point_scale(float(lat), float(lon)) ** 2

    assert swept_m2(nztm, straight_passes(case), reach_m=1.5) == pytest.approx(expected, rel=1e-7)


def test_only_open_ground_counts(published, nztm):
    passes = straight_passes(published["swath"])
    whole = swept_m2(nztm, passes, reach_m=1.5)
    half = shapely.box(E0 - 50.0, N0 - 50.0, E0 + 50.0, N0 + 30.0)

    assert swept_m2(nztm, passes, reach_m=1.5, ground=half) == pytest.approx(whole / 2, rel=1e-6)
    assert swept_m2(nztm, passes, reach_m=1.5, ground=shapely.MultiPolygon()) == 0.0


def test_no_pass_and_a_pass_that_never_moves_sweep_nothing(nztm):
    assert swath_of([], reach_m=1.5).is_empty
    assert swath_of([[(E0, N0)], [(E0, N0), (E0, N0)], []], reach_m=1.5).is_empty
    assert swept_m2(nztm, [], reach_m=1.5) == 0.0


#: Two passes that part by little: the joined ground lost the hole between them (2026-11-27).
PARTING = [
    [(75.32055290867841, 30.24653627586896), (75.21871653434707, 0.3), (96.75, 1.125)],
    [(75.32055290867841, 30.24653627586896), (75.21871653434707, 0.3),
     (96.53125, 4.0113007469414494), (44.0, 17.0546875)],
]


@given(PASSES, st.floats(0.1, 5.0))
@example(PARTING, 1.9461917989978972)
def test_going_over_the_same_ground_again_sweeps_no_more(passes, reach_m):
    once = swath_of(passes, reach_m=reach_m).area

    assert swath_of(passes * 2, reach_m=reach_m).area == pytest.approx(once, rel=1e-4, abs=1e-3)


@given(PASSES, st.floats(0.1, 5.0))
@example(PARTING, 1.9461917989978972)
def test_joined_passes_cover_no_more_than_each_alone(passes, reach_m):
    alone = [swath_of([one], reach_m=reach_m) for one in passes]
    joined = swath_of(passes, reach_m=reach_m)

    assert joined.area <= sum(one.area for one in alone) * (1 + 1e-4) + 1e-3
    assert joined.area >= max((one.area for one in alone), default=0.0) * (1 - 1e-4) - 1e-3
    assert joined.area == pytest.approx(_one_after_another(alone), rel=1e-4, abs=1e-3)


def _one_after_another(swaths):
    """Take from each what those before it covered already, and add up what is left."""
    total = 0.0
    for i, swath in enumerate(swaths):
        for before in swaths[:i]:
            swath = shapely.difference(swath, before, grid_size=1e-7)
        total += swath.area
    return total


@given(PASSES, st.floats(0.1, 5.0))
@example([[(0.0, 0.0), (0.0, 0.515625)]], 2.0)  # 2026-11-28: its step is 0.516 m
def test_a_swath_is_no_more_than_length_times_width_and_its_bends(passes, reach_m):
    # Places are told apart by whole millimetres, so that a step may be one longer.
    told = [np.round(np.reshape(one, (-1, 2)), 3).tolist() for one in passes]
    lengths = sum(math.dist(a, b) for one in told for a, b in itertools.pairwise(one))
    bends = sum(max(0, len(one) - 2) for one in passes)
    area = swath_of(passes, reach_m=reach_m).area

    assert area <= (2 * reach_m * lengths + bends * math.pi * reach_m**2) * (1 + 1e-4) + 1e-3


@pytest.mark.parametrize("reach_m", [0.0, -1.0, math.nan, math.inf])
def test_a_reach_that_is_none_is_refused(reach_m):
    with pytest.raises(GeometryError):
        swath_of([[(0.0, 0.0), (1.0, 0.0)]], reach_m=reach_m)


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_a_place_that_is_not_finite_is_refused(bad):
    with pytest.raises(GeometryError):
        swath_of([[(0.0, 0.0), (bad, 0.0)]], reach_m=1.0)
