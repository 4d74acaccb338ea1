import csv
import io
import json
from datetime import date
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldapp.record import KINDS, instant, problems
from sync.errors import IntakeError
from sync.intake.check import Held, check_line
from sync.intake.form import (
    FIELDS,
    changed_rows,
    empty_form,
    form_columns,
    read_form,
)
from sync.intake.merge import merge

ZONE = "Pacific/Auckland"
COLUMNS = {kind: form_columns(kind) for kind in FIELDS}

#: One good row of every kind, and the fields it makes.
GOOD = {
    "bag": ({"bags": "3", "for": "RK", "type": "small", "wet_kg": "91.5", "pile": "P3-6",
             "cell": "K04", "covers": "p2-c3d4 3 5"},
            {"bags": 3, "for": "RK", "type": "small", "wet_kg": 91.5, "pile": "P3-6",
             "cell": "K04", "covers": ["p2-c3d4", 3, 5]}),
    "batch": ({"batch": "B1", "stage": "dried", "bags": "40", "from": "P3-1 P3-2",
               "wet_kg": "1000", "dry_kg": "270.5", "moist_pct": "12", "pure_pct": "97.5"},
              {"batch": "B1", "stage": "dried", "bags": 40, "from": ["P3-1", "P3-2"],
               "wet_kg": 1000, "dry_kg": 270.5, "moist_pct": 12, "pure_pct": 97.5}),
    "clip": ({"clip": "P1-014", "cut": "plug", "area_m2": "0.0625", "from_mm": "0",
              "to_mm": "100", "wet_g": "1100", "dry_g": "71.25", "dried": "oven"},
             {"clip": "P1-014", "cut": "plug", "area_m2": 0.0625, "from_mm": 0, "to_mm": 100,
              "wet_g": 1100, "dry_g": 71.25, "dried": "oven"}),
    "mark": ({"what": "pile", "name": "P3-6"}, {"what": "pile", "name": "P3-6"}),
    "notice": ({"permit": "CL-1", "what": "start", "start": "2026-02-01"},
               {"permit": "CL-1", "what": "start", "start": "2026-02-01"}),
    "outing": ({"state": "end", "finished": "C07, D07"},
               {"state": "end", "finished": ["C07", "D07"]}),
    "past_pick": ({"cell": "C07", "from": "2019-10-01", "to": "2019-10-05", "share_pct": "60",
                   "dry_kg": "812"},
                  {"cell": "C07", "from": "2019-10-01", "to": "2019-10-05", "share_pct": 60,
                   "dry_kg": 812}),
    "quadrat": ({"plot": "031", "when": "survey", "again": "yes", "side_m": "0.5",
                 "cover_pct": "60", "depth_mm": "80 95 70", "scrub_pct": "0", "rush_pct": "5",
                 "water_table_mm": "-120", "ground_class": "lawn", "clip": "P1-014"},
                {"plot": "031", "when": "survey", "again": True, "side_m": 0.5, "cover_pct": 60,
                 "depth_mm": [80, 95, 70], "scrub_pct": 0, "rush_pct": 5, "water_table_mm": -120,
                 "ground_class": "lawn", "clip": "P1-014"}),
    "skip": ({"plot": "031", "why": "pool"}, {"plot": "031", "why": "pool"}),
    "void": ({"of": "form-tally7:1"}, {"of": "form-tally7:1"}),
    "work": ({"what": "sprayed", "cells": "C07 D07", "hours": "2.5", "trial": "T1",
              "product": "x", "hold_days": "28"},
             {"what": "sprayed", "cells": ["C07", "D07"], "hours": 2.5, "trial": "T1",
              "product": "x", "hold_days": 28}),
}


def table(*rows, columns=None, separator=",", end="\r\n"):
    columns = columns or tuple(dict.fromkeys(key for row in rows for key in row))
    out = io.StringIO()
    writer = csv.writer(out, delimiter=separator, lineterminator=end)
    writer.writerow(columns)
    writer.writerows([row.get(key, "") for key in columns] for row in rows)
    return out.getvalue()


def row(number=1, kind="bag", **fields):
    own = {} if fields else {"bags": "3"}
    return {"form": "tally7", "row": str(number), "kind": kind, "day": "2026-01-21",
            "person": "O", **own, **fields}


def read(*rows, **how):
    return read_form(table(*rows, **how), zone=ZONE)


def record_of(*rows, **how):
    found = read(*rows, **how)
    assert found.problems == ()
    (one,) = found.records
    return one.record


def fault_of(*rows, **how):
    found = read(*rows, **how)
    assert found.records == ()
    (fault,) = found.problems
    return fault


def test_there_is_a_form_for_every_kind_that_can_be_written_by_hand():
    assert FIELDS.keys() == set(KINDS) - {"track", "check_in", "ruling"}
    for kind in ("track", "check_in", "ruling", "dream", ""):
        with pytest.raises(ValueError, match="there are forms for bag, batch"):
            form_columns(kind)
        with pytest.raises(ValueError, match="there are forms for"):
            empty_form(kind, form_id="tally7")


def test_the_columns_are_the_forms_own_then_the_kinds_then_what_it_stands_in_for_and_a_note():
    assert form_columns("skip") == (
        "form", "row", "kind", "day", "person", "plot", "why", "instead_of", "note")


def test_an_empty_form_has_numbered_rows_and_its_own_id():
    lines = list(csv.DictReader(io.StringIO(empty_form("bag", form_id="tally7", rows=3))))
    assert [(one["form"], one["row"], one["kind"]) for one in lines] == [
        ("tally7", "1", "bag"), ("tally7", "2", "bag"), ("tally7", "3", "bag")]
    assert all(box == "" for one in lines for key, box in one.items()
               if key not in ("form", "row", "kind"))
    assert len(empty_form("bag", form_id="tally7").splitlines()) == 21


@pytest.mark.parametrize("form_id", ["", "Tally", "a b", "a" * 17, "tally-7", "ñ"])
def test_2026_11_25_a_form_is_never_given_an_id_it_could_not_be_taken_under(form_id):
    with pytest.raises(ValueError, match="small letters and digits"):
        empty_form("bag", form_id=form_id)


@pytest.mark.parametrize("kind", FIELDS)
def test_an_empty_form_taken_as_it_is_says_nothing(kind):
    found = read_form(empty_form(kind, form_id="tally7"), zone=ZONE)
    assert (found.records, found.problems) == ((), ())


@pytest.mark.parametrize("kind", FIELDS)
def test_a_filled_row_of_every_kind_is_a_sound_record_with_its_fields_typed(kind):
    boxes, fields = GOOD[kind]
    assert set(boxes) | {"cell", "role"} >= set(FIELDS[kind])
    record = record_of({**row(7, kind, **boxes), "note": "wet"}, columns=COLUMNS[kind])
    assert problems(record) == ()
    assert record == {
        "device": "form-tally7", "seq": 7, "kind": kind, "person": "O", "note": "wet",
        "at": "2026-01-20T23:00:00.000Z", "where": None, **fields}


@pytest.mark.parametrize("kind", FIELDS)
def test_a_row_typed_into_the_empty_form_is_read(kind):
    lines = list(csv.reader(io.StringIO(empty_form(kind, form_id="tally7", rows=9))))
    boxes = row(7, kind, **GOOD[kind][0])
    lines[7] = [boxes.get(name, "") for name in lines[0]]
    out = io.StringIO()
    csv.writer(out).writerows(lines)
    found = read_form(out.getvalue().encode(), zone=ZONE)
    assert found.problems == ()
    assert [(one.line, one.record["seq"]) for one in found.records] == [(8, 7)]


@pytest.mark.parametrize(("day", "zone", "at"), [
    ("2026-01-21", "Pacific/Auckland", "2026-01-20T23:00:00.000Z"),
    ("2026-06-21", "Pacific/Auckland", "2026-06-21T00:00:00.000Z"),
    ("2026-01-01", "Pacific/Auckland", "2025-12-31T23:00:00.000Z"),
    ("2026-01-21", "America/Punta_Arenas", "2026-01-21T15:00:00.000Z"),
    ("2026-01-21", "Asia/Kathmandu", "2026-01-21T06:15:00.000Z")])
def test_a_row_is_dated_local_noon_of_its_day(day, zone, at):
    (one,) = read_form(table(row(day=day, bags="3")), zone=zone).records
    assert one.record["at"] == at
    assert instant(at).astimezone(ZoneInfo(zone)).date() == date.fromisoformat(day)


@given(st.dates(date(1900, 1, 1), date(2200, 12, 31)),
       st.sampled_from(["Pacific/Auckland", "Pacific/Kiritimati", "America/St_Johns", "UTC"]))
def test_the_local_day_of_a_row_is_the_day_that_was_written(day, zone):
    (one,) = read_form(table(row(day=day.isoformat(), bags="3")), zone=zone).records
    assert instant(one.record["at"]).astimezone(ZoneInfo(zone)).date() == day


@pytest.mark.parametrize("day", ["21/01/2026", "2026-1-21", "20260121", "2026-02-30", "today",
                                 "2026-W04-3", "2026-01-21T12:00"])
def test_a_day_written_another_way_is_refused(day):
    fault = fault_of(row(day=day, bags="3"))
    assert (fault.field, fault.value) == ("day", day)
    assert "2026-01-21" in fault.reason


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Pacific/Pago_Pago"])
@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_2026_11_25_a_day_at_the_end_of_the_calendar_stops_no_other_row(zone, day):
    found = read_form(table(row(1, day=day, bags="3"), row(2)), zone=zone)
    assert [one.record["seq"] for one in found.records][-1] == 2


BOXES = {"bags": "2.5", "wet_kg": "91", "cell": "K04", "note": "ñandú, ½"}


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("form", [str, str.encode])
def test_separators_line_ends_and_a_mark_at_the_head_do_not_matter(separator, end, mark, form):
    text = mark + table(row(**BOXES), row(2), columns=COLUMNS["bag"], separator=separator, end=end)
    found = read_form(form(text), zone=ZONE)
    assert found.problems == ()
    first, second = found.records
    assert (first.record["bags"], first.record["note"]) == (2.5, "ñandú, ½")
    assert (first.line, second.line) == (2, 3)


def test_a_comma_is_a_decimal_one_only_where_semicolons_part_the_columns():
    boxes = row(bags="2,5", wet_kg="91,25")
    record = record_of(boxes, separator=";")
    assert (record["bags"], record["wet_kg"]) == (2.5, 91.25)
    assert record_of(row(bags="2.5"), separator=";")["bags"] == 2.5
    for separator in (",", "\t"):
        assert fault_of(boxes, separator=separator).field == "bags"


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("depths", ["80,95,70", "80,5 95 70", "80;95", "8O 95"])
def test_depths_are_parted_by_spaces_and_a_comma_between_them_is_refused(separator, depths):
    boxes = {**row(1, "quadrat", **GOOD["quadrat"][0]), "depth_mm": depths}
    assert fault_of(boxes, separator=separator).field == "depth_mm"


def test_trailing_empty_columns_and_empty_lines_do_not_matter():
    text = ("form,row,kind,day,person,bags,,,\r\n"
            "tally7,1,bag,2026-01-21,O,3,,,,,\r\n"
            "\r\n"
            ",,,,,,,,\r\n"
            "tally7,2,bag,2026-01-21,O,4,\r\n"
            "tally7,3,bag,2026-01-21,O,5\r\n")
    found = read_form(text, zone=ZONE)
    assert found.problems == ()
    assert [(one.line, one.record["bags"]) for one in found.records] == [(2, 3), (5, 4), (6, 5)]


def test_columns_may_stand_in_any_order_with_spaces_and_capitals():
    text = " Bags ;PERSON;Day;kind;row;form\n 3 ; O ;2026-01-21;bag;1;tally7\n"
    (one,) = read_form(text, zone=ZONE).records
    assert (one.record["bags"], one.record["person"]) == (3, "O")


def test_a_row_with_only_form_row_and_kind_is_passed_over():
    assert read({"form": "tally7", "row": "1", "kind": "bag", "day": "", "person": "",
                 "bags": ""}).records == ()


@pytest.mark.parametrize("name", ["form", "row", "kind", "day", "person"])
def test_a_filled_row_must_say_form_row_kind_day_and_person(name):
    fault = fault_of({**row(), name: ""})
    assert (fault.line, fault.field, fault.reason) == (2, name, f"fill in {name}")


@pytest.mark.parametrize(("name", "value"), [
    ("form", "Tally 7"), ("form", "a" * 17), ("row", "0"), ("row", "1.5"), ("row", "-1"),
    ("row", "٣"), ("row", "1e3"), ("kind", "track"), ("kind", "Bag"), ("person", "Mia"),
    ("bags", "three"), ("bags", "1e1"), ("bags", "0x3"), ("bags", "٣"), ("bags", "nan"),
    ("bags", "0.3"), ("bags", "0"), ("bags", "77"), ("wet_kg", "3"), ("cell", "c7"),
    ("covers", "p2-c3d4 3"), ("covers", "p2-c3d4 5 3"), ("covers", "p2 3 5"),
    ("covers", "p2-c3d4 3-5"), ("covers", "p2-c3d4 ² 5"), ("instead_of", "row 3")])
def test_a_bad_box_refuses_its_row_alone_and_tells_what_stood_there(name, value):
    found = read({**row(3, bags="3", wet_kg="", cell="", covers="", instead_of=""), name: value},
                 row(4))
    assert [(one.line, one.field, one.value) for one in found.problems] == [(2, name, value)]
    assert [one.record["seq"] for one in found.records] == [4]
    assert found.problems[0].reason


def test_a_missing_field_of_the_kind_is_told():
    fault = fault_of(row(cell="K04"))
    assert (fault.field, fault.value, fault.reason) == ("bags", "", "is missing")


@pytest.mark.parametrize(("text", "labels"), [
    ("P3-1 P3-2", ["P3-1", "P3-2"]), ("P3-1, P3-2,P3-3", ["P3-1", "P3-2", "P3-3"]),
    ("P3-1", ["P3-1"]), ("north pile|P3-2", ["north pile", "P3-2"]),
    ("north pile|", ["north pile"]), ("a, b | c", ["a, b", "c"])])
def test_labels_are_parted_by_spaces_or_commas_unless_there_is_a_bar(text, labels):
    boxes = row(1, "batch", batch="B1", stage="dried", **{"from": text})
    assert record_of(boxes)["from"] == labels


@pytest.mark.parametrize(("text", "again"), [("yes", True), ("YES", True), ("no", False),
                                             ("TRUE", True), ("False", False)])
def test_yes_and_no(text, again):
    assert record_of({**row(1, "quadrat", **GOOD["quadrat"][0]), "again": text})["again"] is again


@pytest.mark.parametrize("text", ["maybe", "1", "x"])
def test_neither_yes_nor_no_is_refused(text):
    fault = fault_of({**row(1, "quadrat", **GOOD["quadrat"][0]), "again": text})
    assert (fault.field, fault.reason) == ("again", "write yes or no")


def test_2026_11_25_a_quadrat_without_moss_has_no_depths():
    boxes = {**row(1, "quadrat", **GOOD["quadrat"][0]), "cover_pct": "0", "depth_mm": ""}
    assert record_of(boxes)["depth_mm"] == []


def test_2026_11_25_a_minus_sign_may_be_the_typographers():
    boxes = {**row(1, "quadrat", **GOOD["quadrat"][0]), "water_table_mm": "−120"}
    assert record_of(boxes)["water_table_mm"] == -120


def test_2026_11_25_what_stands_in_a_column_the_kind_does_not_have_is_not_passed_over():
    fault = fault_of({**row(), "depth_mm": "80 95 70"})
    assert (fault.field, fault.value) == ("depth_mm", "80 95 70")
    assert "a bag does not have" in fault.reason
    assert fault_of({**row(), "wetkg": "91"}).field == "wetkg"
    loose = read_form(table(row()).replace("O,3", "O,3,5"), zone=ZONE)
    assert (loose.records, loose.problems[0].value) == ((), "5")


def test_rows_of_two_kinds_may_stand_in_one_form():
    found = read(row(1), row(2, "skip", plot="031", why="pool"))
    assert [one.record["kind"] for one in found.records] == ["bag", "skip"]


def test_a_note_of_two_lines_is_one_box_and_the_next_row_has_its_own_line():
    found = read(row(1, bags="3", note="wet\nand cold"), row(2, bags="77"), row(3))
    assert found.records[0].record["note"] == "wet\nand cold"
    assert [one.line for one in found.records] == [2, 5]
    assert [one.line for one in found.problems] == [4]


def test_2026_11_25_two_rows_of_one_number_are_both_refused_unless_they_are_alike():
    found = read(row(1), row(2), row(1, bags="4"), row(2))
    assert [one.record["seq"] for one in found.records] == [2]
    assert [(one.line, one.field, one.value) for one in found.problems] == [
        (2, "row", "1"), (4, "row", "1")]


@pytest.mark.parametrize("field", ["pile", "type", "note", "cell"])
def test_2026_11_25_an_endless_text_is_refused_and_never_lost_on_the_way(field):
    assert fault_of(row(bags="3", **{field: "x" * 100_001})).field == field


@pytest.mark.parametrize(("data", "said"), [
    (b"", "no column form"), (b"\xef\xbb\xbf", "no column form"), (b"hello", "no column form"),
    (b"form,row,kind,person\n", "no column day"), (b"form,row,kind,day,person\n\xff", "no UTF-8"),
    ("form,row,kind,day,person\n".encode("utf-16"), "no UTF-8"),
    (b'form,row,kind,day,person\n"' + b"x" * 200_000 + b'"', "no CSV"),
    (b"form,row,kind,day,person,bags,Bags\n", "two columns bags"), (b"x" * 5_000_001, "too long"),
    ("form,row,kind,day,person\n\ud800", "no UTF-8")])
def test_what_is_no_form_is_refused_whole(data, said):
    with pytest.raises(IntakeError, match=said):
        read_form(data, zone=ZONE)


@given(st.one_of(st.binary(max_size=80), st.text(max_size=80)))
def test_whatever_is_in_a_file_it_is_read_or_refused(data):
    head = "form,row,kind,day,person,bags\n"
    for whole in (data, head + data if isinstance(data, str) else head.encode() + data):
        try:
            found = read_form(whole, zone=ZONE)
        except IntakeError:
            continue
        assert all(problems(one.record) == () for one in found.records if not one.for_shed)


def test_a_row_may_stand_in_for_an_earlier_row_of_its_form():
    found = read(row(1), row(2, bags="4", instead_of="form-tally7:1"))
    assert [one.for_shed for one in found.records] == [False, False]


@pytest.mark.parametrize("target", ["form-tally7:2", "form-tally7:3"])
def test_2026_11_25_a_row_cannot_stand_in_for_itself_or_a_later_row(target):
    assert fault_of(row(2, bags="4", instead_of=target)).field == "instead_of"


@pytest.mark.parametrize("target", ["p3-k7f2:900", "form-other:1", "shed:4", "gpx-0a1b2c3d:2"])
def test_a_row_that_names_another_devices_record_is_for_the_shed_to_write(target):
    for boxes in (row(1, bags="4", instead_of=target), row(1, "void", of=target)):
        (one,) = read(boxes).records
        assert one.for_shed
        assert problems({**one.record, "device": "shed", "seq": 99}) == ()


def test_a_row_for_the_shed_is_held_to_the_same_limits():
    assert fault_of(row(bags="77", instead_of="p3-k7f2:900")).field == "bags"


def held(*records):
    found = [check_line(json.dumps(one).encode(), file="f", number=1, sealed=True)
             for one in records]
    assert all(isinstance(one, Held) for one in found), found
    return found


def by_shed(first, *fields):
    return [{**one, "device": "shed", "seq": seq} for seq, one in enumerate(fields, first)]


def sort(rows, records, *, mend=False):
    return changed_rows(read(*rows).records, held(*records), mend=mend)


FIRST = record_of(row(1))


def test_a_row_not_taken_before_is_new():
    found = sort([row(1), row(2)], [FIRST])
    assert [one["seq"] for one in found.new] == [2]
    assert (found.known, found.for_shed, found.problems) == (1, (), ())


@pytest.mark.parametrize("mend", [True, False])
def test_an_unchanged_row_is_already_there_however_its_file_was_written(mend):
    rows = read_form(table({**row(1), "bags": "3,0"}, separator=";"), zone=ZONE).records
    found = changed_rows(rows, held(FIRST), mend=mend)
    assert (found.known, found.new, found.for_shed, found.problems) == (1, (), (), ())


def test_a_changed_row_is_refused_with_line_field_and_both_values():
    found = sort([row(1, bags="4")], [FIRST])
    (fault,) = found.problems
    assert (fault.line, fault.field, fault.value) == (2, "bags", "4")
    assert "with 3" in fault.reason
    assert "--mend" in fault.reason
    assert (found.new, found.for_shed) == ((), ())


def test_a_field_taken_out_of_a_row_is_a_change():
    (fault,) = sort([row(1)], [record_of(row(1, bags="3", cell="K04"))]).problems
    assert (fault.field, fault.value) == ("cell", "")


def test_with_mend_a_changed_row_is_the_sheds_to_write_in_place_of_the_first():
    found = sort([row(1, bags="4")], [FIRST], mend=True)
    (fields,) = found.for_shed
    assert (fields["instead_of"], fields["bags"]) == ("form-tally7:1", 4)
    assert not fields.keys() & {"device", "seq"}
    assert problems({**fields, "device": "shed", "seq": 1}) == ()


def counted(*records):
    merged = merge(held(*records), zone=ZONE, clock_off_s=120.0)
    return [(one.record["bags"], one.device, one.seq) for one in merged.counted]


def test_a_mended_row_counts_once_and_the_last_mend_counts():
    records = [FIRST]
    for seq, bags in enumerate(("4", "5"), start=1):
        found = sort([row(1, bags=bags)], records, mend=True)
        records += by_shed(seq, *found.for_shed)
        assert counted(*records) == [(int(bags), "form-tally7", 1)]


def test_a_form_taken_again_after_its_mend_changes_nothing_in_either_version():
    mended = [FIRST, *by_shed(1, *sort([row(1, bags="4")], [FIRST], mend=True).for_shed)]
    for boxes in (row(1, bags="4"), row(1)):
        found = sort([boxes], mended, mend=True)
        assert (found.known, found.new, found.for_shed, found.problems) == (1, (), (), ())


@pytest.mark.parametrize(("fields", "field"), [
    ({"day": "2026-01-22"}, "day"), ({"person": "RK"}, "person"),
    ({"instead_of": "form-tally7:1"}, "instead_of")])
def test_2026_11_25_what_a_mend_cannot_move_is_refused_with_what_to_do(fields, field):
    second = record_of(row(2, bags="3"))
    found = sort([row(2, bags="4", **fields)], [FIRST, second], mend=True)
    assert (found.for_shed, found.new) == ((), ())
    (fault,) = found.problems
    assert fault.field == field
    assert "void form-tally7:2 and write the row under a new number" in fault.reason


def test_2026_11_25_a_row_does_not_become_another_kind_by_mending():
    found = sort([row(1, "skip", plot="031", why="pool")], [FIRST], mend=True)
    assert (found.for_shed, [one.field for one in found.problems]) == ((), ["kind"])


def test_a_row_that_mends_a_phones_record_is_written_once():
    phone = {**FIRST, "device": "p3-k7f2", "seq": 900, "at": "2026-01-20T19:10:00.000Z"}
    boxes = row(1, bags="4", instead_of="p3-k7f2:900")
    found = sort([boxes, boxes], [phone])
    (fields,) = found.for_shed
    records = [phone, *by_shed(1, fields)]
    assert counted(*records) == [(4, "p3-k7f2", 900)]
    again = sort([boxes], records)
    assert (again.known, again.for_shed, again.new) == (1, (), ())


def test_2026_11_25_a_mend_of_the_mend_that_a_phone_made_counts_once():
    first = {**FIRST, "device": "p3-k7f2", "seq": 1}
    phone = [first, {**first, "seq": 2, "bags": 2, "instead_of": "p3-k7f2:1"}]
    found = sort([row(1, bags="4", instead_of="p3-k7f2:2")], phone)
    assert counted(*phone, *by_shed(1, *found.for_shed)) == [(4, "p3-k7f2", 1)]


def test_a_row_that_voids_a_phones_record_takes_it_away():
    phone = {**FIRST, "device": "p3-k7f2", "seq": 900}
    found = sort([row(1, "void", of="p3-k7f2:900")], [phone])
    assert counted(phone, *by_shed(1, *found.for_shed)) == []


def test_2026_11_25_a_row_that_names_no_record_of_the_shed_is_refused_before_anything_is_taken():
    found = sort([row(1), row(2, "void", of="shed:7"), row(3, bags="4", instead_of="shed:7")], [])
    assert [one["seq"] for one in found.new] == [1]
    assert [(one.line, one.field, one.value) for one in found.problems] == [
        (3, "of", "shed:7"), (4, "instead_of", "shed:7")]


def test_2026_11_25_a_row_cannot_stand_in_for_a_record_of_another_kind():
    phone = {**FIRST, "device": "p3-k7f2", "seq": 900}
    boxes = row(1, "skip", plot="031", why="pool", instead_of="p3-k7f2:900")
    (fault,) = sort([boxes], [phone]).problems
    assert (fault.field, fault.value) == ("instead_of", "p3-k7f2:900")


def test_2026_11_25_a_row_equal_to_either_of_two_contents_is_already_there():
    both = [FIRST, {**FIRST, "bags": 5}]
    for bags in ("3", "5"):
        assert sort([row(1, bags=bags)], both).known == 1


ROWS = st.lists(st.tuples(st.integers(1, 4), st.sampled_from(["1", "2", "3"])), max_size=5)


@given(st.lists(st.tuples(ROWS, st.booleans()), max_size=5))
def test_a_form_taken_again_at_once_never_writes_anything(files):
    records, written = [], 0
    for rows, mend in files:
        form = read_form(table(row(), *(row(n, bags=bags) for n, bags in rows)), zone=ZONE)
        found = changed_rows(form.records, held(*records), mend=mend)
        assert len(found.new) + len(found.for_shed) + found.known + len(found.problems) == len(
            form.records)
        records += [*found.new, *by_shed(written + 1, *found.for_shed)]
        written += len(found.for_shed)
        again = changed_rows(form.records, held(*records), mend=mend)
        assert (again.new, again.for_shed) == ((), ())
        assert again.problems == found.problems
        names = [(device, seq) for _, device, seq in counted(*records)]
        assert len(names) == len(set(names)), "a row counts once"
