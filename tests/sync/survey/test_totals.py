import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.errors import SurveyError
from sync.settings import Z_RANGE, Z_THREE_IN_FOUR, Tunables
from sync.survey.cells import CellSample, predict_class
from sync.survey.clips import Clip
from sync.survey.density import density_of_classes, density_prior, of_class
from sync.survey.totals import (
    ClassVolume,
    block_total,
    cell_cv2,
    class_volume,
    counted_on,
    crop_kg,
    lognormal_range,
    t_quantile,
)

TUNABLES = Tunables()


@pytest.fixture(scope="module")
def prediction(published):
    given = published["cells"]
    samples = [CellSample(cell, tuple(map(float, one)))
               for cell, one in zip(given["names"], given["quadrats"], strict=True)]
    return predict_class(samples, tunables=TUNABLES)


def densities(published, classes):
    given = published["density"]
    clips = [Clip("A", y, z) for y, z in zip(given["a_y"], given["a_z"], strict=True)]
    return density_of_classes(clips, classes, prior=density_prior(TUNABLES))


@pytest.mark.parametrize(("cell", "row"), [("c1", 0), ("c5", 4)])
def test_the_crop_of_a_cell_agrees_with_the_reference_run(
        published, agrees, prediction, cell, row):
    printed, area_m2 = published["crop"][cell], published["crop"]["area_m2"]
    density = of_class(densities(published, ["A"]), "A")
    index, error = prediction.index_l_m2[row], prediction.error[row, row]
    kg = crop_kg(area_m2, density.mean_kg_m3, index)
    cv = math.sqrt(cell_cv2(
        index, error, density.mean_kg_m3, density.variance, density.between_cv2))
    low, high = lognormal_range(kg, cv, t=t_quantile(prediction.df))

    assert agrees(density.mean_kg_m3, published["crop"]["density"])
    assert agrees(kg, printed["kg"])
    assert agrees(kg / 1000.0 / (area_m2 / 10_000.0), printed["t_ha"])
    assert agrees(cv, printed["cv"])
    assert agrees(low, printed["low"])
    assert agrees(high, printed["high"])
    assert agrees(counted_on(kg, cv), printed["counted_on"])
    assert agrees(-Z_THREE_IN_FOUR, published["crop"]["z_below"])


def test_a_cell_without_the_density_between_cells_would_look_too_sure(
        published, agrees, prediction):
    density = of_class(densities(published, ["A"]), "A")
    index, error = prediction.index_l_m2[4], prediction.error[4, 4]
    short = math.sqrt(error / index**2 + density.variance / density.mean_kg_m3**2)

    assert agrees(short, published["crop"]["c5"]["cv_without_between"])


def test_the_block_total_agrees_with_the_reference_run(published, agrees, prediction):
    printed = published["total"]
    areas = dict(zip(prediction.cells, printed["areas_m2"], strict=True))
    volume = class_volume("A", prediction, areas)
    total = block_total([volume], densities(published, ["A"]))
    low, high = lognormal_range(total.kg, total.cv, t=Z_RANGE)

    assert agrees(volume.volume_m3, printed["volume"])
    assert agrees(total.kg, printed["kg"])
    assert agrees(total.parts.survey, printed["survey"])
    assert agrees(total.parts.density, printed["density"])
    assert agrees(total.parts.product, printed["product"])
    assert agrees(total.parts.between_cells, printed["between_cells"])
    assert agrees(math.sqrt(total.variance), printed["se"])
    assert agrees(total.cv, printed["cv"])
    assert agrees(low, printed["low"])
    assert agrees(high, printed["high"])


def test_cells_added_as_if_independent_would_look_too_sure(published, agrees, prediction):
    printed = published["total"]
    density = of_class(densities(published, ["A"]), "A")
    kg = crop_kg(np.array(printed["areas_m2"]), density.mean_kg_m3, prediction.index_l_m2)
    cv2 = [cell_cv2(x, m, density.mean_kg_m3, density.variance, density.between_cv2)
           for x, m in zip(prediction.index_l_m2, np.diag(prediction.error), strict=True)]
    se = math.sqrt(float(np.sum(kg**2 * cv2)))

    assert agrees(se, printed["se_as_independent_trap"])
    assert agrees(se / kg.sum(), printed["cv_as_independent_trap"])


def test_two_classes_share_the_error_of_their_densities(published, agrees, prediction):
    printed = published["total"]["two_classes"]
    areas = dict(zip(prediction.cells, published["total"]["areas_m2"], strict=True))
    # The reference run leaves out here what differs from cell to cell.
    of_a = dataclasses.replace(class_volume("A", prediction, areas), squares_m6=0.0)
    volumes = [of_a, ClassVolume("B", printed["volume_b"], printed["survey_variance_b"], 0.0)]
    both = densities(published, ["A", "B"])
    apart = dataclasses.replace(both, covariance=np.diag(np.diag(both.covariance)))

    assert agrees(of_a.variance_m6, printed["survey_variance_a"])
    assert agrees(block_total(volumes, both).kg, printed["kg"])
    assert agrees(block_total(volumes, both).variance, printed["variance"])
    assert agrees(math.sqrt(block_total(volumes, both).variance), printed["se"])
    assert agrees(
        math.sqrt(block_total(volumes, apart).variance), printed["se_without_covariance"])


def test_the_order_of_classes_does_not_matter(published):
    volumes = [ClassVolume("A", 3000.0, 6e5, 1e6), ClassVolume("B", 1500.0, 2e4, 3e5)]
    one = block_total(volumes, densities(published, ["A", "B"]))
    other = block_total(volumes[::-1], densities(published, ["B", "A", "C"]))

    assert (other.kg, other.variance) == pytest.approx((one.kg, one.variance))


def test_a_cell_with_no_open_ground_is_in_no_sum(published, prediction):
    areas = {"c1": 10_000.0, **dict.fromkeys(["c2", "c3", "c4", "c5", "c6"], 0.0)}
    density = of_class(densities(published, ["A"]), "A")
    total = block_total([class_volume("A", prediction, areas)], densities(published, ["A"]))
    cv2 = cell_cv2(prediction.index_l_m2[0], prediction.error[0, 0], density.mean_kg_m3,
                   density.variance, density.between_cv2)

    assert total.kg == pytest.approx(crop_kg(10_000.0, density.mean_kg_m3,
                                             prediction.index_l_m2[0]))
    assert total.cv**2 == pytest.approx(cv2)


def test_a_cell_without_an_area_and_a_class_without_a_density_are_refused(published, prediction):
    with pytest.raises(SurveyError, match=r"\['c6'\]"):
        class_volume("A", prediction, dict.fromkeys(["c1", "c2", "c3", "c4", "c5"], 1.0))
    with pytest.raises(SurveyError, match="'B'"):
        block_total([ClassVolume("B", 1.0, 1.0, 1.0)], densities(published, ["A"]))
    with pytest.raises(SurveyError, match="each once"):
        block_total([ClassVolume("A", 1.0, 1.0, 1.0)] * 2, densities(published, ["A"]))


def test_nothing_surveyed_adds_up_to_nothing(published):
    total = block_total([], densities(published, ["A"]))

    assert (total.kg, total.variance, total.cv) == (0.0, 0.0, 0.0)


def test_bare_ground_has_no_spread():
    assert cell_cv2(0.0, 100.0, 12.0, 4.0, 0.02) == 0.0


@given(st.floats(1.0, 300.0), st.floats(0.0, 1e4), st.floats(1.0, 80.0), st.floats(0.0, 100.0))
def test_the_spread_of_a_cell_is_that_of_a_product(index, error, density, variance):
    cv2 = cell_cv2(index, error, density, variance, 0.0)

    # Var(XY) = E[X²]E[Y²] − (EX EY)² of two independent things.
    exact = (error + index**2) * (variance + density**2) - (index * density) ** 2
    assert cv2 * (index * density) ** 2 == pytest.approx(exact, abs=1e-6 * (index * density) ** 2)


@given(st.floats(0.1, 100.0))
def test_more_ground_scales_the_total_and_its_error(factor):
    samples = [CellSample("c1", (82.0, 118.0)), CellSample("c2", (22.0,)), CellSample("c3")]
    got = predict_class(samples, tunables=TUNABLES)
    rho = density_of_classes([Clip("A", 1000.0, 90.0)], ["A"], prior=density_prior(TUNABLES))
    areas = {"c1": 100.0, "c2": 50.0, "c3": 70.0}
    larger = {cell: factor * area for cell, area in areas.items()}

    one = block_total([class_volume("A", got, areas)], rho)
    other = block_total([class_volume("A", got, larger)], rho)

    assert other.kg == pytest.approx(factor * one.kg)
    assert other.variance == pytest.approx(factor**2 * one.variance)
