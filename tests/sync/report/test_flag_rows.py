from datetime import UTC, date, datetime

import pytest

from sync.flags.flag import Flag, Ruling
from sync.report.flag_rows import flag_row


def flag(rule, figures, **changes):
    made = {
        "rule": rule, "about": "B02", "season": 2025, "cell": "B02", "why": "seen", "figures":
        figures, "probability": 0.123456789, "how_sure": "perhaps", "records": ("p2-c3d4:1",),
    }
    return Flag(**{**made, **changes})


@pytest.mark.parametrize(("rule", "figures", "told"), [
    ("early_pick",
     {"picked_from": date(2026, 1, 22), "rest_ends": date(2029, 11, 11), "days_early": 1389,
      "bags": 14.148, "kg": 95.61, "area_m2": 310.4},
     {"picked_from": "2026-01-22", "rest_ends": "2029-11-11", "days_early": 1389,
      "bags": 14.1, "kg": 96, "area_m2": 310}),
    ("early_pick", {"area_m2": None}, {"area_m2": None}),
    ("over_pick", {"may_take_kg": 1244.7, "kg": {"value": 1849.6, "low": 1000.4, "high": 3000.5}},
     {"may_take_kg": 1245, "kg": {"value": 1850, "low": 1000, "high": 3000}}),
    ("missing_records",
     {"holes": [{"from_seq": 3, "to_seq": 5, "from": datetime(2025, 3, 18, 19, 47, tzinfo=UTC),
                 "to": None, "bags": 9.29, "paper_bags": 8.96}]},
     {"holes": [{"from_seq": 3, "to_seq": 5, "from": "2025-03-18T19:47:00.000Z", "to": None,
                 "bags": 9.3, "paper_bags": 9}]}),
    ("clock_wrong", {"lag_s": -5270400.04}, {"lag_s": -5270400}),
    ("weak_position", {"bags": 2.0, "best_chance": 0.6543217}, {"bags": 2,
                                                                 "best_chance": 0.6543217}),
    ("density_assumed", {"value": 11.444, "sd": 2.777, "clips": 0},
     {"value": 11.4, "sd": 2.8, "clips": 0}),
    ("growth_assumed", {"value": 0.4062, "sd": 0.1938}, {"value": 0.41, "sd": 0.19}),
    ("odd_bag_weight", {"kg_per_bag": 5.104, "usual_kg": 6.849},
     {"kg_per_bag": 5.1, "usual_kg": 6.8}),
    ("short_bags", {"tallied": 1308.0, "lifted": 1304.5, "short": 3.5},
     {"tallied": 1308, "lifted": 1304.5, "short": 3.5}),
    ("scrub_spreading", {"change_pct": 9.04, "low_pct": 5.62, "plots": 8},
     {"change_pct": 9, "low_pct": 5.6, "plots": 8}),
    ("drying", {"change_mm": -149.6, "level_mm": -290.2}, {"change_mm": -150, "level_mm": -290}),
    ("permit_cap", {"taken": 12000.4, "cap": 12000.0, "unit": "kg_dry"},
     {"taken": 12000, "cap": 12000, "unit": "kg_dry"}),
    ("permit_cap", {"taken": 812.54, "cap": 800.0, "unit": "bags"},
     {"taken": 812.5, "cap": 800, "unit": "bags"}),
    ("number_twice", {"sums": ["ab", "cd"]}, {"sums": ["ab", "cd"]}),
])
def test_figures_are_rounded_by_what_they_are(rule, figures, told):
    assert flag_row(flag(rule, figures))["figures"] == told


def test_a_chance_is_told_as_computed():
    assert flag_row(flag("early_pick", {}))["probability"] == 0.123456789


def test_the_first_fifty_records_are_named_and_all_are_counted():
    names = tuple(f"p2-c3d4:{seq}" for seq in range(1, 61))
    row = flag_row(flag("early_pick", {}, records=names))
    assert row["records"] == list(names[:50])
    assert row["record_count"] == 60


def test_a_ruling_is_told_whole_or_is_null():
    at = datetime(2026, 2, 1, 20, 15, tzinfo=UTC)
    ruling = Ruling("agreed", "the owner sent them", "O", at, "shed:4", stands=False)
    assert flag_row(flag("early_pick", {}))["ruling"] is None
    assert flag_row(flag("early_pick", {}, ruling=ruling))["ruling"] == {
        "says": "agreed", "note": "the owner sent them", "by": "O",
        "at": "2026-02-01T20:15:00.000Z", "record": "shed:4", "stands": False,
    }


def test_five_bags_from_resting_ground_are_told_with_their_figures(document):
    row = next(f for f in document["flags"] if f["name"] == "early_pick:B02:2025")
    figures = row["figures"]
    assert row["how_sure"] == "sure"
    assert (figures["picked_from"], figures["rest_ends"]) == ("2026-01-22", "2029-11-11")
    assert figures["days_early"] == (date(2029, 11, 11) - date(2026, 1, 22)).days
    assert (figures["bags"], figures["kg"]) == (5, 35)
    assert len(row["records"]) == row["record_count"] == 5
