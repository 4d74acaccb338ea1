"""Picking places with the wandering of the receiver taken out, beside plain dense sums."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sync.geometry.picking import GroundTrack
from sync.geometry.steady import steadied
from sync.settings import R68_PER_SIGMA, Tunables

TUNABLES = Tunables()
LASTS_S = TUNABLES.error_lasts_s
E0, N0 = 1329400.0, 5249300.0


def track_of(at_s, places, acc_m=5.0, walks=None):
    places = np.asarray(places, dtype=float)
    count = len(at_s)
    return GroundTrack(
        np.round(1000.0 * np.asarray(at_s, dtype=float)).astype(np.int64), E0 + places[:, 0],
        N0 + places[:, 1], np.broadcast_to(np.asarray(acc_m, dtype=float), (count,)).copy(),
        np.zeros(count, dtype=bool) if walks is None else np.asarray(walks, dtype=bool))


def minutes(count):
    return 60.0 * np.arange(count)


def places_in(found):
    return np.column_stack((found.track.e - E0, found.track.n - N0))


def lasting_errors(rng, at_s, sigma):
    """Errors whose correlation is e^(−t/τ), by their whole covariance."""
    apart = np.abs(np.subtract.outer(at_s, at_s))
    root = np.linalg.cholesky(sigma**2 * np.exp(-apart / LASTS_S))
    return root @ rng.normal(size=(len(at_s), 2))


def pace_over(over_s, at_s, places, sigma):
    moved = over = 0.0
    for i, since in enumerate(at_s):
        later = [j for j, at in enumerate(at_s) if at >= since + over_s]
        if later and at_s[later[0]] - since < 1.5 * over_s:
            j = later[0]
            fades = math.exp(-(at_s[j] - since) / LASTS_S)
            by_error = sigma[i]**2 + sigma[j]**2 - 2 * fades * sigma[i] * sigma[j]
            moved += np.sum((places[j] - places[i])**2) - 2 * by_error
            over += at_s[j] - since
    return moved / (2 * over)


def dense(at_s, places, sigma):
    """Places and their covariance by whole matrices, for steps of one fix each without leaps."""
    apart = np.abs(np.subtract.outer(at_s, at_s))
    errors = np.linalg.inv(np.outer(sigma, sigma) * np.exp(-apart / LASTS_S))
    paces = [pace_over(lasts * LASTS_S, at_s, places, sigma) for lasts in (0.6, 1.1, 2.0)]
    pace = max(TUNABLES.least_pace_m2_s, *paces)
    walk = np.zeros_like(errors)
    for i, lasts in enumerate(np.diff(at_s)):
        way = np.zeros(len(at_s))
        way[i], way[i + 1] = -1.0, 1.0
        walk += np.outer(way, way) / (pace * lasts)
    covariance = np.linalg.inv(errors + walk)
    return covariance @ errors @ places, covariance


@pytest.mark.parametrize("seed", range(4))
def test_places_and_their_error_are_those_of_whole_matrices(seed):
    rng = np.random.default_rng(seed)
    at_s = np.cumsum(rng.integers(60, 200, 60)).astype(float)
    acc_m = rng.uniform(7.0, 9.0, 60)
    places = np.cumsum(rng.normal(0.0, 1.0, (60, 2)), axis=0)
    expected, covariance = dense(at_s, places, acc_m / R68_PER_SIGMA)

    found = steadied(track_of(at_s, places, acc_m), TUNABLES)

    assert places_in(found) == pytest.approx(expected, abs=1e-6)
    weights = np.zeros(60)
    weights[20:30] = 0.1
    sd, lasting = found.error_between(1000 * at_s[20], 1000 * at_s[30])
    shared = covariance @ weights
    assert sd == pytest.approx(math.sqrt(weights @ shared), rel=1e-9)
    beside = (shared[10:20].mean() + shared[30:40].mean()) / 2
    assert lasting == pytest.approx(beside / (weights @ shared), rel=1e-9)


def test_ten_minutes_alone_share_the_error_of_their_mean():
    """√(2/e) = 0.857764 of a fix's error: the mean over τ of an error of correlation e^(−t/τ)."""
    at_s = 5.0 * np.arange(120)
    sd, lasting = steadied(track_of(at_s, np.zeros((120, 2))), TUNABLES).error_between(0, 600_000)

    apart = np.abs(np.subtract.outer(minutes(10), minutes(10)))
    by_steps = math.sqrt(np.exp(-apart / LASTS_S).mean())
    assert sd * R68_PER_SIGMA / 5.0 == pytest.approx(by_steps, rel=1e-9)
    assert by_steps == pytest.approx(math.sqrt(2 / math.e), abs=0.002)
    assert lasting == 0.0


def test_too_short_a_track_says_nothing_of_the_pace_and_stays_as_seen():
    places = lasting_errors(np.random.default_rng(1), minutes(20), 3.0)

    assert places_in(steadied(track_of(minutes(20), places), TUNABLES)) == pytest.approx(
        places, abs=1e-6)


def test_a_slow_picker_is_found_nearer_and_as_near_as_told():
    rng = np.random.default_rng(2)
    at_s, sigma = minutes(400), 12.0 / R68_PER_SIGMA
    before, after, ratios = [], [], []
    for _ in range(100):
        true = np.cumsum(rng.normal(0.0, math.sqrt(60.0 * 0.05), (400, 2)), axis=0)
        seen = true + lasting_errors(rng, at_s, sigma)
        found = steadied(track_of(at_s, seen, 12.0), TUNABLES)
        for first in range(50, 350, 50):
            span = slice(first, first + 17)
            sd, _ = found.error_between(1000 * at_s[first], 1000 * at_s[first + 17])
            off = (places_in(found) - true)[span].mean(axis=0)
            before.append((seen - true)[span].mean(axis=0))
            after.append(off)
            ratios.append(off / sd)

    rms = [math.sqrt(np.mean(np.square(one))) for one in (before, after, ratios)]
    assert rms[1] < 0.85 * rms[0]
    assert rms[2] == pytest.approx(1.0, abs=0.1)


@pytest.mark.parametrize("period_s", [300.0, 400.0, 600.0, 1200.0, 2000.0])
def test_going_to_and_fro_stays_to_and_fro(period_s):
    """Forty metres, and however the turns fall on the times compared: no error does that."""
    at_s = 5.0 * np.arange(2400)
    east = 80.0 * np.abs((at_s / period_s) % 1.0 - 0.5)
    places = np.column_stack((east, np.zeros(2400)))

    off = places_in(steadied(track_of(at_s, places), TUNABLES)) - places

    assert np.abs(off).max() < 2.5  # less than a fix is off each way, 3.3 m


def test_a_leap_is_no_error():
    places = np.zeros((100, 2))
    places[50:, 0] = 80.0

    found = places_in(steadied(track_of(minutes(100), places), TUNABLES))

    assert found == pytest.approx(places, abs=0.1)


def test_walking_stays_as_seen_and_parts_what_is_before_from_what_is_after():
    at_s = 5.0 * np.arange(1000)
    walks = (np.arange(1000) % 100) >= 90
    places = lasting_errors(np.random.default_rng(3), at_s, 3.0)

    found = steadied(track_of(at_s, places, walks=walks), TUNABLES)

    assert (places_in(found)[walks] == pytest.approx(places[walks], abs=1e-9))
    assert (found.step_of[walks] == -1).all()
    assert not set(found.step_of[80:90]) & set(found.step_of[100:110])
    assert found.error_between(1000 * at_s[91], 1000 * at_s[99]) is None


def test_days_know_nothing_of_each_other():
    rng = np.random.default_rng(4)
    days = [lasting_errors(rng, minutes(100), 3.0) for _ in range(2)]
    at_s = np.append(minutes(100), 86_400.0 + minutes(100))

    both = steadied(track_of(at_s, np.concatenate(days)), TUNABLES)
    alone = [steadied(track_of(minutes(100), day), TUNABLES) for day in days]

    assert places_in(both) == pytest.approx(
        np.concatenate([places_in(one) for one in alone]), abs=1e-6)
    assert both.error_between(86_400_000 + 600_000, 86_400_000 + 1_800_000) == pytest.approx(
        alone[1].error_between(600_000, 1_800_000), rel=1e-9)
    assert len(both.stretches) == 2


def test_a_spell_across_a_night_has_the_errors_of_both_ends():
    at_s = np.append(minutes(100), 86_400.0 + minutes(100))
    found = steadied(track_of(at_s, np.zeros((200, 2))), TUNABLES)

    whole, _ = found.error_between(1000 * at_s[90], 1000 * at_s[110])
    parts = [found.error_between(1000 * at_s[a], 1000 * at_s[a + 10])[0] for a in (90, 100)]

    assert whole == pytest.approx(math.hypot(*parts) / 2, rel=1e-6)


def test_nothing_but_walking_is_nothing_to_steady():
    found = steadied(track_of([0.0, 5.0], np.zeros((2, 2)), walks=[True, True]), TUNABLES)

    assert found.stretches == ()
    assert found.error_between(0, 10_000) is None


@settings(deadline=None)
@given(st.lists(
    st.tuples(st.integers(1, 20_000_000), st.floats(-1e3, 1e3), st.floats(-1e3, 1e3),
              st.one_of(st.none(), st.floats(0.0, 25.0)), st.booleans()),
    min_size=1, max_size=40))
def test_any_track_stays_a_track(fixes):
    lasts_ms, e, n, acc_m, walks = zip(*fixes, strict=True)
    at_s = np.cumsum(lasts_ms) / 1000.0
    radii = [np.nan if one is None else one for one in acc_m]
    track = track_of(at_s, np.column_stack((e, n)), radii, walks)

    found = steadied(track, TUNABLES)

    assert np.isfinite(found.track.e).all()
    assert np.isfinite(found.track.n).all()
    left = found.error_between(float(track.at_ms[0]), float(track.at_ms[-1]) + 1.0)
    assert (left is None) == all(walks)
    if left is not None:
        assert left[0] >= 0.0
        assert 0.0 <= left[1] <= 1.0
    moved = places_in(found) - np.column_stack((e, n))
    assert np.abs(moved[list(walks)]).max(initial=0.0) < 1e-6
    assert np.abs(moved).max() <= max(np.ptp(e), np.ptp(n)) + 1e-6
