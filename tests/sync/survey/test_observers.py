"""A reader's factor, and his error in the total, against the reference run."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.errors import SurveyError
from sync.settings import Tunables
from sync.survey.cells import CellSample, predict_class
from sync.survey.clips import Clip
from sync.survey.density import density_of_classes, density_prior, of_class
from sync.survey.observers import observer_factor, reader_shares, readers_variance
from sync.survey.totals import block_total, class_volume, crop_kg

TUNABLES = Tunables()


def test_four_pairs_draw_the_factor_toward_their_ratio(published, agrees):
    printed = published["observer"]
    found = observer_factor(printed["read"], printed["checked"], tunables=TUNABLES)
    assert agrees(found.raw, printed["raw"])
    assert agrees(TUNABLES.pair_sd**2 / found.pairs, printed["pair_variance"])
    assert agrees(found.weight, printed["weight"])
    assert agrees(found.factor, printed["factor"])
    assert agrees(found.variance, printed["left"])
    assert agrees(math.sqrt(found.variance), printed["left_sd"])


def test_without_pairs_a_reader_is_believed_give_or_take_the_prior():
    found = observer_factor([], [], tunables=TUNABLES)
    assert found.factor == 1.0
    assert math.sqrt(found.variance) == pytest.approx(0.12)


def test_pairs_that_are_none_are_refused():
    with pytest.raises(SurveyError, match="pairs"):
        observer_factor([50], [], tunables=TUNABLES)
    with pytest.raises(SurveyError, match="no moss"):
        observer_factor([0, 0], [10, 0], tunables=TUNABLES)


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
    total = block_total([class_volume("A", prediction, areas)], densities)
    density = of_class(densities, "A").mean_kg_m3
    crops = np.array([
        crop_kg(areas[cell], density, float(index))
        for cell, index in zip(prediction.cells, prediction.index_l_m2, strict=True)])
    means = {cell: float(np.mean(one)) for cell, one in quadrats.items() if one}
    return prediction, total, crops, means


def test_the_error_of_one_reader_is_shared_by_every_cell(published, agrees, block):
    prediction, total, crops, means = block
    printed = published["observer"]["total"]
    shares = reader_shares(prediction, {cell: {"O1": mean} for cell, mean in means.items()})
    assert shares["O1"] == pytest.approx(np.ones(len(crops)))
    added = readers_variance(shares, crops, {"O1": printed["left"]})
    assert agrees(math.sqrt(total.variance + added), printed["one_reader_se"])


def test_two_readers_share_the_class_by_what_they_read(published, agrees, block):
    prediction, total, crops, means = block
    printed = published["observer"]["total"]
    readers = {"c1": "O1", "c2": "O1", "c3": "O2", "c4": "O2"}
    shares = reader_shares(
        prediction, {cell: {readers[cell]: mean} for cell, mean in means.items()})
    unsurveyed = prediction.cells.index("c5")
    for reader, of_class_, of_c1 in zip(
            ("O1", "O2"), printed["shares_of_class"], printed["shares_of_c1"], strict=True):
        assert agrees(shares[reader][unsurveyed], of_class_)
        assert agrees(shares[reader][prediction.cells.index("c1")], of_c1)
    added = readers_variance(shares, crops, {"O1": printed["left"], "O2": printed["left"]})
    assert agrees(math.sqrt(total.variance + added), printed["two_readers_se"])


@given(st.lists(st.tuples(st.floats(1, 100), st.floats(0, 100)), min_size=1, max_size=20))
def test_the_factor_lies_between_the_prior_and_the_pairs_and_more_is_known(pairs):
    read, checked = zip(*pairs, strict=True)
    found = observer_factor(read, checked, tunables=TUNABLES)
    low, high = sorted((1.0, found.raw))
    assert low - 1e-12 <= found.factor <= high + 1e-12
    assert found.variance < TUNABLES.observer_sd**2
