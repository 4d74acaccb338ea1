"""By machine: trips and cost by the owner's rates, ways around closed ground, driven cells."""

from datetime import date

import pytest

from sync.block import Costs, Feature
from sync.plan.lifts.driven import days_driven, driven_of
from sync.plan.lifts.machine import by_machine, driven_m, under_wheels_ha
from sync.plan.lifts.plan import plan_lifts
from sync.plan.works import works_of

DAY, LATER = date(2025, 11, 12), date(2025, 11, 19)


@pytest.mark.parametrize(("costs", "bags", "trips", "cost"), [
    (Costs(machine_bags=20.0, machine_trip_each=140.0), 46.0, 3, 420.0),
    (Costs(machine_bags=20.0, machine_trip_each=140.0), 40.0, 2, 280.0),
    (Costs(machine_bags=20.0, machine_trip_each=140.0), 40.5, 3, 420.0),
    (Costs(machine_bags=20.0), 46.0, 3, None),
    (Costs(machine_trip_each=140.0), 46.0, None, None),
])
def test_trips_go_by_the_bags_that_a_trip_takes(scale, costs, bags, trips, cost):
    found = by_machine(costs, scale.at("K-1", bags), {})

    assert (found.trips, found.cost, found.drive) == (trips, cost, None)
    assert driven_m(found) is None


def test_the_way_is_straight_over_open_ground_and_told_by_cell(scale):
    plan = plan_lifts(scale.register(), [scale.at("K-1", 46, 150, 250)], ())

    (one,) = plan.piles
    assert one.machine.drive.length_m == pytest.approx(270.0, abs=0.01)
    assert dict(one.machine.drive.cells) == {
        "B01": pytest.approx(100.0, abs=0.01), "B02": pytest.approx(100.0, abs=0.01),
        "B03": pytest.approx(50.0, abs=0.01)}
    assert driven_m(one.machine) == pytest.approx(2 * 3 * 270.0, abs=0.1)
    assert under_wheels_ha(one.machine, 2.5) == pytest.approx(0.0675, abs=1e-5)


def test_no_machine_goes_over_closed_ground(scale, mire):
    pool = Feature(mire.polygon(110, 110, 190, 190), {"why": "pool"})
    piles = [scale.at("K-1", 46, 150, 250), scale.at("in the pool", 5, 150, 150)]

    plan = plan_lifts(scale.register(closures=(pool,)), piles, ())

    drives = {one.pile.label: one.machine.drive for one in plan.piles}
    assert drives["K-1"].length_m > 272.0
    assert drives["K-1"].bends
    assert drives["in the pool"] is None


def test_without_a_gate_or_a_place_there_is_no_way(scale):
    plan = plan_lifts(scale.register(), [scale.at("K-1", 46)], ())

    assert plan.piles[0].machine.drive is None


def test_driven_cells_are_told_whole_and_a_driven_strip_by_its_ground(scale, mire):
    scale.book.note("work", DAY, what="driven", cells=["A01", "B01"])
    scale.book.note("work", LATER, what="driven", outline=mire.polygon(148, 0, 151, 200))
    scale.book.note("work", LATER, what="rolled", cells=["C01"])

    cells, strip = driven_of(scale.register())

    assert (cells.day, cells.cells, cells.whole_cells) == (DAY, ("A01", "B01"), True)
    assert cells.area_ha == pytest.approx(2.0, abs=0.01)
    assert (strip.cells, strip.whole_cells) == (("B01", "B02"), False)
    assert strip.area_ha == pytest.approx(0.06, abs=0.0005)
    assert days_driven((cells, strip), "B01") == (DAY, LATER)
    assert days_driven((cells, strip), "C01") == ()


def test_a_strip_of_other_work_still_needs_a_tenth_of_a_cell(scale, mire):
    scale.book.note("work", DAY, what="rolled", outline=mire.polygon(148, 0, 151, 200))

    assert [work.cells for work in works_of(scale.register())] == [()]


def test_what_was_driven_after_the_day_or_elsewhere_is_not_told(scale, mire, day_after):
    scale.book.note("work", day_after(1), what="driven", cells=["A01"])
    scale.book.note("work", DAY, what="driven", outline=mire.polygon(500, 500, 503, 700))

    assert driven_of(scale.register()) == ()
