"""A reader's factor, and his error in the total, against the reference run and a made-up truth."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.settings import Tunables
from sync.survey.cells import CellSample, predict_class
from sync.survey.clips import Clip
from sync.survey.density import density_of_classes, density_prior, of_class
from sync.survey.observers import ReadTwice, observers_of
from sync.survey.readers import cell_readers, class_readers, density_readers, parts_of
from sync.survey.totals import block_total, class_volume, crop_kg

TUNABLES = Tunables()
#: The reference run leaves every reader the same variance, without pairs: τ².
NO_PAIRS = TUNABLES.observer_sd**2


def dots(read, checked, reader="SL"):
    return [ReadTwice(reader, None, r, c) for r, c in zip(read, checked, strict=True)]


def test_four_pairs_draw_the_factor_toward_their_ratio(published, agrees):
    printed = published["observer"]
    found = observers_of([], dots(printed["read"], printed["checked"]), tunables=TUNABLES)
    assert found.people == ("SL",)
    assert agrees(found.raw[0], printed["raw"])
    assert agrees(TUNABLES.pair_sd**2 / found.pairs[0], printed["pair_variance"])
    assert agrees(1.0 - found.covariance[0, 0] / NO_PAIRS, printed["weight"])
    assert agrees(found.factor_of("SL"), printed["factor"])
    assert agrees(found.covariance[0, 0], printed["left"])
    assert agrees(math.sqrt(found.covariance[0, 0]), printed["left_sd"])


def test_without_pairs_a_reader_is_believed_give_or_take_the_prior():
    found = observers_of(["SW", "SL", "SW"], [], tunables=TUNABLES)
    assert found.people == ("SL", "SW")
    assert list(found.factor) == [1.0, 1.0]
    assert found.covariance == pytest.approx(NO_PAIRS * np.eye(2))
    assert found.factor_of("nobody") == 1.0


def test_a_frame_its_reader_found_bare_says_nothing_of_him():
    found = observers_of(["SL"], dots([0], [20]), tunables=TUNABLES)
    assert (found.factor_of("SL"), found.pairs) == (1.0, (0,))


def test_two_frames_that_cannot_be_the_same_pull_no_farther_than_twofold():
    once = observers_of([], dots([1], [90]), tunables=TUNABLES).factor_of("SL")
    assert once == pytest.approx(1.0 + NO_PAIRS / (NO_PAIRS + TUNABLES.pair_sd**2))


def test_two_who_only_check_each_other_learn_their_difference_and_not_who_is_right():
    pairs = [ReadTwice("SL", "SW", 100.0, 90.0)] * 4000
    found = observers_of([], pairs, tunables=TUNABLES)
    assert found.factor == pytest.approx([0.95, 1.05], abs=1e-4)
    together = np.array([0.5, 0.5])
    apart = np.array([1.0, -1.0])
    assert found.shared(together, together) == pytest.approx(NO_PAIRS / 2, rel=1e-3)
    assert found.shared(apart, apart) < 2e-5


def test_mended_readings_are_as_far_off_as_is_said():
    """4,000 made-up trios: two surveyors check each other, a third counts dots of one of them."""
    rng = np.random.default_rng(417)
    off, said = [], []
    for _ in range(4000):
        needed = rng.normal(0.0, TUNABLES.observer_sd, 2)
        pairs = []
        for reader, checker, count in ((0, 1, 6), (1, 0, 3), (0, None, 2)):
            other = 0.0 if checker is None else needed[checker]
            mean = needed[reader] - other
            ratio = 1.0 + rng.normal(mean, TUNABLES.pair_sd / math.sqrt(count))
            pairs += [ReadTwice("AB"[reader], None if checker is None else "AB"[checker],
                                100.0, 100.0 * ratio)] * count
        found = observers_of([], pairs, tunables=TUNABLES)
        off.append(1.0 + needed - found.factor)
        said.append(found.covariance)
    assert np.cov(np.array(off).T) == pytest.approx(said[0], rel=0.08)
    assert np.abs(np.mean(off, axis=0)).max() < 0.006


@pytest.fixture(scope="module")
def block(published):
    given_cells = published["cells"]
    quadrats = dict(zip(given_cells["names"], given_cells["quadrats"], strict=True))
    prediction = predict_class(
        [CellSample(cell, tuple(map(float, one))) for cell, one in quadrats.items()],
        tunables=TUNABLES)
    clips = [Clip("A", y, z) for y, z in zip(
        published["density"]["a_y"], published["density"]["a_z"], strict=True)]
    densities = density_of_classes(clips, ["A"], prior=density_prior(TUNABLES))
    areas = dict(zip(prediction.cells, published["total"]["areas_m2"], strict=True))
    density = of_class(densities, "A").mean_kg_m3
    crops = np.array([
        crop_kg(areas[cell], density, float(index))
        for cell, index in zip(prediction.cells, prediction.index_l_m2, strict=True)])
    return prediction, densities, areas, crops, quadrats


def shares(block, reader_of):
    prediction, _, _, _, quadrats = block
    observers = observers_of(set(reader_of.values()), [], tunables=TUNABLES)
    parts = {cell: parts_of([(reader_of[cell], float(x)) for x in one])
             for cell, one in quadrats.items() if one}
    of_class_ = class_readers(prediction, parts, observers)
    mean = prediction.mean_l_m2
    return observers, of_class_, np.array([
        cell_readers(parts.get(cell, {}), weight, index, mean, of_class_, observers)
        for cell, weight, index in zip(
            prediction.cells, prediction.weight, prediction.index_l_m2, strict=True)])


def se_with(block, observers, of_cells):
    prediction, densities, areas, crops, _ = block
    moved = crops @ of_cells
    total = block_total([class_volume("A", prediction, areas)], densities,
                        readers_kg2=observers.shared(moved, moved))
    return math.sqrt(total.variance)


def test_the_error_of_one_reader_is_shared_by_every_cell(published, agrees, block):
    observers, _, of_cells = shares(block, dict.fromkeys(["c1", "c2", "c3", "c4"], "O1"))
    assert of_cells == pytest.approx(np.ones((6, 1)))
    assert agrees(se_with(block, observers, of_cells),
                  published["observer"]["total"]["one_reader_se"])


def test_two_readers_share_the_class_by_what_they_read(published, agrees, block):
    printed = published["observer"]["total"]
    observers, of_class_, of_cells = shares(
        block, {"c1": "O1", "c2": "O1", "c3": "O2", "c4": "O2"})
    for column in (0, 1):
        assert agrees(of_class_[column], printed["shares_of_class"][column])
        assert agrees(of_cells[4, column], printed["shares_of_class"][column])
        assert agrees(of_cells[0, column], printed["shares_of_c1"][column])
    assert agrees(se_with(block, observers, of_cells), printed["two_readers_se"])


def test_clips_of_whole_frames_by_the_same_reader_take_his_error_away():
    clips = [Clip("A", y, z, reader="SL", cover=0.7) for y, z in
             [(1000, 80), (1150, 100), (1560, 120), (1010, 90), (1400, 110)] * 40]
    densities = density_of_classes(clips, ["A"], prior=density_prior(TUNABLES))
    observers = observers_of(["SL", "SW"], [], tunables=TUNABLES)

    of_density = density_readers(densities, clips, observers)["A"]

    assert of_density == pytest.approx([1.0, 0.0], abs=0.01)


def test_the_share_of_a_density_is_its_slope():
    def clips(cover_read_high):
        return [Clip("A", 1000, 80 * cover_read_high, reader="SL", cover=0.7),
                Clip("A", 1150, 100), Clip("B", 900, 90 * cover_read_high, reader="SL", cover=0.5)]

    def density(factor):
        # σ² moves with the clips too; held, as in the rest of the chain, by many alike.
        return density_of_classes(clips(factor) * 500, ["A", "B"], prior=density_prior(TUNABLES))

    observers = observers_of(["SL"], [], tunables=TUNABLES)
    found = density_readers(density(1.0), clips(1.0) * 500, observers)
    slope = np.log(density(1.001).mean_kg_m3 / density(0.999).mean_kg_m3) / 0.002
    assert found["A"][0] == pytest.approx(-slope[0], rel=0.01)
    assert found["B"][0] == pytest.approx(-slope[1], rel=0.01)


@given(st.lists(st.tuples(st.floats(1, 100), st.floats(0, 100)), min_size=1, max_size=20))
def test_the_factor_lies_between_the_prior_and_the_pairs_and_more_is_known(pairs):
    found = observers_of([], dots(*zip(*pairs, strict=True)), tunables=TUNABLES)
    low, high = sorted((1.0, found.raw[0]))
    assert low - 1e-12 <= found.factor[0] <= high + 1e-12
    assert found.covariance[0, 0] < NO_PAIRS
