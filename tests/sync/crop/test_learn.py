"""The growth rate by re-measured cells: the reference run, the ways it can fail, a known truth."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.crop.learn import FASTEST, Regrown, learn_growth, predicted_kg
from sync.crop.walk import Growth

PRIOR = Growth(0.4, 0.2**2, 0.8)


def cell(mark=6000.0, left=3000.0, years=2.0, measured=4500.0, cv=0.35, name="B02"):
    return Regrown(name, mark, left, years, measured, (cv * measured) ** 2, ("p1-aaaa:1",))


@pytest.fixture
def four(printed):
    given_cells = printed["learned"]
    return [cell(c, c - g, t, m, given_cells["measured_cv"]) for c, g, t, m in zip(
        given_cells["mark_kg"], given_cells["picked_kg"], given_cells["years"],
        given_cells["measured_kg"], strict=True)]


def test_four_cells_teach_the_printed_rate(printed, agrees, four):
    figures = printed["learned"]
    for one, share in zip(four, figures["shares_left"], strict=True):
        assert agrees(0.8 * one.left_kg / one.mark_kg, share)
    assert sum(one.measured_kg for one in four) == figures["measured_sum"]
    assert agrees(sum(predicted_kg(one, 0.0, 0.8) for one in four), figures["predicted_at_0"])
    assert agrees(sum(predicted_kg(one, 0.4, 0.8) for one in four), figures["predicted_at_prior"])

    found = learn_growth(PRIOR, four)

    assert agrees(found.rate, figures["rate"])
    assert agrees(math.sqrt(found.variance), figures["sd_by_stated"])
    stated = math.sqrt(sum(one.measured_var for one in four))
    assert agrees(stated / math.sqrt(found.variance), figures["slope"])
    assert agrees(found.growth.rate, figures["blended"])
    assert agrees(math.sqrt(found.growth.variance), figures["blended_sd"])


def test_where_scatter_is_the_larger_it_is_the_scatter_that_counts(printed, agrees, four):
    exact = [Regrown(o.cell, o.mark_kg, o.left_kg, o.years, o.measured_kg, 0.0, ()) for o in four]
    found = learn_growth(PRIOR, exact)
    # The printed scatter is taken at the blend of the stated errors; here it is taken at its own.
    assert math.sqrt(found.variance) == pytest.approx(
        float(printed["learned"]["sd_by_scatter"]), rel=0.2)


def test_no_cell_leaves_local_knowledge_as_it_is():
    found = learn_growth(PRIOR, [])
    assert (found.growth, found.rate, found.variance, found.regrown) == (PRIOR, None, None, ())


def test_a_cell_measured_on_the_day_of_its_pick_teaches_nothing():
    assert learn_growth(PRIOR, [cell(years=0.0, measured=3300.0)]).growth == PRIOR


def test_moss_that_shrank_grows_at_nothing_and_not_less():
    found = learn_growth(PRIOR, [cell(measured=1000.0, cv=0.01)] * 3)
    assert found.rate == 0.0
    assert 0.0 <= found.growth.rate < 0.1


def test_moss_that_is_back_at_once_is_believed_three_times_local_knowledge_at_most():
    found = learn_growth(PRIOR, [cell(measured=20000.0, cv=0.05)] * 3)
    assert found.rate == FASTEST * PRIOR.rate
    assert found.growth.rate <= FASTEST * PRIOR.rate


@given(st.lists(st.tuples(st.floats(100, 20000), st.floats(0.02, 0.95), st.floats(0.1, 8.0),
                          st.floats(0, 20000), st.floats(0.01, 1.0)), min_size=1, max_size=8))
def test_the_blend_lies_between_both_and_is_known_better(cells):
    found = learn_growth(PRIOR, [cell(c, b * c, t, m, cv) for c, b, t, m, cv in cells])
    if found.rate is None:
        return
    low, high = sorted((PRIOR.rate, found.rate))
    assert low - 1e-12 <= found.growth.rate <= high + 1e-12
    assert found.growth.variance <= PRIOR.variance


def blocks(true_rate, rng, count=300, cells=15):
    """Made-up blocks of cells measured before and after, each figure with an error of 35 %."""
    for _ in range(count):
        mark = 5000 * np.exp(rng.normal(0, 0.35, cells))
        left = mark * rng.uniform(0.4, 0.7, cells)
        years = rng.uniform(1.5, 3.0, cells)
        now = [predicted_kg(cell(c, k, t), true_rate, 0.8)
               for c, k, t in zip(mark, left, years, strict=True)]
        measured = np.array(now) * np.maximum(0.05, rng.normal(1, 0.35, cells))
        yield [cell(c, k, t, m) for c, k, t, m in zip(mark, left, years, measured, strict=True)]


def test_by_the_cells_alone_the_rate_is_the_true_one_and_its_range_holds():
    found = [learn_growth(PRIOR, one) for one in blocks(0.4, np.random.default_rng(417))]
    assert np.mean([one.rate for one in found]) == pytest.approx(0.40, abs=0.02)
    held = [abs(one.rate - 0.4) <= 1.645 * math.sqrt(one.variance) for one in found]
    assert np.mean(held) >= 0.86


def test_good_news_is_believed_slowly():
    found = [learn_growth(PRIOR, one) for one in blocks(0.8, np.random.default_rng(5))]
    assert 0.45 < np.mean([one.growth.rate for one in found]) < 0.75


def unsure(true_rate, rng, count=400, cells=6):
    """Made-up blocks whose marks, bags and density are as uncertain as they are in a swamp."""
    for _ in range(count):
        density, bag = rng.normal(1.0, 0.10), rng.normal(1.0, 0.05)
        made = []
        for _ in range(cells):
            mark, years = 5000 * np.exp(rng.normal(0, 0.35)), rng.uniform(1.5, 3.0)
            taken = rng.uniform(0.3, 0.6) * mark
            now = predicted_kg(cell(mark, mark - taken, years), true_rate, 0.8)
            seen_mark, seen_taken = density * mark * rng.normal(1, 0.2), bag * taken
            seen_taken *= rng.normal(1, 0.05)
            measured = density * now * max(0.05, rng.normal(1, 0.3))
            made.append(Regrown(
                "B02", seen_mark, max(seen_mark - seen_taken, 0.02 * seen_mark), years, measured,
                (0.3 * measured) ** 2, (), mark_var=(0.2 * seen_mark) ** 2,
                taken_var=(0.05 * seen_taken) ** 2, shared_cv2=0.10**2 + 0.05**2))
        yield made


def test_the_range_holds_though_mark_bags_and_density_are_unsure_too():
    held = []
    for made in unsure(0.4, np.random.default_rng(11)):
        found = learn_growth(PRIOR, made)
        held.append(abs(found.rate - 0.4) <= 1.645 * math.sqrt(found.variance))
    assert 0.84 <= np.mean(held) <= 0.97
