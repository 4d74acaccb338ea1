import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import ttest_1samp

from sync.errors import SurveyError
from sync.survey.paired import PairedChange, has_risen, paired_change
from sync.survey.ranges import t_quantile

CHANGES = st.lists(st.integers(-50, 50), min_size=2, max_size=12)


def test_the_printed_trial_has_its_printed_range(models, agrees):
    printed = models["paired"]["rolled"]
    got = paired_change(printed["changes"])

    for name in ("mean", "se", "low", "high"):
        assert agrees(getattr(got, name), printed[name])
    assert agrees(t_quantile(got.df), printed["t"])


def test_scrub_at_re_walked_plots_spreads(models, agrees):
    printed = models["paired"]["scrub"]
    got = paired_change(printed["changes"])

    for name in ("mean", "se", "low"):
        assert agrees(getattr(got, name), printed[name])
    assert has_risen(got, least=printed["least"])


@pytest.mark.parametrize(
    ("mean", "low", "risen"),
    [(5.0, 0.1, True), (4.9, 3.0, False), (9.0, 0.0, False), (9.0, -0.1, False)])
def test_a_rise_is_large_and_sure(mean, low, risen):
    change = PairedChange(mean, 1.0, 5, low, 2 * mean - low)

    assert has_risen(change, least=5.0) is risen


@given(CHANGES)
def test_another_library_has_the_same_range(changes):
    got = paired_change(changes)
    if got.se == 0.0:
        assert (got.low, got.high) == (got.mean, got.mean)
        return
    theirs = ttest_1samp(changes, 0.0).confidence_interval(0.90)

    assert (got.low, got.high) == pytest.approx((theirs.low, theirs.high), rel=1e-6, abs=1e-9)


@given(CHANGES, st.integers(-50, 50))
def test_a_change_of_all_plots_alike_moves_the_mean_and_leaves_the_error(changes, by):
    one, other = paired_change(changes), paired_change([change + by for change in changes])

    assert other.mean == pytest.approx(one.mean + by, abs=1e-9)
    assert other.se == pytest.approx(one.se, abs=1e-9)


@pytest.mark.parametrize("changes", [[], [3.0]])
def test_one_pair_has_no_error(changes):
    with pytest.raises(SurveyError):
        paired_change(changes)


def test_two_pairs_are_known_badly():
    got = paired_change([1.0, 3.0])

    assert (got.mean, got.df) == (2.0, 1)
    assert got.high - got.mean == pytest.approx(math.tan(0.45 * math.pi), rel=1e-9)
