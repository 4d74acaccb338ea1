"""The surveyor's walk."""

import pytest

from fieldapp.capture.book import CaptureError
from fieldapp.capture.outing import Outing
from fieldapp.capture.places import beyond_block, distance_m, way_to
from fieldapp.capture.quadrat import Quadrat
from fieldapp.capture.walk import Walk, is_moving
from fieldapp.record import Where


@pytest.fixture
def sheet(make_sheet, make_plot):
    return make_sheet(plots=[
        make_plot("031", "A01", 40, 60), make_plot("032", "B01", 160, 50),
        make_plot("033", "B01", 190, 50), make_plot("034", "B01", 110, 50, spare=True),
        make_plot("035", "B01", 120, 50, spare=True), make_plot("036", "C01", 250, 50,
                                                                again=True)])


@pytest.fixture
def outing(book, hand, sheet):
    outing = Outing(book)
    outing.start("SW", "surveyor", sheet=sheet, **hand())
    return outing


@pytest.fixture
def walk(outing, sheet):
    return Walk(outing, sheet)


@pytest.fixture
def note(outing, hand):
    def note_one(plot):
        quadrat = Quadrat.begin(outing, plot, **hand())
        quadrat.value(0)
        quadrat.none()
        return quadrat.save(now=hand.now)
    return note_one


def names(plots):
    return [plot.name for plot in plots]


def test_the_nearest_plot_left_is_proposed(hand, walk, sheet, note):
    assert walk.next(hand.now, hand.where).plot.name == "032"
    note(sheet.plots[1])
    assert walk.next(hand.now, hand.where).plot.name == "033"


def test_other_steps_to_the_next_nearest_and_round_again(hand, walk):
    steps = [walk.other(hand.now, hand.where).plot.name for _ in range(4)]
    assert steps == ["033", "036", "031", "032"]


def test_a_plot_asked_for_stays_proposed_until_it_is_done(hand, walk, sheet, note):
    walk.other(hand.now, hand.where)
    hand.go(41.0, 60.0)
    assert walk.next(hand.now, hand.where).plot.name == "033"
    note(sheet.plots[2])
    assert walk.next(hand.now, hand.where).plot.name == "031"


def test_a_plot_once_reached_stays_proposed_though_another_comes_nearer(hand, walk, sheet, note):
    hand.go(161.0, 50.0)
    assert walk.next(hand.now, hand.where).reached
    hand.go(186.0, 50.0)  # four metres from 033, where the moss is nicer
    way = walk.next(hand.now, hand.where)
    assert (way.plot.name, way.reached) == ("032", False)
    note(sheet.plots[1])
    assert walk.next(hand.now, hand.where).plot.name == "033"


def test_the_way_is_told_for_eye_and_compass(hand, walk, sheet):
    hand.go(190.0, 20.0)
    way = walk.way(sheet.plots[1], hand.where)
    assert way.distance_m == pytest.approx(30 * 2**0.5)
    assert (way.bearing_deg, way.compass_deg) == (pytest.approx(315.0), pytest.approx(291.4))
    assert (way.wind, way.reached) == ("NW", False)


@pytest.mark.parametrize(("x", "acc_m", "reached"), [
    (157.1, 1.0, True), (156.9, 1.0, False), (153.0, 8.0, True), (151.0, 8.0, False)])
def test_one_has_arrived_within_three_metres_or_the_fix_s_radius(
        hand, walk, sheet, x, acc_m, reached):
    assert walk.way(sheet.plots[1], hand.at(x, 50.0, acc_m=acc_m)).reached is reached


def test_without_a_fix_the_sheet_s_order_holds(hand, walk):
    way = walk.next(hand.now, None)
    assert (way.plot.name, way.distance_m, way.wind, way.reached) == ("031", None, None, False)


def test_a_spare_stands_in_only_for_a_plot_that_was_not_seen(hand, walk, sheet):
    walk.skip(sheet.plots[0], "unsafe", **hand())
    walk.skip(sheet.plots[1], "pool", **hand())
    assert names(walk.left(hand.now)) == ["033", "036"]
    walk.skip(sheet.plots[2], "flooded_today", **hand())
    assert names(walk.left(hand.now)) == ["034", "036"]


def test_a_spare_not_seen_passes_its_place_on_and_one_seen_fills_it(hand, walk, sheet, note):
    walk.skip(sheet.plots[2], "other", note="bull", **hand())
    walk.skip(sheet.plots[3], "unsafe", **hand())
    assert names(walk.left(hand.now)) == ["031", "032", "035", "036"]
    note(sheet.plots[4])
    assert names(walk.left(hand.now)) == ["031", "032", "036"]


def test_a_quadrat_outweighs_a_skip(hand, walk, sheet, note):
    walk.skip(sheet.plots[1], "flooded_today", **hand())
    note(sheet.plots[1])
    assert "034" not in names(walk.left(hand.now))


def test_a_skip_is_on_disk_with_its_reason(book, hand, walk, sheet):
    walk.skip(sheet.plots[1], "pool", press_ms=80, **hand())
    assert book.record(2) == {
        "device": "p3-k7f2", "seq": 2, "kind": "skip", "at": "2026-01-20T18:40:00.000Z",
        "person": "SW", "plot": "032", "why": "pool", "press_ms": 80,
        "where": book.record(1)["where"]}


def test_a_plot_of_no_sheet_is_not_skipped(book, hand, walk, make_sheet, make_plot):
    stranger = make_sheet(plots=[make_plot("099", "A01", 1, 1)]).plots[0]
    with pytest.raises(CaptureError, match="'099' is not on the sheet"):
        walk.skip(stranger, "pool", **hand())
    assert book.last_seq() == 1


def test_an_undone_quadrat_leaves_its_plot_to_do(hand, outing, walk, sheet, note):
    record = note(sheet.plots[1])
    assert "032" not in names(walk.left(hand.now))
    outing.note("void", of=f"p3-k7f2:{record['seq']}", **hand())
    assert "032" in names(walk.left(hand.now))


def test_another_person_s_plot_is_still_mine_if_it_is_asked_for_again(
        hand, outing, walk, sheet, note):
    note(sheet.plots[1])
    note(sheet.plots[5])
    assert "036" not in names(walk.left(hand.now))
    outing.start("MT", "surveyor", **hand())
    assert "032" not in names(walk.left(hand.now))
    assert "036" in names(walk.left(hand.now))
    note(sheet.plots[5])
    assert "036" not in names(walk.left(hand.now))
    outing.start("RK", "surveyor", **hand())
    assert "036" not in names(walk.left(hand.now))


def test_what_the_shed_held_when_it_asked_does_not_do_a_plot(
        hand, outing, make_sheet, make_plot, sheet, note):
    note(sheet.plots[1])
    plots = [make_plot("032", "B01", 160, 50), make_plot("036", "C01", 250, 50, again=True)]
    newer = make_sheet(plots=plots, held=[[1, 2]])
    assert names(Walk(outing, newer).left(hand.now)) == ["032", "036"]


def test_what_the_shed_holds_of_another_device_does_not_open_a_plot_again(
        hand, outing, make_sheet, make_plot, sheet, note):
    note(sheet.plots[1])
    newer = make_sheet(plots=[make_plot("032", "B01", 160, 50)], held=[[1, 2]], held_of="p3-aaaa")
    assert names(Walk(outing, newer).left(hand.now)) == []


def test_nobody_reads_his_own_plot_a_second_time_in_one_survey(
        hand, outing, make_sheet, make_plot, sheet, note):
    note(sheet.plots[5])
    newer = make_sheet(plots=[make_plot("036", "C01", 250, 50, again=True)], held=[[1, 9]])
    assert names(Walk(outing, newer).left(hand.now)) == []
    hand.wait(days=121)
    assert names(Walk(outing, newer).left(hand.now)) == ["036"]


def test_with_nothing_left_nothing_is_proposed(hand, outing, make_sheet):
    walk = Walk(outing, make_sheet())
    assert walk.next(hand.now, hand.where) is None
    assert walk.other(hand.now, hand.where) is None


def test_a_direction_is_believed_only_when_the_fixes_span_twice_their_radius(hand):
    def fixes(step):
        return [hand.at(100.0 + step * k, 50.0, acc_m=4.0) for k in range(3)]
    assert is_moving(fixes(4.1))
    assert not is_moving(fixes(3.9))
    assert not is_moving(fixes(9.0)[:2])
    assert is_moving([hand.at(0.0, 0.0), *fixes(4.1)])


def test_the_bearing_is_from_true_north_where_the_plane_leans(make_sheet):
    """On a plane turned 2 degrees, true bearings stay true."""
    turned = {"at": [-42.86, 169.69],
              "to_m": [[0, 3877.3, 81550.3, 0, 0, 0], [0, 111032.3, -2847.8, 0, 0, 0]],
              "to_deg": None}
    (a, b), (c, d) = (row[1:3] for row in turned["to_m"])
    det = a * d - b * c
    turned["to_deg"] = [[0, d / det, -b / det, 0, 0, 0], [0, -c / det, a / det, 0, 0, 0]]
    sheet = make_sheet(map=turned)
    start = Where(-42.86, 169.69, 1.0, 4.0)
    away, bearing = way_to(sheet, start, sheet.map.to_m(-42.859, 169.69))
    assert away == pytest.approx(111.1, abs=0.01)
    assert min(bearing, 360.0 - bearing) < 1e-6
    assert way_to(sheet, start, sheet.map.to_m(-42.86, 169.691))[1] == pytest.approx(90, abs=0.01)


def test_distances_are_those_of_the_ellipsoid():
    """Against the arcs of WGS 84 at 45 degrees: 111.1317 m and 78.8468 m to 0.001 degree."""
    here = Where(45.0, 10.0, 1.0)
    assert distance_m(here, Where(45.001, 10.0, 1.0)) == pytest.approx(111.132, abs=0.001)
    assert distance_m(here, Where(45.0, 10.001, 1.0)) == pytest.approx(78.8468, abs=0.0005)
    east, west = Where(0.0, 179.9995, 1.0), Where(0.0, -179.9995, 1.0)
    assert distance_m(east, west) == pytest.approx(111.3195, abs=0.0005)


def test_the_line_of_a_hundred_metres_runs_about_the_whole_outline(make_sheet, hand):
    sheet = make_sheet()
    inside = [(150.0, 50.0), (-99.0, 50.0), (150.0, 199.0), (-70.0, -70.0)]
    assert not any(beyond_block(sheet, hand.at(*point)) for point in inside)
    assert all(beyond_block(sheet, hand.at(*point)) for point in [(-101.0, 50.0), (-71.0, -71.0)])
