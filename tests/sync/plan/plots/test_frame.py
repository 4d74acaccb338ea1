"""Which cells may be drawn, and whose turn is first."""

from datetime import date

import pytest
import shapely

from sync.block import Feature
from sync.plan.plots.frame import frame_of, soon_after

ON = date(2027, 6, 1)


def by_name(frame):
    return {cell.cell: cell for cell in frame.cells}


def test_a_rest_that_ends_soon_comes_first_never_measured_next(surveyed):
    found = frame_of(surveyed(ON))
    turns = {name: cell.turn for name, cell in by_name(found).items()}

    assert found.soon == date(2028, 11, 30)
    assert turns == {"A01": 0, "A02": 0, "B01": 0, "A03": 2, "B02": 2, "C01": 2,
                     "B03": 1, "C02": 1, "C03": 1}
    assert by_name(found)["A01"].why == "rest ends 2028-11-06, not measured since its pick"
    assert by_name(found)["B03"].why == "never measured"
    assert by_name(found)["C01"].why == "measured 2023-06-15"


def test_a_rest_that_ends_later_waits_and_one_measured_since_its_pick_too(surveyed, mire):
    early = frame_of(surveyed(date(2027, 4, 1)))
    assert by_name(early)["A01"].turn == 2
    later = frame_of(surveyed(ON, then=lambda book: book.note(
        "quadrat", date(2026, 6, 1), "SW", plot="A01-1", when="survey", side_m=0.5,
        cover_pct=50, depth_mm=[80, 90, 70])))
    assert by_name(later)["A01"].turn == 2
    assert by_name(later)["A02"].turn == 0


def test_what_nobody_measured_is_less_known_than_what_was(surveyed):
    cells = by_name(frame_of(surveyed(ON)))
    assert cells["B03"].unknown_kg > 1.2 * cells["A03"].unknown_kg
    assert all(cell.unknown_kg > 0.0 for cell in cells.values())


def test_a_class_without_a_quadrat_is_drawn_by_what_is_assumed(surveyed):
    found = frame_of(surveyed(ON, measured="A01 A02 A03 B02"))
    assert found.spreads["mound"].assumed
    assert not found.spreads["lawn"].assumed
    assert by_name(found)["C02"].unknown_kg > 0.0


def test_closed_ground_and_a_metre_beside_it_are_never_drawn(surveyed, mire):
    pool = Feature(mire.polygon(150, 150, 250, 250), {"why": "pool"})
    island = [Feature(mire.polygon(*box), {"why": "deep water"}) for box in
              ((0, 0, 100, 30), (0, 70, 100, 100), (0, 30, 30, 70), (70, 30, 100, 70))]
    found = frame_of(surveyed(ON, closures=[pool, *island]))

    assert found.out_of_reach == ("A01",)
    closed = shapely.box(mire.E0 + 150, mire.N0 + 150, mire.E0 + 250, mire.N0 + 250)
    assert by_name(found)["B02"].ground.distance(closed) == pytest.approx(1.0, abs=1e-3)
    assert by_name(found)["B02"].ground.bounds[0] == pytest.approx(mire.E0 + 101.0, abs=1e-3)


def test_a_day_at_the_end_of_time_has_no_later_one():
    assert soon_after(date.max, 18.0) == date.max
