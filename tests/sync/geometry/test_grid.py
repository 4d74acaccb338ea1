import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.block import Grid
from sync.errors import GeometryError
from sync.geometry.grid import (
    MOST_COLUMNS,
    MOST_ROWS,
    cell_index,
    cell_name,
    cell_of,
    cell_square,
    origin_for,
)

GRID = Grid(1329400.0, 5249300.0, 100.0)


@pytest.mark.parametrize(("col", "row", "name"), [
    (0, 0, "A01"), (2, 6, "C07"), (25, 98, "Z99"), (26, 99, "AA100"), (51, 0, "AZ01"),
    (52, 0, "BA01"), (701, 998, "ZZ999"),
])
def test_columns_are_lettered_from_the_west_and_rows_numbered_from_the_south(col, row, name):
    assert cell_name(col, row) == name
    assert cell_index(name) == (col, row)


@given(st.integers(0, MOST_COLUMNS - 1), st.integers(0, MOST_ROWS - 1))
def test_every_cell_has_one_name_and_its_middle_lies_in_it(col, row):
    name = cell_name(col, row)
    west, south, east, north = cell_square(GRID, name)

    assert cell_index(name) == (col, row)
    assert cell_of(GRID, (west + east) / 2, (south + north) / 2) == name
    assert (east - west, north - south) == (100.0, 100.0)


@pytest.mark.parametrize("name", ["", "C7", "C007", "C00", "c07", "7C", "AAA01", "C1000", "C07 "])
def test_a_name_of_another_form_is_refused(name):
    with pytest.raises(GeometryError, match="write it as C07"):
        cell_index(name)


@pytest.mark.parametrize(("col", "row"), [(-1, 0), (0, -1), (702, 0), (0, 999)])
def test_a_cell_beyond_the_names_is_refused(col, row):
    with pytest.raises(GeometryError, match="A01 to ZZ999"):
        cell_name(col, row)


def test_a_border_belongs_to_the_cell_east_or_north_of_it():
    assert cell_of(GRID, 1329400.0, 5249300.0) == "A01"
    assert cell_of(GRID, 1329500.0, 5249300.0) == "B01"
    assert cell_of(GRID, math.nextafter(1329500.0, 0), 5249400.0) == "A02"


@pytest.mark.parametrize(("e", "n"), [
    (1329399.9, 5249350.0), (1329450.0, 5249299.9), (1329400.0 + 70300, 5249350.0),
    (math.nan, 5249350.0), (1329450.0, math.inf),
])
def test_a_place_before_the_origin_or_beyond_the_names_is_in_no_cell(e, n):
    assert cell_of(GRID, e, n) is None


def test_an_origin_lies_on_whole_cells_with_the_margin_to_the_west_and_south():
    assert origin_for((1329612.0, 5249588.0, 1330700.0, 5250500.0), 100.0, 2) == (
        1329400.0, 5249300.0)
    assert origin_for((-12.0, 30.0, 40.0, 90.0), 50.0, 0) == (-50.0, 0.0)


@pytest.mark.parametrize("cell_m", [24.9, 0.0, -100.0, math.nan, math.inf])
def test_cells_too_small_for_a_receiver_are_refused(cell_m):
    with pytest.raises(GeometryError, match="at least 25 m"):
        origin_for((0.0, 0.0, 1000.0, 1000.0), cell_m, 2)


def test_a_block_too_wide_for_the_names_is_refused():
    with pytest.raises(GeometryError, match="A01 to ZZ999"):
        origin_for((0.0, 0.0, 80000.0, 1000.0), 100.0, 2)
