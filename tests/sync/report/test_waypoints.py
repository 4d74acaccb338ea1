"""What goes to a handheld receiver: the same places that a phone gets."""

from datetime import UTC, date, datetime

import pytest

from sync.errors import IntakeError
from sync.geometry.gpx import read_gpx, write_gpx
from sync.geometry.receiver import receiver_records
from sync.report.sheet_places import place_m
from sync.report.waypoints import waypoints

AT = datetime(2026, 2, 15, 0, tzinfo=UTC)
SPARE = ("Fallow: plot in C03; for the survey; a spare: read it only if another of its cell "
         "cannot be seen")


def by_name(register):
    return {one.name: one for one in waypoints(register)}


def test_it_holds_plots_to_read_piles_with_bags_hazards_and_pegs(register):
    found = waypoints(register)

    assert [(one.name, one.note) for one in found] == [
        ("plot 012", "Fallow: plot in C03; for the survey"),
        ("plot 013", SPARE),
        ("pile P2-001", "Fallow: pile: 60 bags wait"),
        ("pile P2-002", "Fallow: pile: 5 bags wait"),
        ("hazard 1", "Fallow: hazard"),
        ("peg 002", "Fallow: peg")]
    assert [one.at for one in found] == [None] * 6


def test_each_place_is_where_the_sheet_has_it(register):
    found = by_name(register)

    for name, place in (("plot 012", [220, 260]), ("pile P2-001", [105, 200]),
                        ("hazard 1", [210, 110]), ("peg 002", [70, 60])):
        at = place_m(register, found[name].lat, found[name].lon)
        assert at == pytest.approx(place, abs=0.02)


def test_a_plot_to_be_read_again_says_so(made):
    plots = (made.plot("021", "C03", 240, 240, again=True, when="after_pick"),)

    assert [one.note for one in waypoints(made.small_register(plots=plots))][:1] == [
        "Fallow: plot in C03; after the pick; to be read by a second person too"]


def test_nothing_is_told_of_a_drain_or_of_what_comes_after_the_day(made):
    phones = made.season()
    phones[1].note("mark", AT, what="drain", name="drain 1", where=made.where(40, 40))
    phones[1].note("mark", AT, what="hazard", name="hazard 2", where=made.where(50, 40))

    names = by_name(made.small_register(phones, on=date(2026, 2, 10)))

    assert "hazard 2" not in names
    assert not any("drain" in name for name in names)
    assert "hazard 2" in by_name(made.small_register(phones))


def test_two_seasons_hazards_of_one_name_are_told_apart(made):
    phones = made.season()
    phones[1].note("mark", datetime(2026, 7, 2, tzinfo=UTC), what="hazard", name="hazard 1",
                   where=made.where(20, 20))

    names = [one.name for one in waypoints(made.small_register(phones, on=date(2026, 7, 3)))]

    assert "hazard 1 of 2025" in names
    assert "hazard 1 of 2026" in names
    assert len(set(names)) == len(names)


ROUGH = '</name><wpt lat="1"/> & "deep" \x0b]]> <!-- ñandú ✓'


def test_what_people_typed_is_read_back_letter_for_letter(made):
    phones = made.season()
    phones[1].note("mark", AT, what="hazard", name=ROUGH, note=ROUGH, where=made.where(50, 40))
    register = made.small_register(phones)

    read = read_gpx(write_gpx((), waypoints(register), creator="Fallow 0"))

    typed = ROUGH.replace("\x0b", "\ufffd")  # XML has no such character
    assert [one.note for one in read.waypoints if one.name == f"hazard {typed}"] == [
        f"Fallow: hazard; {typed}"]
    assert len(read.waypoints) == len(waypoints(register))
    assert all("waypoint" not in one for one in read.problems)


def test_what_was_given_out_comes_back_as_nothing_and_what_was_added_comes_back(made, register):
    own = '<wpt lat="{}" lon="{}"><time>2026-02-20T01:00:00Z</time><name>nest</name></wpt>'
    text = write_gpx((), waypoints(register), creator="Fallow 0")
    added = text.replace("</gpx>", own.format(*made.latlon(30, 30)) + "</gpx>")
    asked = {"device": "gpx-00000000", "person": "MT", "role": "picker",
             "near": lambda lat, lon: True}

    records, beyond = receiver_records(read_gpx(added), **asked)

    assert [one["name"] for one in records] == ["nest"]
    assert beyond == 0
    with pytest.raises(IntakeError, match="no dated fix or waypoint"):
        receiver_records(read_gpx(text), **asked)
