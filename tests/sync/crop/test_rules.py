"""What block and permits demand of a cell on a day."""

import dataclasses
from datetime import date

import pytest

from sync.block import Block, Grid, Permit, Rule
from sync.crop.rules import cell_rule

RULES = (Rule(None, 60, 5.0, 40.0, 30.0), Rule(date(2026, 7, 1), 72, 6.0, 50.0, 35.0))
NONE = Permit("none", (), None, None, (7, 1), None, None, None, None, None, None, None)
DAY = date(2026, 2, 20)


def block(*permits, rules=RULES):
    return Block("testblok", "Test Mire", "UTC", 2193, Grid(0.0, 0.0, 100.0), (7, 1), rules, (),
                 permits=permits)


def permit(**changes):
    return dataclasses.replace(NONE, **changes)


def rule(*permits, parcel="home", day=DAY):
    return cell_rule(block(*permits), parcel, day)


def test_without_permits_the_blocks_rule_holds_and_none_is_needed():
    found = rule()
    assert (found.rest_months, found.rest_years, found.recovery_years) == (60, 5.0, 5.0)
    assert (found.living_layer_mm, found.keep, found.permitted) == (40.0, 0.30, True)
    assert (found.max_share, found.max_kg_m2) == (None, None)


def test_a_new_rule_holds_from_its_first_day():
    assert rule(day=date(2026, 6, 30)).rest_months == 60
    assert rule(day=date(2026, 7, 1)).rest_months == 72


@pytest.mark.parametrize(("keep_pct", "layer", "expected"), [
    (50.0, 20.0, (0.5, 40.0)), (10.0, 80.0, (0.3, 80.0)), (None, None, (0.3, 40.0)),
    (0.0, 0.0, (0.3, 40.0))])
def test_of_block_and_permit_the_stricter_holds_each_by_itself(keep_pct, layer, expected):
    found = rule(permit(keep_pct=keep_pct, living_layer_mm=layer))
    assert (found.keep, found.living_layer_mm) == expected


def test_of_two_permits_the_stricter_holds_each_by_itself():
    found = rule(permit(max_share_pct=30.0, max_kg_ha=500.0, keep_pct=60.0),
                 permit(max_share_pct=40.0, max_kg_ha=300.0, living_layer_mm=90.0))
    assert (found.max_share, found.max_kg_m2) == (pytest.approx(0.3), pytest.approx(0.03))
    assert (found.keep, found.living_layer_mm) == (0.6, 90.0)


@pytest.mark.parametrize(("day", "permitted"), [
    (date(2025, 12, 31), False), (date(2026, 1, 1), True), (date(2026, 12, 31), True),
    (date(2027, 1, 1), False)])
def test_a_permit_holds_on_its_first_and_on_its_last_day(day, permitted):
    found = rule(permit(since=date(2026, 1, 1), until=date(2026, 12, 31), keep_pct=90.0), day=day)
    assert found.permitted == permitted
    assert (found.keep == 0.9) == permitted, "a permit that is not in force demands nothing"


def test_a_permit_of_another_parcel_permits_nothing_here_and_demands_nothing():
    found = rule(permit(parcels=("strip",), keep_pct=90.0))
    assert (found.permitted, found.keep) == (False, 0.3)


def test_a_permit_of_the_whole_block_covers_ground_that_no_parcel_names():
    assert rule(permit(), parcel=None).permitted
    assert not rule(permit(parcels=("home",)), parcel=None).permitted


def test_a_limit_of_nothing_is_a_limit():
    found = rule(permit(max_share_pct=0.0, max_kg_ha=0.0))
    assert (found.max_share, found.max_kg_m2) == (0.0, 0.0)
