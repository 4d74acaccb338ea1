"""What the newer flags tell keeps to the contract: its keys, its steps, its names."""

import json
from datetime import UTC, date, datetime, timedelta
from importlib.resources import files

import jsonschema
import pytest

from sync.report.flag_rows import flag_row

RULES = {"over_pick", "more_picked_than_stood", "weak_position", "silent_phone", "stale_sheet",
         "short_bags", "label_twice"}
ON = date(2026, 2, 20)


@pytest.fixture(scope="module")
def rows(mire):
    """One block on which all of them happened."""
    shed, p1 = mire.Book(), mire.Book("p1-aaaa")
    for cell in ("B02", "A01", "C02", "A03"):
        for cover in (60, 64):
            shed.quadrat(date(2025, 8, 20), cell, cover, (90, 110))
    shed.bags(date(2025, 11, 10), "B02", 2000.5)
    shed.bags(date(2025, 11, 10), "A03", 10, pile="P1-001")
    for bags in (10, 8.5):
        shed.note("batch", date(2025, 11, 11), batch="P1-001", bags=bags,
                  stage="lifted" if bags == 10 else "arrived")
    for dry_g in (70, 75):
        shed.note("clip", date(2025, 8, 20), clip="P1-002", dry_g=dry_g, dried="shed")
    at = datetime(2025, 11, 12, 8, tzinfo=UTC)
    p1.note("outing", at, state="start", role="picker",
            sheet={"id": "0a1b2c3d", "made_at": "2025-09-16T06:00:00.000Z"})
    p1.note("bag", at + timedelta(hours=1), bags=1.5, where=mire.where(199, 150, 7.77))
    p1.note("bag", at + timedelta(hours=2), bags=1)
    flags = mire.flags(mire.register([shed, p1], ON)).values()
    return [flag_row(flag) for flag in flags if flag.rule in RULES]


def test_all_of_them_are_there(rows):
    assert {row["rule"] for row in rows} == RULES
    # The one without a place is about its phone.
    assert [row["about"] for row in rows if row["rule"] == "weak_position"] == ["B02", "p1-aaaa"]


def test_each_keeps_to_the_schema(rows):
    text = (files("sync.report") / "schemas" / "register.schema.json").read_text("utf-8")
    schema = json.loads(text)
    one = {"$schema": schema["$schema"], "$defs": schema["$defs"], "$ref": "#/$defs/flag"}
    for row in rows:
        jsonschema.validate(json.loads(json.dumps(row)), one)
        lacking = {**row, "figures": {}}
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(lacking, one)


def test_kg_are_whole_radii_and_bags_to_a_tenth_and_instants_are_stamped(rows):
    figures = {row["rule"]: row["figures"] for row in rows if row["about"] != "p1-aaaa"}
    phone = {row["rule"]: row["figures"] for row in rows if row["about"] == "p1-aaaa"}
    over = figures["over_pick"]
    assert all(isinstance(over[key], int) for key in ("sd_kg", "may_take_kg", "over_kg"))
    assert all(isinstance(one, int) for one in over["kg"].values())
    assert isinstance(figures["more_picked_than_stood"]["stood_kg"], int)
    assert figures["weak_position"]["r68_m"] == 7.8
    assert figures["weak_position"]["bags"] == 1.5
    assert figures["short_bags"] == {"tallied": 10, "lifted": 10, "arrived": 8.5, "dried": 0,
                                     "short": 1.5, "kg": 10}
    assert figures["label_twice"] == {"things": ["clip"], "fields": {"dry_g": [70, 75]},
                                      "stages": [], "apart_m": None}
    assert phone["stale_sheet"] == {
        "sheet_made_at": "2025-09-16T06:00:00.000Z", "days_old": 57, "starts": 1, "bare": 0}
    assert phone["silent_phone"] == {
        "since": "2025-11-12T10:00:00.000Z", "began": "2025-11-12T08:00:00.000Z"}


def test_each_sentence_says_what_would_settle_it(rows):
    assert all(row["why"].endswith("would settle it") for row in rows)
