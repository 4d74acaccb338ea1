"""The schemas that ship with the program, held to what it writes."""

import io
import json
import zipfile
from datetime import UTC, datetime
from importlib.resources import files

import pytest

from fieldapp.handover import pack


def test_every_schema_is_json_schema_2020_12():
    found = sorted(one.name for one in (files("sync.report") / "schemas").iterdir()
                   if one.name.endswith(".json"))
    assert {"manifest.schema.json", "record.schema.json", "register.schema.json",
            "sheet.schema.json"} <= set(found)
    for name in found:
        schema = json.loads((files("sync.report") / "schemas" / name).read_text("utf-8"))
        assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_records_fit_the_schema_of_a_record(made, fits):
    records = [record for phone in made.season() for record in phone.kept]
    assert {record["kind"] for record in records} >= {"bag", "quadrat", "skip", "clip", "mark"}
    for record in records:
        assert fits(record, "record"), record


@pytest.mark.parametrize("changes", [
    {"bags": 40.5}, {"bags": 0.75}, {"bags": None}, {"device": "P2"}, {"seq": 0},
    {"at": "2026-02-09"}, {"person": "mt"}, {"pile": " P2-001"},
])
def test_a_record_with_a_broken_limit_does_not(made, fits, changes):
    bag = next(one for phone in made.season() for one in phone.kept if one["kind"] == "bag")
    assert fits(bag, "record")
    assert not fits({**bag, **changes}, "record")


def test_the_manifest_of_a_hand_over_fits_its_schema(made, fits):
    phone = made.season()[1]
    packed = pack(
        phone.kept, device=phone.device, block="testmire", program="0.1.0",
        made_at=datetime(2026, 2, 20, tzinfo=UTC), first_seq=1, last_seq=len(phone.kept),
        key=bytes(range(32)), photos={},
    )
    with zipfile.ZipFile(io.BytesIO(packed)) as opened:
        manifest = json.loads(opened.read("manifest.json"))
    assert fits(manifest, "manifest")
    assert not fits({**manifest, "records_sha256": "no sum"}, "manifest")
