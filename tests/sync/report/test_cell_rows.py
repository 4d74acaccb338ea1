from datetime import UTC, date, datetime, timedelta

import pytest


@pytest.fixture
def row(document, made):
    return lambda name: made.cell(document, name)


def test_a_ready_cell_s_share_is_the_same_figure_as_its_kg(row):
    for name in ("A01", "A02", "B01", "C02"):
        one = row(name)
        assert one["state"] == "ready"
        assert one["binds"] in {"regrowth", "living_layer", "share_kept", "permit"}
        crop = one["standing_crop_kg"]["value"]
        # half a step of the share, and of the two kg
        assert one["may_take_kg"] == pytest.approx(
            one["sustainable_pct"] * crop / 100, abs=0.0005 * crop + 1)
        assert one["must_stay_kg"] + one["may_take_kg"] == pytest.approx(crop, abs=1)
        assert one["left_kg"] == one["may_take_kg"]
        assert one["next"] == {"on": "2026-02-20", "kg": one["left_kg"]}
        assert one["picked_kg"] is None


def test_tonnes_a_hectare_are_the_kg_over_the_open_ground(document):
    for one in document["cells"]:
        kg, t_ha = one["standing_crop_kg"], one["standing_crop_t_ha"]
        for end in ("value", "low", "high"):
            # open ground is rounded to 0.01 ha
            assert t_ha[end] == pytest.approx(kg[end] / 1000 / one["open_ha"], rel=0.006)


def test_the_survey_s_own_readings_are_told(row):
    one = row("A01")
    assert (one["quadrats"], one["by_eye"], one["clips"]) == (2, 0, 1)
    assert one["surveyed_on"] == "2024-06-20"
    assert one["crop_basis"] == "measured"
    # 60 and 80 %: t(0.95; 1) = 6.313752, s/sqrt(2) = 10, so 70 -+ 63.1, held to 100
    assert one["cover_pct"] == {"value": 70, "low": 6.9, "high": 100}
    # 80 and 95 mm, the probe that read 0 left out: s/sqrt(2) = 7.5, so 87.5 -+ 47.4
    assert one["depth_mm"] == {"value": 88, "low": 40, "high": 135}
    assert (one["scrub_pct"], one["water_table_mm"]) == (4, -120)


def test_a_pool_counts_as_a_quadrat_without_cover_and_says_nothing_of_depth(row):
    one = row("B02")
    assert one["quadrats"] == 2
    assert one["cover_pct"]["value"] == 35, "70 % and a pool"
    assert one["depth_mm"] == {"value": 90, "low": None, "high": None}


def test_a_pool_that_the_outline_leaves_out_is_no_ground(row):
    assert row("B02")["area_ha"] == row("B02")["open_ha"] == 0.96
    assert row("A02")["area_ha"] == 1


def test_a_cell_nobody_measured_borrows_its_class(row):
    one = row("A03")
    assert (one["state"], one["binds"], one["crop_basis"]) == (
        "unsurveyed", "unsurveyed", "borrowed")
    assert (one["sustainable_pct"], one["may_take_kg"], one["left_kg"]) == (0, 0, 0)
    assert one["must_stay_kg"] == one["standing_crop_kg"]["value"] == row("B03")["must_stay_kg"]
    assert one["cover_pct"] is None
    assert one["next"] is None, "only a measurement can tell"
    wide = one["standing_crop_kg"]
    narrow = row("A02")["standing_crop_kg"]
    assert wide["high"] / wide["low"] > narrow["high"] / narrow["low"]


def test_a_resting_cell_keeps_its_figures_and_gives_nothing(row):
    one = row("B02")
    assert (one["state"], one["binds"], one["rest_ends"]) == ("resting", "resting", "2029-11-11")
    assert (one["sustainable_pct"], one["may_take_kg"], one["left_kg"]) == (0, 0, 0)
    assert one["must_stay_kg"] == one["standing_crop_kg"]["value"]
    assert one["crop_forecast"] is True
    # 60 bags of 7 kg: V = 60^2 (0.35 x 7)^2 + 60 (0.5 x 7)^2 = 22,344; CV 0.3559; s 0.34539;
    # 395.68 exp(-+1.644854 s) (derived)
    last = one["last_picked"]
    assert (last["from"], last["to"]) == ("2024-11-10", "2024-11-11")
    assert last["kg"] == {"value": 420, "low": 224, "high": 698}
    assert 10 < last["share_pct"] < 25
    assert one["complete"] is True


def test_the_share_of_a_past_pick_is_the_one_typed_and_its_kg_are_unknown(row):
    last = row("A02")["last_picked"]
    assert last == {"from": "2018-10-01", "to": "2018-10-20", "kg": None, "share_pct": 80}
    assert row("A02")["rest_ends"] == "2023-10-20"
    assert row("A02")["complete"] is False


def test_an_open_pick_leaves_the_rest_of_what_could_be_taken_at_its_start(row):
    one = row("C01")
    assert one["state"] == "ready"
    assert one["picked_kg"]["value"] == 140, "20 bags of 7 kg"
    assert one["left_kg"] == one["may_take_kg"] - 140
    assert one["picked_pct_of_may_take"] == pytest.approx(14_000 / one["may_take_kg"], abs=0.06)
    assert one["last_picked"] is None
    stood = one["rested_crop_kg"]
    assert stood - 140 < one["standing_crop_kg"]["value"] < stood, "a little came back since"


def test_a_pick_of_unknown_kg_has_no_figure_rather_than_none_taken(made):
    phones = made.season()
    phones[2].note("past_pick", datetime(2026, 2, 12, tzinfo=UTC), "O", cell="B01",
                   **{"from": "2026-02-12", "to": "2026-02-12"})
    one = made.cell(made.document_of(made.small_register(phones)), "B01")
    assert one["picked_kg"] is None
    assert one["picked_pct_of_may_take"] is None
    assert one["complete"] is False


def test_a_cell_whose_may_take_is_used_up_is_taken_and_keeps_its_figures(made, document):
    phones = made.season()
    for day in range(5):
        begun = datetime(2026, 2, 10, 19, tzinfo=UTC) + timedelta(days=day)
        phones[1].bags(begun, 40, 250, 150)
    one = made.cell(made.document_of(made.small_register(phones)), "C02")
    before = made.cell(document, "C02")
    assert one["state"] == "taken"
    assert one["picked_kg"]["value"] == 1400
    for key in ("sustainable_pct", "binds", "must_stay_kg", "may_take_kg"):
        assert one[key] == before[key]
    assert one["left_kg"] == 0
    assert one["picked_pct_of_may_take"] > 100
    assert one["next"] is None


def test_a_closed_cell_has_its_word_and_opens_the_day_after(made):
    nesting = made.Feature(made.polygon(made.box(0, 0, 100, 100)), {"why": "nesting"},
                           until=date(2026, 3, 1))
    found = made.document_of(made.small_register(closures=(nesting,)))
    one = made.cell(found, "A01")
    assert (one["state"], one["binds"], one["open_ha"]) == ("closed", "closed", 0)
    assert one["why"] == "closed: nesting until 2026-03-01"
    assert one["standing_crop_kg"] is None
    assert one["must_stay_kg"] is None
    assert one["crop_basis"] == "none"
    assert one["next"] == {"on": "2026-03-02", "kg": None}
    assert one["quadrats"] == 2, "what was read there is still known"
    assert found["block"]["open_ha"] == 7.95


def test_without_a_permit_in_force_the_crop_stands_and_nothing_may_be_taken(made):
    lapsed = made.dataclasses.replace(made.PERMIT, until=date(2025, 12, 31))
    found = made.document_of(made.small_register(permits=(lapsed,)))
    one = made.cell(found, "A01")
    assert (one["state"], one["binds"]) == ("closed", "closed")
    assert one["must_stay_kg"] == one["standing_crop_kg"]["value"] > 0
    assert (one["may_take_kg"], one["left_kg"]) == (0, 0)
    assert found["permits"] == []
    assert found["block"]["open_ha"] == 8.95


def test_quadrats_laid_by_eye_are_told_apart(made):
    phones = made.season()
    for x in (20, 60):
        phones[0].note("quadrat", datetime(2026, 1, 10, 2, tzinfo=UTC), "SW", when="survey",
                       side_m=0.5, cover_pct=60, depth_mm=[80, 85, 90], where=made.where(x, 250))
    one = made.cell(made.document_of(made.small_register(phones)), "A03")
    assert (one["quadrats"], one["by_eye"], one["surveyed_on"]) == (2, 2, "2026-01-10")
    assert (one["state"], one["crop_basis"]) == ("ready", "measured")


def test_a_later_survey_takes_the_place_of_the_one_before(made):
    phones = made.season()
    at = datetime(2026, 1, 10, 2, tzinfo=UTC)
    phones[0].note("quadrat", at, "SW", plot="001", when="survey", side_m=0.5, cover_pct=90,
                   depth_mm=[100, 100, 100], scrub_pct=9)
    one = made.cell(made.document_of(made.small_register(phones)), "A01")
    assert (one["quadrats"], one["clips"], one["surveyed_on"]) == (1, 0, "2026-01-10")
    assert one["cover_pct"]["value"] == 90
    assert (one["scrub_pct"], one["water_table_mm"]) == (9, None)


def test_2026_11_25_the_range_of_picked_kg_is_wider_where_few_lots_were_weighed(made):
    import math

    from sync.picks.made import Kg
    from sync.report.cell_rows import _kg
    few, many = (_kg(Kg(1000.0, 100.0**2, 150.0, (), df)) for df in (2.0, math.inf))
    assert few["value"] == many["value"] == 1000
    assert few["low"] < many["low"] < 1000 < many["high"] < few["high"]
