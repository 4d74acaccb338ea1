import json
import random
from datetime import UTC, date, datetime

import pytest

from fieldapp.record import stamp
from sync.report.document import register_document, register_json

KEYS = {
    "top": "register range_level made_of on known_by block classes cells flags permits",
    "made_of": "block settings records program",
    "block": "name area_ha open_ha cell_count surveyed_ha estimated_ha not_estimated_ha "
             "standing_crop_t may_take_t long_run_yearly_t growth_rate densities kg_per_bag",
    "class": "ground_class cell_count open_ha quadrats clips mean_index standing_crop_t_ha "
             "estimator why",
    "cell": "cell area_ha open_ha ground_class state why quadrats by_eye clips surveyed_on "
            "crop_basis crop_forecast cover_pct depth_mm standing_crop_t_ha standing_crop_kg "
            "pickable_crop_kg rested_crop_kg sustainable_pct binds must_stay_kg may_take_kg "
            "left_kg last_picked rest_ends next picked_kg picked_pct_of_may_take complete "
            "scrub_pct water_table_mm",
    "flag": "name rule about season cell why probability how_sure records record_count ruling "
            "figures",
    "permit": "permit year cap cap_unit taken left cells notice filed",
}


def ranges(value):
    """Every {value, low, high} of a document."""
    if isinstance(value, dict):
        if set(value) == {"value", "low", "high"}:
            yield value
        for one in value.values():
            yield from ranges(one)
    elif isinstance(value, list):
        for one in value:
            yield from ranges(one)


def test_every_key_is_there_in_the_order_of_the_contract(document):
    rows = {
        "top": [document], "made_of": [document["made_of"]], "block": [document["block"]],
        "class": document["classes"], "cell": document["cells"], "flag": document["flags"],
        "permit": document["permits"],
    }
    for what, each in rows.items():
        assert each
        for row in each:
            assert list(row) == KEYS[what].split(), what


def test_the_document_fits_its_schema_and_a_key_left_out_does_not(document, fits):
    assert fits(document, "register")

    for key in ("known_by", "permits"):
        assert not fits({k: v for k, v in document.items() if k != key}, "register")
    bad = json.loads(register_json(document))
    del bad["cells"][0]["next"]
    assert not fits(bad, "register")


def test_a_single_quadrat_has_a_mean_and_no_range_in_the_schema_too(document, made, fits):
    assert made.cell(document, "C02")["cover_pct"] == {"value": 45, "low": None, "high": None}
    bad = json.loads(register_json(document))
    made.cell(bad, "C02")["standing_crop_kg"]["low"] = None
    assert not fits(bad, "register")


def test_the_text_says_what_the_document_says(document):
    text = register_json(document)
    assert text.endswith("}\n")
    assert "NaN" not in text
    assert json.loads(text) == document
    assert text.index('"register"') < text.index('"block": {') < text.index('"flags"')


def test_every_range_holds_its_value(document):
    found = list(ranges(document))
    assert len(found) > 30
    for one in found:
        if one["low"] is not None:
            assert 0 <= one["low"] <= one["value"] <= one["high"]


def test_cells_stand_by_column_and_row_and_flags_by_name(document):
    assert [row["cell"] for row in document["cells"]] == [
        "A01", "A02", "A03", "B01", "B02", "B03", "C01", "C02", "C03"]
    names = [flag["name"] for flag in document["flags"]]
    assert names == sorted(names)
    assert "early_pick:B02:2025" in names


def test_shuffled_and_repeated_records_give_the_same_bytes(made, document):
    wanted = register_json(document)
    records = list(made.held(made.season()))
    for seed in range(3):
        mixed = records + records[::7]
        random.Random(seed).shuffle(mixed)
        again = made.document_of(made.small_register(known=mixed))
        assert register_json(again) == wanted


def test_another_record_is_another_sum_and_another_name_of_a_person_is_not(made, document):
    fewer = made.document_of(made.small_register(known=made.held(made.season())[:-1]))
    assert fewer["made_of"]["records"] != document["made_of"]["records"]
    assert fewer["made_of"]["block"] == document["made_of"]["block"]


def test_known_by_is_told_in_milliseconds(made, register):
    known_by = datetime(2026, 2, 1, 9, 30, tzinfo=UTC)
    told = made.dataclasses.replace(register, known_by=known_by)
    assert register_document(told, ())["known_by"] == stamp(known_by) == "2026-02-01T09:30:00.000Z"


@pytest.mark.parametrize("on", [date(2018, 1, 1), date(2024, 6, 20), date(2025, 3, 1),
                                date(2029, 11, 11), date(2040, 1, 1)])
def test_the_document_of_any_day_fits_its_schema(made, fits, on):
    assert fits(made.document_of(made.small_register(on=on)), "register")


def test_a_block_without_a_record_has_hectares_and_no_crop(made, fits):
    empty = made.document_of(made.small_register(known=()))
    assert fits(empty, "register")
    block = empty["block"]
    assert block["standing_crop_t"] is None
    assert block["long_run_yearly_t"] is None
    assert (block["surveyed_ha"], block["estimated_ha"]) == (0, 0)
    assert block["not_estimated_ha"] == block["open_ha"] == 8.95
    for row in empty["cells"]:
        assert row["crop_basis"] == "none"
        assert row["standing_crop_kg"] is None
        assert row["must_stay_kg"] is None
        assert row["crop_forecast"] is None
        assert (row["sustainable_pct"], row["binds"]) == (0, "unsurveyed")
