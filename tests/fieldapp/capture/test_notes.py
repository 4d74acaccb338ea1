"""Marks, work, clips, weighings and the labels they carry."""

import pytest

from fieldapp.capture.labels import next_label, phone_code
from fieldapp.capture.notes import Notes
from fieldapp.capture.outing import Outing
from fieldapp.capture.quadrat import Quadrat
from fieldapp.capture.tally import Tally
from fieldapp.capture.undo import Undo
from fieldapp.record import Usual


@pytest.fixture
def outing(book, hand):
    outing = Outing(book)
    outing.start("MT", "picker", **hand())
    return outing


@pytest.fixture
def notes(outing, zone):
    return Notes(outing, zone=zone)


def test_a_mark_is_named_by_itself(book, hand, notes):
    notes.mark("hazard", **hand())
    notes.mark("drain", **hand())
    record = notes.mark("hazard", note="deep", photo="p3-k7f2-3.jpg", press_ms=90, **hand())
    assert record == book.record(4) == {
        "device": "p3-k7f2", "seq": 4, "kind": "mark", "at": "2026-01-20T18:40:00.000Z",
        "person": "MT", "what": "hazard", "name": "hazard 2", "note": "deep", "press_ms": 90,
        "photo": "p3-k7f2-3.jpg", "where": book.record(1)["where"]}


def test_names_go_on_from_those_on_the_sheet(hand, outing, notes, make_sheet):
    outing.sheet = make_sheet(
        marks=[{"what": "hazard", "name": "hazard 7", "at": [1, 1], "bags": None},
               {"what": "weed", "name": "gorse by the gate", "at": [1, 1], "bags": None}],
        pegs=[{"name": "peg 3", "at": [2, 2]}])
    assert [notes.name(what, hand.now) for what in ("hazard", "weed", "peg")] == [
        "hazard 8", "weed 1", "peg 4"]


def test_a_pile_is_named_by_the_next_free_label(hand, outing, notes, make_sheet):
    assert notes.mark("pile", **hand())["name"] == "P3-001"
    outing.sheet = make_sheet()
    assert notes.mark("pile", **hand())["name"] == "P3-014"
    assert notes.label() == "P3-015"


def test_a_label_once_used_is_never_proposed_again(hand, outing, notes, make_sheet, zone):
    outing.sheet = make_sheet(
        marks=[{"what": "pile", "name": "P3-021", "at": [1, 1], "bags": 5}])
    assert notes.label() == "P3-022"
    notes.weigh(3, 210, label="P3-030", from_=["P3-021", "P4-900"], **hand())
    assert notes.label() == "P3-031"
    Undo(outing).undo(**hand())
    assert notes.label() == "P3-031"
    Tally(outing, zone=zone).bag(pile="P3-040", **hand())
    assert notes.label() == "P3-041"
    notes.clip("P3-050", **hand())
    assert notes.label() == "P3-051"
    Quadrat.begin(outing, None, **hand()).add(clip="P3-060")
    assert notes.label() == "P3-061"


@pytest.mark.parametrize(("used", "label"), [
    ([], "P3-014"), (["P3-6", "P3-014"], "P3-015"), (["P3-999"], "P3-1000"),
    (["P33-500", "p3-500", "P3-500x", "pile 500"], "P3-014")])
def test_only_labels_of_this_phone_s_own_form_are_counted(used, label):
    assert next_label(used, code="p3", label_from=14) == label


def test_a_phone_s_code_stands_before_its_tag():
    assert phone_code("p3-k7f2") == "p3"
    assert phone_code("shed") == "shed"


def test_bags_go_to_the_last_pile_marked_within_fifty_metres(hand, notes, outing):
    assert notes.pile_near(hand.where, hand.now) is None
    notes.mark("pile", **hand())
    hand.go(199.0, 50.0)
    assert notes.pile_near(hand.where, hand.now) == "P3-001"
    hand.go(201.0, 50.0)
    assert notes.pile_near(hand.where, hand.now) is None
    notes.mark("pile", **hand())
    hand.go(152.0, 50.0)
    assert notes.pile_near(hand.where, hand.now) == "P3-002"
    assert notes.pile_near(None, hand.now) is None
    Undo(outing).undo(**hand())
    assert notes.pile_near(hand.where, hand.now) == "P3-001"


def test_work_names_its_cells_and_hours(book, hand, notes):
    notes.work("rolled", ["B01", "C01"], hours=1.5, **hand())
    record = book.record(2)
    assert (record["what"], record["cells"], record["hours"]) == ("rolled", ["B01", "C01"], 1.5)


def test_a_clip_says_area_and_layer_and_is_weighed_later(book, hand, notes):
    notes.clip(notes.label(), cut="plug", area_m2=0.0625, from_mm=0, to_mm=100, **hand())
    record = {key: value for key, value in book.record(2).items()
              if key in ("clip", "cut", "area_m2", "from_mm", "to_mm", "wet_g")}
    assert record == {"clip": "P3-001", "cut": "plug", "area_m2": 0.0625, "from_mm": 0,
                      "to_mm": 100}


def test_a_weighing_is_a_batch_with_a_label_to_tie_on(book, hand, notes):
    notes.weigh(3, 211.5, from_=["P3-006"], press_ms=100, **hand())
    assert book.record(2) == {
        "device": "p3-k7f2", "seq": 2, "kind": "batch", "at": "2026-01-20T18:40:00.000Z",
        "person": "MT", "batch": "P3-001", "stage": "weighed", "bags": 3, "wet_kg": 211.5,
        "from": ["P3-006"], "press_ms": 100, "where": book.record(1)["where"]}


def test_a_bag_twice_as_heavy_as_today_s_is_asked_about(hand, notes):
    usual = Usual(frame_m=0.5, wet_kg_per_bag=70.0, probes=3)
    ask = {"now": hand.now, "usual": usual}
    assert notes.weighing_questions(3, 210, **ask) == ()
    assert [problem.field for problem in notes.weighing_questions(3, 421, **ask)] == ["wet_kg"]
