import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.errors import SurveyError
from sync.survey.effort import best_quadrats, cells_for_cv, quadrats_unrounded

MINUTES = st.floats(0.5, 120.0)
VARIANCES = st.floats(0.01, 4.0)


def test_the_printed_survey_has_its_printed_effort(models, agrees):
    case = models["effort"]
    given_ = {"within_variance": case["cv_within"] ** 2,
              "between_variance": case["cv_between"] ** 2}
    times = case["walk_min"], case["quadrat_min"]

    assert agrees(quadrats_unrounded(*times, **given_), case["quadrats"])
    assert best_quadrats(*times, **given_) == case["quadrats_whole"]
    assert cells_for_cv(
        case["cv"], case["quadrats_whole"], cv_within=case["cv_within"],
        cv_between=case["cv_between"]) == case["cells"]


@given(MINUTES, MINUTES, VARIANCES, VARIANCES)
def test_no_other_number_of_quadrats_pays_better(walk, quadrat, within, between):
    best = best_quadrats(walk, quadrat, within_variance=within, between_variance=between)

    def price(m):
        return (walk + m * quadrat) * (between + within / m)

    assert all(price(best) <= price(m) * (1 + 1e-12) for m in range(1, 2 * best + 3))


@given(st.floats(0.01, 0.5), st.integers(1, 8), st.floats(0.1, 1.5), st.floats(0.1, 1.5))
def test_one_cell_less_would_be_too_few(cv, quadrats, within, between):
    cells = cells_for_cv(cv, quadrats, cv_within=within, cv_between=between)

    def reached(n):
        return math.sqrt((between**2 + within**2 / quadrats) / n)

    assert reached(cells) <= cv * (1 + 1e-8)
    assert cells == 1 or reached(cells - 1) > cv


def test_rounding_asks_for_no_cell_more():
    # (0.25 + 0.64/4)/0.01 is 41 on paper, and not quite in doubles.
    assert cells_for_cv(0.1, 4, cv_within=0.8, cv_between=0.5) == 41
    assert cells_for_cv(0.099, 4, cv_within=0.8, cv_between=0.5) == 42


def test_quadrats_all_alike_in_a_cell_need_one():
    assert best_quadrats(30.0, 4.0, within_variance=0.0, between_variance=1.0) == 1


@pytest.mark.parametrize(
    ("walk", "quadrat", "within", "between"),
    [(-1.0, 4.0, 1.0, 1.0), (22.0, 0.0, 1.0, 1.0), (22.0, 4.0, -1.0, 1.0),
     (22.0, 4.0, 1.0, 0.0), (math.nan, 4.0, 1.0, 1.0)])
def test_times_and_variances_that_are_none_are_refused(walk, quadrat, within, between):
    with pytest.raises(SurveyError):
        best_quadrats(walk, quadrat, within_variance=within, between_variance=between)


@pytest.mark.parametrize(("cv", "quadrats"), [(0.0, 4), (-0.1, 4), (0.1, 0), (math.nan, 4)])
def test_no_number_of_cells_makes_a_mean_certain(cv, quadrats):
    with pytest.raises(SurveyError):
        cells_for_cv(cv, quadrats, cv_within=0.8, cv_between=0.5)
