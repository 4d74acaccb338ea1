from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sync.block import Grid
from sync.errors import GeometryError
from sync.geometry.crs import projection
from sync.geometry.ground import Hold, ground_on
from sync.geometry.shapes import area_m2, covers, union_of
from sync.settings import Tunables

DAY = date(2026, 1, 22)
HECTARE = 9990.0  # of the map, near 42.9 S 169.7 E; the ground there measures this much or so


@pytest.fixture(scope="module")
def ground(nztm, block_of):
    return lambda outline, *, day=DAY, holds=(), **maps: ground_on(
        block_of(outline, **maps), nztm, day, holds=holds)


def test_cells_are_the_squares_within_the_outline_by_column_and_row(ground, feature, box):
    found = ground([feature(box(50, 0, 250, 200))])

    assert list(found.cells) == ["A01", "A02", "B01", "B02", "C01", "C02"]
    assert [cell.rectangular for cell in found.cells.values()] == [
        False, False, True, True, False, False]
    assert found.cells["A01"].area_m2 == pytest.approx(
        found.cells["B01"].area_m2 / 2, rel=1e-4)
    assert sum(cell.area_m2 for cell in found.cells.values()) == pytest.approx(
        found.outline_area_m2, rel=1e-9)


def test_areas_are_those_of_the_ground_and_not_of_the_map(ground, feature, box, nztm):
    found = ground([feature(box(0, 0, 100, 100))])
    scale = nztm.point_scale(*nztm.to_deg(1329450.0, 5249350.0))

    assert found.cells["A01"].area_m2 == pytest.approx(10000.0 / scale**2, rel=1e-6)
    assert found.cells["A01"].area_m2 == pytest.approx(HECTARE, rel=1e-3)


def test_a_hole_in_the_outline_is_no_ground(ground, feature, box):
    found = ground([feature(box(0, 0, 300, 300), box(100, 100, 200, 200), box(220, 20, 260, 60))])

    assert "B02" not in found.cells
    assert found.cells["C01"].area_m2 == pytest.approx(0.84 * HECTARE, rel=1e-3)
    assert not found.cells["C01"].rectangular


def test_a_sliver_is_no_cell(ground, feature, box):
    found = ground([feature(box(0, 0, 100.005, 200))])

    assert list(found.cells) == ["A01", "A02"]
    assert list(ground([feature(box(0, 0, 100.02, 200))]).cells) == ["A01", "A02", "B01", "B02"]


def test_the_least_area_of_a_cell_is_a_setting(nztm, block_of, feature, box):
    block = block_of([feature(box(0, 0, 150, 100))])

    assert list(ground_on(block, nztm, DAY, settings=Tunables(sliver_m2=6000.0)).cells) == ["A01"]


def test_a_strip_bought_later_changes_no_earlier_day(ground, feature, box):
    outline = [feature(box(0, 0, 100, 100), parcel="Old"),
               feature(box(100, 0, 200, 100), parcel="New", since=date(2026, 1, 1)),
               feature(box(0, 100, 100, 200), parcel="Sold", until=date(2025, 12, 31))]

    assert list(ground(outline, day=date(2025, 12, 31)).cells) == ["A01", "A02"]
    assert list(ground(outline, day=date(2026, 1, 1)).cells) == ["A01", "B01"]
    assert ground(outline, day=date(2026, 1, 1)).cells["B01"].parcel == "New"


def test_a_day_on_which_no_outline_holds_has_no_ground(ground, feature, box):
    found = ground([feature(box(0, 0, 100, 100), since=date(2027, 1, 1))])

    assert (dict(found.cells), found.outline_area_m2) == ({}, 0.0)


def test_a_cell_goes_with_the_parcel_of_most_of_its_ground(ground, feature, box):
    found = ground([feature(box(0, 0, 40, 100), parcel="West"),
                    feature(box(40, 0, 100, 100), parcel="East"),
                    feature(box(100, 0, 150, 100), parcel="West"),
                    feature(box(150, 0, 200, 100), parcel="East"),
                    feature(box(200, 0, 300, 100))])

    assert [found.cells[c].parcel for c in ("A01", "B01", "C01")] == ["East", "East", None]


def test_closures_are_cut_from_the_open_ground_and_say_why_and_until(ground, feature, box):
    pool = feature(box(50, 0, 150, 100), why="pool", until=date(2026, 3, 2))
    found = ground([feature(box(0, 0, 300, 100))], closures=(pool,))
    closing, = found.closures_of("A01")

    assert (closing.why, closing.since, closing.until) == ("pool", None, date(2026, 3, 2))
    assert found.cells["A01"].open_m2 == pytest.approx(found.cells["A01"].area_m2 / 2, rel=1e-4)
    assert found.cells["A01"].rectangular
    assert found.closed_shape("A01").area == pytest.approx(5000.0, rel=1e-6)
    assert found.closures_of("C01") == ()
    assert found.closed_shape("C01").is_empty
    assert found.cells["C01"].open_m2 == found.cells["C01"].area_m2
    assert found.closures_of("Z99") == ()
    assert found.closed_shape("Z99").is_empty


def test_a_closure_closes_on_its_own_days_only(ground, feature, box):
    pool = feature(box(0, 0, 100, 100), since=date(2026, 1, 10), until=date(2026, 1, 20))
    open_m2 = {day: ground([feature(box(0, 0, 100, 100))], day=date(2026, 1, day),
                           closures=(pool,)).cells["A01"].open_m2 for day in (9, 10, 20, 21)}

    assert [open_m2[day] > 0 for day in (9, 10, 20, 21)] == [True, False, False, True]


def test_overlapping_closures_close_once(ground, feature, box):
    both = (feature(box(0, 0, 60, 100), why="pool"), feature(box(40, 0, 80, 100), why="nest"))
    found = ground([feature(box(0, 0, 100, 100))], closures=both)

    assert found.cells["A01"].open_m2 == pytest.approx(0.2 * HECTARE, rel=1e-3)
    assert [closing.why for closing in found.closures_of("A01")] == ["pool", "nest"]


def test_open_ground_under_a_sliver_is_none(ground, feature, box):
    found = ground([feature(box(0, 0, 100, 100))],
                   closures=(feature(box(0.005, -10, 100, 110), why="pool"),))

    assert found.cells["A01"].open_m2 == 0.0
    assert found.cells["A01"].open_shape.is_empty


def test_a_closure_that_only_touches_closes_nothing(ground, feature, box):
    found = ground([feature(box(0, 0, 100, 100))],
                   closures=(feature(box(100, 0, 200, 100), why="next door"),))

    assert found.closures_of("A01") == ()
    assert found.cells["A01"].open_m2 == pytest.approx(found.cells["A01"].area_m2, rel=1e-9)


def test_a_hold_closes_cells_or_an_outline_between_its_days(ground, feature, box):
    strip = feature(box(150, 0, 200, 100)).geometry
    holds = (Hold("sprayed", date(2026, 1, 1), date(2026, 3, 2), cells=("A01", "Z99")),
             Hold("sprayed", date(2026, 1, 1), date(2026, 3, 2), outline=strip),
             Hold("sprayed", date(2025, 1, 1), date(2025, 3, 2), cells=("B01",)))
    found = ground([feature(box(0, 0, 200, 100))], holds=holds)

    assert found.cells["A01"].open_m2 == 0.0
    assert found.cells["B01"].open_m2 == pytest.approx(0.5 * HECTARE, rel=1e-3)
    assert found.closures_of("A01")[0].hold
    assert found.cells["A01"].closed.is_empty
    assert found.cells["A01"].held.area == pytest.approx(10000.0)


def test_the_class_is_that_of_most_of_the_open_ground(ground, feature, box):
    classes = (feature(box(0, 0, 60, 100), ground_class="lawn"),
               feature(box(60, 0, 200, 100), ground_class="mound"))
    pool = feature(box(0, 0, 40, 100), why="pool")
    outline = [feature(box(0, 0, 200, 100))]

    assert ground(outline, classes=classes).cells["A01"].ground_class == "lawn"
    assert ground(outline, classes=classes, closures=(pool,)).cells["A01"].ground_class == "mound"


def test_a_closed_cell_has_the_class_of_most_of_all_its_ground(ground, feature, box):
    classes = (feature(box(0, 0, 60, 100), ground_class="mound"),
               feature(box(60, 0, 100, 100), ground_class="edge"))
    found = ground([feature(box(0, 0, 100, 100))], classes=classes,
                   closures=(feature(box(-5, -5, 105, 105), why="pool"),))

    assert found.cells["A01"].ground_class == "mound"


def test_of_two_classes_with_as_much_the_first_by_name_counts(ground, feature, box):
    halves = (feature(box(0, 0, 50, 100), ground_class="rushy"),
              feature(box(50, 0, 100, 100), ground_class="lawn"))
    for classes in (halves, halves[::-1]):
        found = ground([feature(box(0, 0, 100, 100))], classes=classes)

        assert found.cells["A01"].ground_class == "lawn"


def test_ground_that_the_class_map_leaves_out_or_does_not_name_is_all(ground, feature, box):
    outline = [feature(box(0, 0, 400, 100))]
    classes = (feature(box(0, 0, 140, 100), ground_class="lawn"), feature(box(200, 0, 300, 100)))
    found = ground(outline, classes=classes)

    assert [cell.ground_class for cell in found.cells.values()] == ["lawn", "all", "all", "all"]
    assert ground(outline).cells["A01"].ground_class == "all"


def test_a_class_drawn_twice_counts_once(ground, feature, box):
    classes = (feature(box(0, 0, 40, 100), ground_class="lawn"),
               feature(box(0, 0, 40, 100), ground_class="lawn"),
               feature(box(40, 0, 100, 100), ground_class="mound"))

    assert ground([feature(box(0, 0, 100, 100))],
                  classes=classes).cells["A01"].ground_class == "mound"


def test_an_outline_before_the_origin_is_another_block(ground, feature, box):
    with pytest.raises(GeometryError, match=r"reaches 20 m before the grid's origin"):
        ground([feature(box(-20, 0, 100, 100))])


def test_a_block_without_an_outline_is_refused(ground):
    with pytest.raises(GeometryError, match=r"outline.geojson: holds no polygon"):
        ground([])


def test_a_broken_map_is_refused_by_its_name_and_feature(ground, feature, box):
    bow_tie = feature([(0, 0), (100, 100), (100, 0), (0, 100)])

    with pytest.raises(GeometryError, match=r"closures.geojson feature 2: Self-intersection"):
        ground([feature(box(0, 0, 100, 100))], closures=(feature(box(0, 0, 9, 9)), bow_tie))


def test_a_grid_of_tiny_cells_or_another_countrys_system_is_refused(block_of, nztm, feature, box):
    block = block_of([feature(box(0, 0, 100, 100))])
    tiny = block_of([feature(box(0, 0, 100, 100))]).__class__(
        **{**block.__dict__, "grid": Grid(1329400.0, 5249300.0, 20.0)})

    with pytest.raises(GeometryError, match="at least 25 m"):
        ground_on(tiny, nztm, DAY)
    with pytest.raises(GeometryError, match="is not in"):
        ground_on(block, projection(32633), DAY)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 300), st.integers(0, 300)), min_size=3, max_size=3,
                unique=True),
       st.lists(st.tuples(st.integers(0, 250), st.integers(0, 250), st.integers(5, 120)),
                max_size=3))
def test_cells_share_the_ground_out_whatever_its_shape(nztm, feature, block_of, corners, pools):
    (x0, y0), (x1, y1), (x2, y2) = corners
    if abs((x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)) < 2000:
        return
    closures = tuple(feature([(x, y), (x + s, y), (x + s, y + s), (x, y + s)], why="pool")
                     for x, y, s in pools)
    found = ground_on(block_of([feature(corners)], closures=closures), nztm, DAY)
    cells = found.cells.values()

    assert sum(c.area_m2 for c in cells) == pytest.approx(found.outline_area_m2, abs=20.0)
    for cell in cells:
        closed_m2 = area_m2(nztm, found.closed_shape(cell.cell))
        assert cell.open_m2 == pytest.approx(cell.area_m2 - closed_m2, abs=1.01)
        assert bool(cell.closings) == (closed_m2 > 0.009)
    joined = union_of([c.shape for c in cells])
    e, n = np.random.default_rng(1).uniform(0, 300, (2, 50))
    off = covers(found.outline, e + 1329400, n + 5249300) != covers(
        joined, e + 1329400, n + 5249300)
    assert off.sum() <= 1
