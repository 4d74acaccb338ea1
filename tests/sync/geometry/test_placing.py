import math
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sync.errors import GeometryError
from sync.geometry.chance import sigma_of
from sync.geometry.ground import Hold, ground_on
from sync.geometry.placing import chances_of

EAST, NORTH = 1329400.0, 5249300.0


@pytest.fixture(scope="module")
def ground(nztm, block_of, feature, box):
    """Six columns of five with a slanted east side, a hole, a closure and a hold."""
    outline = [feature([(0, 0), (600, 0), (520, 500), (0, 500)], box(230, 230, 290, 260))]
    block = block_of(outline, closures=(feature(box(100, 100, 180, 160), why="pool"),))
    hold = Hold("sprayed", None, None, cells=("A05",))
    return ground_on(block, nztm, date(2026, 1, 22), holds=(hold,))


def test_a_bag_near_a_border_is_shared_as_published(published, ground):
    case = published["border"]
    found = chances_of(ground, EAST + 400 + case["east_m"], NORTH + 150, sigma_of(case["r68"]))

    assert found.cells["D02"] == pytest.approx(float(case["west_chance"]), abs=0.5e-6)
    assert found.cells["E02"] == pytest.approx(float(case["east_chance"]), abs=0.5e-6)
    assert found.outside == pytest.approx(0.0, abs=1e-12)


def test_kg_of_a_bag_near_a_border_go_by_the_chances(published, ground):
    # reference run: 6.758333 kg a bag, of which 1.930612 kg to the west and 4.827721 to the east
    kappa = (262.0 + 391.0 + 158.0) / (40 + 55 + 25)
    found = chances_of(ground, EAST + 403, NORTH + 150, sigma_of(8.0))

    assert kappa * found.cells["D02"] == pytest.approx(1.930612, abs=0.5e-6)
    assert kappa * found.cells["E02"] == pytest.approx(4.827721, abs=0.5e-6)


@settings(max_examples=60, deadline=None)
@given(st.floats(-100, 700), st.floats(-100, 600), st.floats(0.0, 80.0))
def test_all_cells_and_outside_add_up_to_one(ground, x, y, sigma):
    found = chances_of(ground, EAST + x, NORTH + y, sigma)

    assert sum(found.cells.values()) + found.outside == pytest.approx(1.0, abs=1e-7)
    assert all(0.0 < chance <= 1.0 for chance in found.cells.values())
    for part in (found.closed, found.held):
        for cell, chance in part.items():
            assert chance <= found.cells.get(cell, 0.0) + 1e-9


def test_closed_ground_and_holds_are_told_apart(ground):
    pool = chances_of(ground, EAST + 140, NORTH + 130, 1.0)
    sprayed = chances_of(ground, EAST + 50, NORTH + 450, 1.0)

    assert pool.closed["B02"] == pytest.approx(1.0)
    assert "B02" not in pool.held
    assert sprayed.held["A05"] == pytest.approx(1.0)
    assert not sprayed.closed


def test_a_fix_in_the_hole_is_outside(ground):
    found = chances_of(ground, EAST + 260, NORTH + 245, 1.0)

    assert found.outside == pytest.approx(1.0)
    assert sum(found.cells.values()) == pytest.approx(0.0, abs=1e-12)


def test_a_fix_far_away_is_outside_and_in_no_cell(ground):
    for away in (1e4, 1e6, 1e200):
        found = chances_of(ground, EAST - away, NORTH, 5.0)

        assert (dict(found.cells), found.outside) == ({}, 1.0)


def test_a_fix_without_error_is_in_one_cell_or_shared_at_a_border(ground):
    assert dict(chances_of(ground, EAST + 150, NORTH + 50, 0.0).cells) == {"B01": 1.0}
    assert dict(chances_of(ground, EAST + 200, NORTH + 50, 0.0).cells) == {"B01": 0.5, "C01": 0.5}


@pytest.mark.parametrize(("e", "sigma"), [(math.nan, 1.0), (math.inf, 1.0), (EAST, -1.0)])
def test_an_impossible_fix_is_refused(ground, e, sigma):
    with pytest.raises(GeometryError):
        chances_of(ground, e, NORTH, sigma)


@settings(max_examples=100)
@given(st.floats(-100, 700), st.floats(-100, 600), st.floats(0.0, 80.0))
def test_what_a_cell_knows_of_the_border_saves_a_look_and_changes_no_chance(ground, x, y, sigma):
    unknown = replace(ground, cells={name: replace(cell, clear_m=0.0)
                                     for name, cell in ground.cells.items()})

    assert chances_of(ground, EAST + x, NORTH + y, sigma) == (
        chances_of(unknown, EAST + x, NORTH + y, sigma))


def test_a_cell_knows_how_far_the_border_is(ground):
    # a hole from 230 to 290 m east and 230 to 260 m north; B02 ends at 200 m, B04 begins at 300 m
    assert ground.cells["A01"].clear_m == ground.cells["C03"].clear_m == 0.0
    assert ground.cells["B02"].clear_m == pytest.approx(math.hypot(30, 30))
    assert ground.cells["B04"].clear_m == pytest.approx(math.hypot(30, 40))
