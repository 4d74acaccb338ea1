"""The share of the moss that picking left, by quadrats from before and after."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.survey.design.ratio import simple_ratio
from sync.survey.quadrats import BARE, Index
from sync.survey.share_kept import CellQuadrats, share_kept


def cell(name, open_m2, before, after):
    """Quadrats whose pickable part is half of all moss."""
    return CellQuadrats(name, open_m2, tuple(Index(x, x / 2) for x in before),
                        tuple(Index(y, y / 2) for y in after))


def test_it_is_the_ratio_of_two_totals_with_cells_as_units():
    kept = share_kept([cell("A01", 1e4, [50, 70], [30]), cell("B01", 5e3, [40], [10, 30])])
    # By hand: Σx = 600 000 + 200 000, Σy = 300 000 + 100 000.
    assert kept.standing.value == pytest.approx(0.5)
    assert kept.standing.variance == 0.0
    assert (kept.cells, kept.before, kept.after, kept.picked_cells) == (("A01", "B01"), 3, 3, 2)
    kept = share_kept([cell("A01", 1.0, [60], [30]), cell("B01", 1.0, [40], [30])])
    # R = 0.6; residuals −6 and 6; V = 2/1·72/100².
    assert kept.pickable.value == pytest.approx(0.6)
    assert kept.pickable.variance == pytest.approx(2 * (18.0 / 50.0**2))
    assert kept.standing.variance == pytest.approx(0.0144)
    assert kept.standing.df == 1


_FEW = st.lists(st.tuples(st.floats(1, 100), st.floats(0, 100), st.floats(100, 1e4)),
                min_size=2, max_size=8)


@given(_FEW)
def test_it_agrees_with_the_ratio_of_the_designs_of_surveys(cells):
    """The design's ratio is held to published tables; of countless cells it corrects nothing."""
    x = np.array([a * before for before, _, a in cells])
    y = np.array([a * after for _, after, a in cells])
    design = simple_ratio(x, y, 1e12)
    kept = share_kept([cell(f"A{i:02d}", a, [before], [after])
                       for i, (before, after, a) in enumerate(cells)]).standing
    assert kept.value == pytest.approx(design.value)
    assert kept.variance == pytest.approx(design.variance, rel=1e-6, abs=1e-12)
    assert kept.df == design.df


def test_one_cell_tells_its_share_by_the_spread_of_its_quadrats():
    kept = share_kept([cell("A01", 1e4, [50, 70], [20, 40]), cell("B01", 1e4, [50], [])])
    assert (kept.cells, kept.picked_cells) == (("A01",), 2)
    assert kept.standing.value == pytest.approx(0.5)
    # s² = 200 on both sides, two quadrats each: (100 + 0.25·100)/60², df 125²/(100² + 25²).
    assert kept.standing.variance == pytest.approx(125 / 3600)
    assert kept.standing.df == pytest.approx(125**2 / (100**2 + 25**2))
    low, high = kept.standing.interval()
    assert low < 0.0 < 1.0 < high, "two quadrats a side settle nothing"


@pytest.mark.parametrize("picked", [
    [], [cell("A01", 1e4, [50], [])], [cell("A01", 1e4, [], [50])],
    [cell("A01", 1e4, [50, 60], [30])], [cell("A01", 1e4, [0, 0], [0, 0])],
    [cell("A01", 0.0, [50, 60], [30, 30]), cell("B01", 0.0, [50], [30])],
])
def test_what_cannot_be_told_is_not_measured(picked):
    kept = share_kept(picked)
    assert (kept.pickable, kept.standing) == (None, None)
    assert kept.why


def test_moss_with_nothing_pickable_before_has_a_share_of_all_moss_only():
    bare = Index(40.0, 0.0)
    kept = share_kept([CellQuadrats("A01", 1.0, (bare, bare), (BARE, Index(20.0, 0.0)))])
    assert kept.pickable is None
    assert kept.standing.value == pytest.approx(0.25)


def test_quadrats_all_alike_leave_no_doubt():
    kept = share_kept([cell("A01", 1e4, [50, 50], [25, 25])])
    assert (kept.standing.value, kept.standing.variance) == (0.5, 0.0)
    assert math.isfinite(kept.standing.df)
