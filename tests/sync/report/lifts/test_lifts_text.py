"""Lifts as text, CSV and JSON, from a register of records."""

import csv
import dataclasses
import io
import json
from datetime import UTC, datetime

import pytest

from sync.block import Costs
from sync.plan.lifts.plan import plan_lifts
from sync.report.lifts.files import lifts_csv, lifts_json
from sync.report.lifts.standing import hazards_marked, piles_waiting
from sync.report.lifts.text import lifts_text

AT = datetime(2026, 2, 15, 0, tzinfo=UTC)
COSTS = Costs("NZD", lift_each=95.0, lift_call_out=600.0)


@pytest.fixture
def plan_of(made):
    """Plan the lifts of the small block with some bags weighed there."""
    def make(kg=(), limit_kg=620.0, mark=None, work=None, **changes):
        phones = made.season()
        for number, one in enumerate(kg):
            phones[2].note("batch", AT, "O", batch=f"W-{number}", stage="weighed", bags=1,
                           wet_kg=one, **{"from": ["P2-003"]})
        if mark is not None:
            phones[1].note("mark", AT, what="pile", name="P2-003", where=made.where(*mark))
        if work is not None:
            phones[2].note("work", AT, "O", **work)
        settings = {"costs": COSTS, **changes}
        register = made.small_register(phones, **settings)
        return plan_lifts(register, piles_waiting(register), hazards_marked(register),
                          limit_kg=limit_kg)

    return make


KG = (88, 102, 78, 96, 80, 74, 98, 90, 86, 88)


def flat(text):
    return " ".join(text.split())


def test_the_text_says_safety_first_which_weighing_and_what_each_costs(plan_of):
    text = lifts_text(plan_of(KG, mark=(215, 110)))

    assert max(map(len, text.splitlines())) <= 100
    told = flat(text)
    assert told.index("The pilot decides") < told.index("Hook limit 620 kg")
    assert ("Wet bag 88 ± 9 kg, by 10 weighings of 10 bags on 15 Feb 2026. 6 bags a sling: 95 of "
            "100 such loads weigh no more than 564 kg; of 7 bags it would be 655 kg.") in told
    assert "The weighing of 15 Feb 2026 is 5 days old" in told
    assert "P2-003: hazard hazard 1, 5 m away." in told
    assert "All lifts 1,425 NZD, with the coming (600) 2,025 NZD" in told
    assert told.count("[ ]") == 10 + 1 + 4


def test_air_and_machine_are_compared_by_cost_and_what_was_driven_is_told(plan_of):
    costs = Costs("NZD", lift_each=95.0, lift_call_out=600.0, machine_trip_each=140.0,
                  machine_bags=20.0, machine_call_out=250.0)
    driven = {"what": "driven", "cells": ["A01", "A02"]}
    plan = plan_of(KG, costs=costs, mark=(215, 110), work=driven)
    text = flat(lifts_text(plan))

    assert "P2-001 10 950 3 420" in text
    assert "With the coming, all of them cost 2,025 NZD by air, 950 NZD by machine." in text
    assert "P2-001 by machine: over A" in text
    assert "P2-001: already driven over on 15 Feb 2026: A0" in text
    assert "15 Feb 2026: A01, A02, at most 2.00 ha [shed:" in text
    assert "A machine presses moss and peat together" in text
    told = json.loads(lifts_json(plan))
    assert {tuple(one["driven_on"]) for pile in told["piles"] for one in pile["machine"]["cells"]
            if one["cell"] in {"A01", "A02"}} == {("2026-02-15",)}


def test_a_pile_nobody_marked_is_said_and_counted(plan_of):
    plan = plan_of(KG)
    text = flat(lifts_text(plan))

    assert "P2-003: its place is not known" in text
    assert "85 bags on 3 piles" in text
    assert "P2-001 of 2024 60" in text
    assert sum(card.bags for card in plan.lifts) == 85


def test_without_a_weighing_it_asks_for_ten_bags_and_gives_no_sling(plan_of):
    text = flat(lifts_text(plan_of()))

    assert "No bag like those of" in text
    assert "weigh ten bags, one by one" in text
    assert "a sling: 95 of 100" not in text
    assert "[ ]" not in text


def test_bags_too_heavy_for_the_hook_are_said(plan_of):
    text = flat(lifts_text(plan_of(KG, limit_kg=90.0)))

    assert "No bag may hang: 95 of 100 weigh up to 103 kg, more than the 90 kg." in text
    assert "P2-003: a single bag may be over the hook limit" in text


def test_few_weighings_say_that_the_spread_is_assumed(plan_of):
    assert "too few to tell a spread: the ± is assumed" in flat(lifts_text(plan_of((88, 90))))


def test_without_rates_it_says_which_to_write(plan_of):
    assert "No cost: block.toml [costs] has no lift_each" in flat(
        lifts_text(plan_of(KG, costs=Costs())))


def test_a_block_without_bags_says_so_and_no_more(plan_of):
    plan = dataclasses.replace(plan_of(KG), piles=(), lifts=())

    assert lifts_text(plan) == "Test Mire, lifts of 20 Feb 2026: no bag waits on any pile.\n"


def test_csv_json_and_text_tell_the_same_lifts(plan_of):
    plan = plan_of(KG, mark=(215, 110))
    told = json.loads(lifts_json(plan))
    rows = list(csv.DictReader(io.StringIO(lifts_csv(plan))))

    assert [(str(one["lift"]), one["batch"], one["pile"], str(one["bags"]))
            for one in told["cards"]] == [
        (row["lift"], row["batch"], row["from"], row["bags"]) for row in rows]
    assert {row["wet_bag_kg"] for row in rows} == {"88"}
    assert {row["stage"] for row in rows} == {"lifted"}
    assert sum(one["lifts"] for one in told["piles"]) == len(rows) == 15


def test_a_pile_without_a_sling_has_a_line_of_its_own(plan_of):
    rows = list(csv.DictReader(io.StringIO(lifts_csv(plan_of()))))

    assert [(row["lift"], row["from"], row["bags"]) for row in rows] == [
        ("", "P2-002", "5"), ("", "P2-001", "60"), ("", "P2-003", "20")]


def test_a_label_that_begins_like_a_formula_is_made_harmless(made):
    phones = made.season()
    phones[1].bags(datetime(2026, 2, 10, 20, tzinfo=UTC), 2, 250, 50, pile="=1+1")
    register = made.small_register(phones)
    plan = plan_lifts(register, piles_waiting(register), (), limit_kg=620.0)

    assert "'=1+1" in {row["from"] for row in csv.DictReader(io.StringIO(lifts_csv(plan)))}


def test_2026_11_28_it_says_which_piles_bags_were_weighed(plan_of):
    plan = plan_of(KG)
    text = flat(lifts_text(plan))
    assert ("The weighed bags were of P2-003; of P2-002 and P2-001 of 2024 none was weighed that "
            "day.") in text
    assert "or none" not in text
    assert {tuple(one["wet_bag"]["piles_weighed"]) for one in json.loads(lifts_json(plan))["piles"]
            } == {("P2-003",)}


@pytest.mark.parametrize(("weighed", "said"), [
    ((("P2-003", 2025), ("P9", 2025)), (
        "The weighed bags were of P2-003 and P9; of P2-003 alone too few were weighed; of P2-002 "
        "and P2-001 of 2024 none was weighed that day.")),
    ((("P2-001", 2025),), (
        "The weighed bags were of P2-001; of P2-002, P2-001 of 2024 and P2-003 none was weighed "
        "that day.")),
    ((), "Of which piles the weighed bags were is not noted."),
])
def test_2026_11_28_too_few_and_none_are_told_apart(plan_of, weighed, said):
    plan = plan_of(KG)
    piles = tuple(dataclasses.replace(
        one, wet=dataclasses.replace(one.wet, own=False, piles=weighed)) for one in plan.piles)

    assert said in flat(lifts_text(dataclasses.replace(plan, piles=piles)))
