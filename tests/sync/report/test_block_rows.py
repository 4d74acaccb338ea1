from datetime import UTC, date, datetime

import pytest


def of_class(document, name):
    return next(row for row in document["classes"] if row["ground_class"] == name)


def test_the_block_is_the_sum_of_its_cells(document):
    block, cells = document["block"], document["cells"]
    assert (block["name"], block["cell_count"]) == ("Test Mire", 9)
    crop_t = sum(row["standing_crop_kg"]["value"] for row in cells) / 1000
    # half a step of the total and half a kg a cell
    assert block["standing_crop_t"]["value"] == pytest.approx(crop_t, abs=0.055)
    for key, basis in (("surveyed_ha", {"measured"}), ("estimated_ha", {"measured", "borrowed"}),
                       ("not_estimated_ha", {"none"})):
        open_ha = sum(row["open_ha"] for row in cells if row["crop_basis"] in basis)
        assert block[key] == pytest.approx(open_ha, abs=0.05)
    assert block["estimated_ha"] + block["not_estimated_ha"] == block["open_ha"] == 8.95


def test_the_range_of_the_block_is_narrower_than_the_sum_of_its_cells_ranges(document):
    block = document["block"]["standing_crop_t"]
    cells = [row["standing_crop_kg"] for row in document["cells"]]
    assert block["low"] > sum(one["low"] for one in cells) / 1000
    assert block["high"] < sum(one["high"] for one in cells) / 1000


def test_the_cap_of_the_permit_binds_the_block_and_not_its_cells(document):
    left = sum(row["left_kg"] for row in document["cells"])
    permit = document["permits"][0]
    assert permit["year"] == {"from": "2025-09-01", "to": "2026-08-31"}
    # 25 bags of 7 kg since 1 September; the 60 of 2024 were in another permit year
    assert permit["taken"]["value"] == 175
    assert (permit["cap"], permit["cap_unit"], permit["left"]) == (900, "kg_dry", 725)
    assert left > 725
    assert document["block"]["may_take_t"] == 0.7


def test_without_permits_the_block_may_give_what_its_cells_have_left(made):
    found = made.document_of(made.small_register(permits=()))
    left = sum(row["left_kg"] for row in found["cells"])
    assert found["permits"] == []
    assert found["block"]["may_take_t"] == pytest.approx(left / 1000, abs=0.055)


@pytest.mark.parametrize(("unit", "cap", "taken", "left"), [
    ("bags", 100.0, {"value": 25, "low": 25, "high": 25}, 75),
    ("m3", 3.0, {"value": 2.2, "low": 2.2, "high": 2.2}, 0.8),  # 25 bags of 90 L: 2.25 m3
    ("kg_wet", 9000.0, None, None),
])
def test_a_permit_speaks_in_its_own_unit(made, fits, unit, cap, taken, left):
    permit = made.dataclasses.replace(made.PERMIT, cap=cap, cap_unit=unit)
    found = made.document_of(made.small_register(permits=(permit,)))
    assert fits(found, "register")
    row = found["permits"][0]
    assert (row["cap_unit"], row["taken"], row["left"]) == (unit, taken, left)


def test_a_permit_without_a_cap_has_nothing_left_to_tell(made, fits):
    permit = made.dataclasses.replace(made.PERMIT, cap=None, cap_unit=None)
    found = made.document_of(made.small_register(permits=(permit,)))
    assert fits(found, "register")
    row = found["permits"][0]
    assert (row["cap"], row["cap_unit"], row["left"]) == (None, None, None)
    assert row["taken"]["value"] == 175


def test_a_permit_names_the_cells_of_its_parcels(made):
    permit = made.dataclasses.replace(made.PERMIT, parcels=("strip",))
    found = made.document_of(made.small_register(permits=(permit,)))
    assert found["permits"][0]["cells"] == ["C01", "C02", "C03"]
    assert made.cell(found, "A01")["state"] == "closed"


def test_growth_is_called_assumed_until_it_is_known_better(document):
    # two over the five years of recovery, give or take half
    assert document["block"]["growth_rate"] == {"value": 0.4, "sd": 0.2, "assumed": True}


def test_a_bag_weighs_what_the_owner_says_until_lots_say_it(made, document):
    assert document["block"]["kg_per_bag"] == {
        "bale": {"value": 15, "sd": 5.2, "lots": 0}, "sack": {"value": 7, "sd": 2.4, "lots": 0}}

    phones = made.season()
    phones[2].note("batch", datetime(2026, 2, 15, tzinfo=UTC), "O", batch="L-1", stage="dried",
                   bags=5, dry_kg=31.0, **{"from": ["P2-002"]})
    weighed = made.document_of(made.small_register(phones))["block"]["kg_per_bag"]["sack"]
    # 31 kg over 5 bags; s = half a bag's mean, over the root of 5
    assert weighed == {"value": 6.2, "sd": 1.4, "lots": 1}


def test_classes_tell_the_quadrats_that_their_mean_rests_on(document):
    assert [row["ground_class"] for row in document["classes"]] == ["lawn", "mound"]
    lawn, mound = of_class(document, "lawn"), of_class(document, "mound")
    assert (lawn["cell_count"], lawn["quadrats"], lawn["clips"]) == (6, 8, 1)
    assert (mound["cell_count"], mound["quadrats"], mound["clips"]) == (3, 3, 1)
    assert lawn["open_ha"] + mound["open_ha"] == document["block"]["open_ha"]
    assert document["block"]["densities"]["lawn"]["clips"] == 1


def test_a_quadrat_laid_by_eye_or_while_resting_lends_nothing_to_its_class(made):
    phones = made.season()
    at = datetime(2026, 1, 10, 2, tzinfo=UTC)
    read = {"when": "survey", "side_m": 0.5, "cover_pct": 60, "depth_mm": [80, 85, 90]}
    phones[0].note("quadrat", at, "SW", where=made.where(20, 250), **read)
    phones[0].note("quadrat", at, "SW", plot="007", **read)
    found = made.document_of(made.small_register(phones))
    assert of_class(found, "lawn")["quadrats"] == 8
    assert made.cell(found, "B02")["surveyed_on"] == "2026-01-10"


def test_ground_measured_by_eye_in_a_class_without_a_figure_is_not_surveyed(made, fits):
    phone = made.Phone("p1-a2b3")
    phone.note("quadrat", datetime(2025, 6, 20, 2, tzinfo=UTC), "SW", when="survey", side_m=0.5,
               cover_pct=60, depth_mm=[80, 85, 90], where=made.where(20, 250))
    found = made.document_of(made.small_register([phone]))
    assert fits(found, "register")
    assert found["block"]["surveyed_ha"] == 0
    one = made.cell(found, "A03")
    assert (one["crop_basis"], one["quadrats"], one["surveyed_on"]) == ("none", 1, "2025-06-20")
    assert one["state"] == "ready"
    assert (one["sustainable_pct"], one["binds"], one["may_take_kg"]) == (None, None, None)


def test_the_ground_of_another_day_is_that_day_s(made):
    strip = made.dataclasses.replace(
        made.small_block().outline[1], since=date(2025, 7, 1))
    home = made.small_block().outline[0]
    before = made.document_of(made.small_register(outline=(home, strip), on=date(2025, 6, 30)))
    after = made.document_of(made.small_register(outline=(home, strip), on=date(2025, 7, 1)))
    assert (before["block"]["cell_count"], after["block"]["cell_count"]) == (6, 9)
    assert (before["block"]["area_ha"], after["block"]["area_ha"]) == (5.95, 8.95)
