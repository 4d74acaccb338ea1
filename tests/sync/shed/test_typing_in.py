"""What was written on paper: asked for plainly, dry weights twice, and nothing half written."""

import json
import sqlite3
from urllib.parse import parse_qs, urlsplit
from zoneinfo import ZoneInfo

import pytest
from running_shed import Owner, picked

from sync.shed.browser.typing_forms import FORMS
from sync.shed.browser.typing_page import record_of

ZONE = ZoneInfo("Pacific/Auckland")
PERMIT = '[[permit]]\npermit = "TM-1"\ncap = 500\ncap_unit = "kg_dry"\nnotice_days = 5\n'


@pytest.fixture
def owner(small, open_here):
    block = small(permits=PERMIT)
    block.take({"a.handover.zip": picked(block).pack()})
    here = open_here(block.folder)
    one = Owner(here)
    one.sign_in(here.code)
    one.ready()
    one.folder = block.folder
    return one


def written(owner, answer):
    """Give the record that an answer says was written down."""
    assert answer.status == 303, answer.text
    name = parse_qs(urlsplit(answer.heads["Location"]).query)["said"][0]
    with sqlite3.connect(owner.folder / "journal.sqlite") as db:
        return json.loads(db.execute("SELECT body FROM record WHERE name = ?",
                                     (name,)).fetchone()[0])


PAPER = {
    "batch": {"day": "2026-01-21", "person": "O", "batch": "L-1", "stage": "weighed",
              "bags": "12", "wet_kg": "480,5", "from": "P1-001 P1-002"},
    "bag": {"day": "2026-01-21", "person": "RK", "cell": "B02", "bags": "2,5",
            "covers": "p1-aaaa 40 42"},
    "past_pick": {"person": "O", "cell": "C03", "from": "2019-11-02", "share_pct": "60"},
    "notice": {"day": "2026-01-05", "person": "O", "permit": "TM-1", "start": "2026-01-20"},
}
FIELDS = {
    "batch": {"kind": "batch", "stage": "weighed", "wet_kg": 480.5, "from": ["P1-001", "P1-002"]},
    "bag": {"kind": "bag", "bags": 2.5, "cell": "B02", "covers": ["p1-aaaa", 40, 42]},
    "past_pick": {"kind": "past_pick", "from": "2019-11-02", "share_pct": 60},
    "notice": {"kind": "notice", "what": "start", "start": "2026-01-20", "permit": "TM-1"},
}


@pytest.mark.parametrize("kind", PAPER)
def test_what_was_on_paper_becomes_a_record_of_the_shed(owner, kind):
    record = written(owner, owner.post(f"/type/{kind}", **PAPER[kind]))

    assert record["device"] == "shed"
    assert {key: record[key] for key in FIELDS[kind]} == FIELDS[kind]


def test_a_day_is_noon_of_the_blocks_zone(owner):
    record = written(owner, owner.post("/type/batch", **PAPER["batch"]))

    assert record["at"] == "2026-01-20T23:00:00.000Z"


CLIP = {"day": "2026-01-21", "person": "O", "clip": "C-7", "dry_g": "31.5", "dried": "shed"}


def test_a_dry_weight_is_asked_for_again_without_showing_it(owner):
    second = owner.post("/type/clip", **CLIP)

    assert second.status == 200
    assert 'name="again"' in second.text
    assert second.text.count("31.5") == 1
    assert '<input type="hidden" name="dry_g" value="31.5">' in second.text

    record = written(owner, owner.post("/type/clip", **CLIP, again="31,50"))

    assert record["dry_g"] == 31.5


def test_two_weights_that_differ_write_nothing_down(owner):
    answer = owner.post("/type/clip", **CLIP, again="13.5")

    assert answer.status == 200
    assert "do not agree" in answer.text
    assert "scale slip" in answer.text
    with sqlite3.connect(owner.folder / "journal.sqlite") as db:
        assert db.execute("SELECT count(*) FROM record WHERE name LIKE 'shed:%'").fetchone()[
            0] == 0


def test_a_clip_without_a_dry_weight_is_typed_once(owner):
    fields = {**CLIP, "dry_g": "", "dried": "", "wet_g": "400"}

    assert written(owner, owner.post("/type/clip", **fields))["wet_g"] == 400


def test_an_odd_pair_of_weights_is_asked_about_once(owner):
    odd = {**CLIP, "wet_g": "40"}

    asked = owner.post("/type/clip", **odd)
    record = written(owner, owner.post("/type/clip", **odd, sure="1", again="31.5"))

    assert "odd pair" in asked.text
    assert record["wet_g"] == 40


@pytest.mark.parametrize(("kind", "field", "value", "said"), [
    ("clip", "day", "21.1.2026", "2026"),
    ("clip", "dry_g", "-3", "must"),
    ("clip", "dry_g", "many", "number"),
    ("bag", "bags", "0.3", "must"),
    ("bag", "cell", "Z99", "no such cell"),
    ("bag", "person", "XX", "write one of"),
    ("bag", "covers", "p1-aaaa 5", "first and last"),
    ("past_pick", "cell", "", "missing"),
    ("past_pick", "share_pct", "120", "must"),
    ("past_pick", "to", "2010-01-01", "before"),
    ("notice", "permit", "nobody's", "write one of"),
    ("batch", "stage", "eaten", "choose"),
    ("batch", "day", "2099-01-01", "still to come"),
])
def test_a_wrong_field_is_named_with_what_to_write(owner, kind, field, value, said):
    fields = {**{**PAPER, "clip": CLIP}[kind], field: value}

    answer = owner.post(f"/type/{kind}", **fields)

    assert answer.status == 400
    assert f'id="wrong-field-{field}"' in answer.text
    assert said in answer.text
    assert "Nothing was written down yet" in answer.text


def test_what_was_typed_stays_on_the_page(owner):
    answer = owner.post("/type/batch", **{**PAPER["batch"], "bags": "lots"})

    assert 'value="L-1"' in answer.text
    assert 'value="480,5"' in answer.text


def test_labels_that_wait_are_listed_and_fill_the_form(small, open_here):
    block = small()
    phone = picked(block)
    phone.note("quadrat", picked_at(), plot="001", when="survey", side_m=0.5, cover_pct=80,
               depth_mm=[80, 90, 85], clip="C-9", where=None)
    block.take({"a.handover.zip": phone.pack()})
    here = open_here(block.folder)
    one = Owner(here)
    one.sign_in(here.code)
    one.ready()

    page = one.get("/type/clip").text

    assert 'href="/type/clip?clip=C-9"' in page
    assert 'value="C-9"' in one.get("/type/clip?clip=C-9").text


def picked_at():
    from datetime import UTC, datetime

    return datetime(2026, 2, 20, 1, tzinfo=UTC)


@pytest.mark.parametrize("kind", FORMS)
def test_an_empty_form_is_no_record(kind):
    record, mistakes = record_of(FORMS[kind], {}, zone=ZONE)

    assert mistakes
    assert record["kind"] == FORMS[kind].record


def test_a_form_that_is_none_is_not_there(owner):
    assert owner.get("/type/track").status == 404
    assert owner.post("/type/track", page="/help").status == 404
