"""The ground sheet as the phone reads it: what it says today and on days to come."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from fieldapp.ground import answer, pack_sheet, sheet_of, state_at, state_on, unpack_sheet
from fieldapp.record import Where
from sync.report.sheet import ground_sheet, held_spans

MADE_AT = datetime(2026, 2, 19, 20, 0, tzinfo=UTC)
ZONE = ZoneInfo("Pacific/Auckland")


def of(made, register, document=None, **changes):
    asked = {"phone": "p2", "device": "p2-bbbb", "made_at": MADE_AT, "held": ((1, 20), (22, 90)),
             "sheet_id": "0a1b2c3d", **changes}
    return ground_sheet(register, document or made.document_of(register), **asked)


@pytest.fixture(scope="module")
def obj(made, register, document):
    return of(made, register, document)


@pytest.fixture(scope="module")
def sheet(obj):
    return sheet_of(obj)


def cell(sheet, name):
    return next(one for one in sheet.cells if one.name == name)


def test_the_phone_accepts_the_sheet_and_it_fits_its_schema(obj, fits):
    key = bytes(range(32))
    packed = pack_sheet(obj, program="0.1.0", key=key)
    assert unpack_sheet(packed, key=key) == sheet_of(obj)
    assert fits(obj, "sheet")
    assert not fits({k: v for k, v in obj.items() if k != "held"}, "sheet")
    assert fits({k: v for k, v in obj.items() if k != "held_of"}, "sheet")
    assert not fits({**obj, "held_of": "p2"}, "sheet")


def test_the_same_register_gives_the_same_sheet(made, obj):
    again = of(made, made.small_register(known=made.held(made.season())[::-1]))
    assert pack_sheet(again, program="0.1.0", key=None) == pack_sheet(
        obj, program="0.1.0", key=None)


def test_it_says_whose_it_is_and_how_long_it_is_good(sheet):
    assert (sheet.block_id, sheet.block_name, sheet.for_phone) == ("testmire", "Test Mire", "p2")
    assert sheet.made_at == MADE_AT
    assert sheet.good_until == MADE_AT + timedelta(days=7)
    assert (sheet.zone, sheet.season_start, sheet.cell_m) == ("Pacific/Auckland", (7, 1), 100)
    assert (sheet.probes, sheet.frame_m, sheet.check_in_min) == (3, 0.5, 60)
    assert sheet.declination_deg == 23.6
    assert sheet.held_by("p2-bbbb") == sheet.held == ((1, 20), (22, 90))
    assert sheet.held_by("p2-cccc") == ()


def test_before_its_first_hand_over_a_phone_has_no_device_to_hold_numbers_of(made, register,
                                                                             document, fits):
    obj = of(made, register, document, device=None, held=())
    assert fits(obj, "sheet")
    assert sheet_of(obj).held_of is None


def test_metres_count_from_the_corner_of_the_grid(sheet):
    first = cell(sheet, "A01").shape
    assert {point for ring in first[0] for point in ring} == {(0, 0), (100, 0), (100, 100),
                                                              (0, 100)}
    assert len(cell(sheet, "B02").shape[0]) == 2, "the pool is a hole"
    assert sheet.gate == (-20, 10)


def test_the_map_and_the_places_agree(made, sheet):
    for x, y in ((0, 0), (299, 1), (150, 205), (20, 280)):
        lat, lon = made.latlon(x, y)
        assert sheet.map.to_m(lat, lon) == pytest.approx((x, y), abs=0.001)


def test_a_cell_says_what_the_register_says(sheet, document):
    for row in document["cells"]:
        one = cell(sheet, row["cell"])
        assert (one.state, one.why, one.ground_class) == (
            row["state"], row["why"], row["ground_class"])
        assert one.left_kg == row["left_kg"]
        assert one.left_bags == int(row["left_kg"] / 7)
    assert cell(sheet, "C01").left_bags == 121, "851 kg at 7 kg a bag"


def test_the_phone_answers_where_it_stands(made, sheet):
    def asked(x, y):
        lat, lon = made.latlon(x, y)
        return answer(sheet, Where(lat, lon, 1.0, 4.0, 0.0, False),
                      now=MADE_AT + timedelta(hours=1), zone=ZONE)

    assert (asked(50, 50).cell, asked(50, 50).band) == ("A01", "ready")
    assert asked(120, 120).band == "resting"
    assert asked(50, 250).band == "unsurveyed"
    assert asked(-200, 50).outside
    assert asked(99, 50).band == "ready", "A01 and B01 are both ready: no change of state near"
    assert asked(150, 98).near_edge


def test_what_lies_under_a_rest_is_unsurveyed_until_it_is_measured_again(made, sheet):
    assert cell(sheet, "B02").then == "unsurveyed"
    assert state_on(sheet, cell(sheet, "B02"), date(2029, 11, 10)) == "resting"
    assert state_on(sheet, cell(sheet, "B02"), date(2029, 11, 11)) == "unsurveyed"

    phones = made.season()
    phones[0].note("quadrat", datetime(2026, 1, 10, 2, tzinfo=UTC), "SW", plot="007",
                   when="survey", side_m=0.5, cover_pct=60, depth_mm=[80, 85, 90])
    measured = sheet_of(of(made, made.small_register(phones)))
    assert cell(measured, "B02").then == "ready"


def test_only_a_rest_or_a_closing_names_what_comes_then(sheet):
    assert {one.then for one in sheet.cells if one.state not in {"resting", "closed"}} == {None}


def test_closures_that_are_over_are_left_out_and_those_to_come_are_not(made):
    def nesting(since, until):
        return made.Feature(made.polygon(made.box(0, 0, 100, 100)), {"why": "nesting"}, since,
                            until)

    closures = (
        nesting(date(2025, 9, 1), date(2026, 2, 19)), nesting(None, date(2026, 2, 28)),
        nesting(date(2026, 9, 1), None),
    )
    sheet = sheet_of(of(made, made.small_register(closures=closures)))
    assert [(one.since, one.until, one.why) for one in sheet.closures
            if one.why == "nesting"] == [
        (None, date(2026, 2, 28), "nesting"), (date(2026, 9, 1), None, "nesting")]
    days = {day: state_on(sheet, cell(sheet, "A01"), date.fromisoformat(day)) for day in
            ("2026-02-20", "2026-02-28", "2026-03-01", "2026-08-31", "2026-09-01")}
    assert days == {"2026-02-20": "closed", "2026-02-28": "closed", "2026-03-01": "ready",
                    "2026-08-31": "ready", "2026-09-01": "closed"}
    assert cell(sheet, "A01").left_kg == 0


def test_a_cell_that_nothing_will_open_stays_closed(made):
    shut = made.Feature(made.polygon(made.box(0, 0, 100, 100)), {"why": "the spring"})
    sheet = sheet_of(of(made, made.small_register(closures=(shut,))))
    assert cell(sheet, "A01").then is None
    assert state_on(sheet, cell(sheet, "A01"), date(2040, 1, 1)) == "closed"


def test_half_a_cell_closed_for_good_and_half_for_a_time_opens_by_half(made):
    closures = (
        made.Feature(made.polygon(made.box(0, 0, 50, 100)), {"why": "the spring"}),
        made.Feature(made.polygon(made.box(50, 0, 100, 100)), {"why": "nesting"},
                     until=date(2026, 3, 1)),
    )
    sheet = sheet_of(of(made, made.small_register(closures=closures)))
    assert cell(sheet, "A01").state == "closed"
    assert state_at(sheet, 75, 50, date(2026, 3, 1)) == "closed"
    assert state_at(sheet, 75, 50, date(2026, 3, 2)) == "ready"
    assert state_at(sheet, 25, 50, date(2026, 3, 2)) == "closed"


def test_ground_held_after_spraying_is_closed_with_the_product_named(made):
    phones = made.season()
    phones[2].note("work", datetime(2026, 2, 1, tzinfo=UTC), "O", what="sprayed", cells=["A03"],
                   hold_days=30, product="metsulfuron")
    phones[2].note("work", datetime(2025, 2, 1, tzinfo=UTC), "O", what="sprayed", cells=["B03"],
                   hold_days=30)
    outline = made.polygon(made.box(0, 0, 30, 30))
    phones[2].note("work", datetime(2026, 2, 2, tzinfo=UTC), "O", what="sprayed",
                   outline=outline, hold_days=60)
    sheet = sheet_of(of(made, made.small_register(phones)))
    assert [(one.why, one.until) for one in sheet.closures if one.why.startswith("sprayed")] == [
        ("sprayed with metsulfuron", date(2026, 3, 3)), ("sprayed", date(2026, 4, 3))]
    assert cell(sheet, "A03").state == "closed"
    assert state_on(sheet, cell(sheet, "A03"), date(2026, 3, 4)) == "unsurveyed"
    assert state_at(sheet, 10, 10, date(2026, 4, 3)) == "closed"
    assert state_at(sheet, 50, 50, date(2026, 4, 3)) == "ready"


@pytest.mark.parametrize(("since", "until", "states"), [
    ("2022-09-01", "2026-02-28", "ready ready closed closed"),
    ("2026-03-02", None, "closed closed closed ready"),
    ("2022-09-01", None, "ready ready ready ready"),
])
def test_a_permit_that_lapses_or_is_to_come_closes_its_ground(made, since, until, states):
    permit = made.dataclasses.replace(
        made.PERMIT, since=date.fromisoformat(since),
        until=date.fromisoformat(until) if until else None)
    sheet = sheet_of(of(made, made.small_register(permits=(permit,))))
    days = ["2026-02-20", "2026-02-28", "2026-03-01", "2026-03-02"]
    found = [state_on(sheet, cell(sheet, "A01"), date.fromisoformat(day)) for day in days]
    assert found == states.split()


def test_a_permit_for_one_parcel_leaves_the_other_closed(made):
    permit = made.dataclasses.replace(made.PERMIT, parcels=("home",))
    sheet = sheet_of(of(made, made.small_register(permits=(permit,))))
    assert state_at(sheet, 50, 50, date(2026, 2, 20)) == "ready"
    assert state_at(sheet, 250, 50, date(2026, 2, 20)) == "closed"
    assert cell(sheet, "C01").then is None, "no permit for it is in sight"


def test_two_permits_with_a_gap_close_the_gap_alone(made):
    first = made.dataclasses.replace(made.PERMIT, until=date(2026, 3, 31))
    second = made.dataclasses.replace(made.PERMIT, name="TM-2", since=date(2026, 5, 1))
    sheet = sheet_of(of(made, made.small_register(permits=(second, first))))
    assert [(one.since, one.until) for one in sheet.closures] == [
        (date(2026, 4, 1), date(2026, 4, 30)), (date(2032, 9, 1), None)] * 2, "two parcels"


def test_no_permits_at_all_close_nothing(made):
    assert of(made, made.small_register(permits=()))["closures"] == []


def test_permits_tell_what_is_left_of_their_caps(sheet):
    assert [(one.permit, one.left) for one in sheet.permits] == [("TM-1", 725)]


def test_people_are_those_of_the_day_by_their_call_alone(obj):
    assert obj["people"] == [{"code": "O", "call": "O."}, {"code": "MT", "call": "M.T."}]
    assert b"whole name" not in pack_sheet(obj, program="0.1.0", key=None)
    assert "whole name" not in str(obj)


def test_nobody_s_track_is_on_the_sheet(made, obj):
    phones = made.season()
    phones[1].note("track", datetime(2026, 2, 12, 20, tzinfo=UTC), t0="2026-02-12T20:00:00.000Z",
                   dt_ms=[0, 5000], lat_e7=[-428600000, 40], lon_e7=[1696900000, 40],
                   acc_m=[4, 4])
    assert of(made, made.small_register(phones)) == obj


def test_bag_types_stand_with_the_usual_first_and_its_weight(sheet):
    assert [(one.name, one.wet_kg, one.dry_kg) for one in sheet.bag_types] == [
        ("sack", None, 7), ("bale", None, 15)]


def test_numbers_held_are_told_as_spans():
    assert held_spans([1, 2, 3, 5, 8, 9]) == ((1, 3), (5, 5), (8, 9))
    assert held_spans([]) == ()


def test_labels_go_on_after_the_highest_of_that_phone(made, register, document):
    assert of(made, register, document, phone="p2")["label_from"] == 4
    assert of(made, register, document, phone="p1")["label_from"] == 9, "its clips"
    assert of(made, register, document, phone="p3")["label_from"] == 1


def test_labels_of_batches_and_of_what_they_were_made_from_are_used(made):
    phones = made.season()
    phones[2].note("batch", datetime(2026, 2, 15, tzinfo=UTC), "O", batch="P3-012",
                   stage="weighed", bags=4, wet_kg=350.0, **{"from": ["P2-044", "P22-900"]})
    register = made.small_register(phones)
    assert of(made, register, phone="p3")["label_from"] == 13
    assert of(made, register, phone="p2")["label_from"] == 45
    assert of(made, register, phone="p22")["label_from"] == 901
