"""A flag's name, and rulings that stand while the flag is what was ruled on."""

import dataclasses
import hashlib
import json
from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.flags.flag import Flag, with_rulings
from sync.intake.merge import Counted

FLAG = Flag("early_pick", "C07", 2025, "C07", "why", 0.97, "sure", ("p1-aaaa:1", "p1-aaaa:2"), {})


def ruling(says="upheld", *, seq=1, hour=1, flag=FLAG, note=None):
    at = datetime(2026, 2, 1, hour, tzinfo=UTC)
    record = {"kind": "ruling", "flag": flag.name, "says": says, "seen": flag.seen, "note": note}
    return Counted(f"shed:{seq}", record, at, date(2026, 2, 1), "O", None, "shed", seq, None)


def only(*flags, rulings=()):
    (one,) = with_rulings(flags or (FLAG,), list(rulings))
    return one


def test_a_flag_is_named_by_its_rule_its_thing_and_its_season():
    assert FLAG.name == "early_pick:C07:2025"


def test_what_was_seen_is_the_sum_of_certainty_and_record_names():
    said = json.dumps(["sure", ["p1-aaaa:1", "p1-aaaa:2"]], separators=(",", ":"))
    assert FLAG.seen == hashlib.sha256(said.encode()).hexdigest()


def test_a_ruling_tells_who_said_what_when_and_by_which_record():
    found = only(rulings=[ruling(note="asked him")]).ruling
    assert (found.says, found.note, found.by, found.record) == (
        "upheld", "asked him", "O", "shed:1")
    assert found.at == datetime(2026, 2, 1, 1, tzinfo=UTC)
    assert found.stands is True


@pytest.mark.parametrize("changes", [
    {"records": ("p1-aaaa:1",)}, {"records": (*FLAG.records, "p1-aaaa:3")},
    {"records": FLAG.records[::-1]}, {"how_sure": "likely"}])
def test_a_ruling_falls_when_certainty_or_records_change(changes):
    assert only(dataclasses.replace(FLAG, **changes), rulings=[ruling()]).ruling.stands is False


@pytest.mark.parametrize("changes", [
    {"why": "other words"}, {"probability": 0.99}, {"figures": {"kg": 3.0}}])
def test_a_ruling_stands_though_figures_within_it_move(changes):
    assert only(dataclasses.replace(FLAG, **changes), rulings=[ruling()]).ruling.stands is True


def test_a_flag_that_is_again_what_was_ruled_on_is_ruled_again():
    more = dataclasses.replace(FLAG, records=(*FLAG.records, "p1-aaaa:3"))
    assert only(more, rulings=[ruling()]).ruling.stands is False
    assert only(FLAG, rulings=[ruling()]).ruling.stands is True


def test_the_last_ruling_by_time_and_then_by_number_holds_whatever_their_order():
    said = [ruling("upheld", seq=2, hour=5), ruling("not_so", seq=3, hour=2),
            ruling("agreed", seq=4, hour=5)]
    assert only(rulings=said).ruling.says == "agreed"
    assert only(rulings=said[::-1]).ruling.says == "agreed"


def test_a_later_ruling_on_something_else_seen_opens_the_flag_again():
    other = dataclasses.replace(FLAG, how_sure="perhaps")
    found = only(rulings=[ruling(), ruling("agreed", seq=2, flag=other)]).ruling
    assert (found.says, found.stands) == ("agreed", False)


def test_a_ruling_on_another_flag_says_nothing():
    other = dataclasses.replace(FLAG, season=2024)
    assert only(rulings=[ruling(flag=other)]).ruling is None


@given(st.permutations(["a", "B", "c:d", "C07", "Z"]))
def test_flags_come_by_name(names):
    found = with_rulings([dataclasses.replace(FLAG, about=one) for one in names], [])
    assert [flag.name for flag in found] == sorted(flag.name for flag in found)
