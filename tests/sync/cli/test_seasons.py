"""`fallow seasons`, as the owner types it."""

import csv
import io
import json
import os

import pytest

from sync.cli.planning import solver_is_quiet

PERMIT = """
[[permit]]
permit = "X-1"
from = 2024-09-01
year_start = "09-01"
cap = 2500
cap_unit = "kg_dry"
"""


@pytest.fixture
def folder(season):
    made, shelf = season
    made.take(shelf)
    (made.folder / "permits.toml").write_text(PERMIT)
    return made.folder


def plan(fallow, folder, *more: object) -> tuple[int, str, str]:
    return fallow("seasons", folder, "--on", "2026-02-20", *more)


def test_the_table_fits_and_says_gap_limit_cap_and_range(fallow, folder):
    code, out, err = plan(fallow, folder, "--years", 8)

    assert code == 0, err
    assert max(map(len, out.splitlines())) <= 100
    assert out.startswith("Test Mire: seasons 2025 to 2032, by what is known on 2026-02-20")
    for said in ("Solved (within 0.5 % of the best, 30 s at most)", "\nsum t ", "\n90 % t ",
                 "\ncap t ", "m = measure first", "cells nobody measured"):
        assert said in out
    assert err == ""


def test_2026_11_28_a_plan_searched_in_turns_says_that_the_next_may_differ(
    fallow, folder, monkeypatch
):
    told = "another run may give another plan"
    whole, as_json = plan(fallow, folder)[1], json.loads(plan(fallow, folder, "--json")[1])
    assert told not in whole
    assert not as_json["in_turns"]

    monkeypatch.setattr("sync.plan.solve._FEW_COLUMNS", 0)
    assert told in " ".join(plan(fallow, folder)[1].split())
    assert json.loads(plan(fallow, folder, "--json")[1])["in_turns"]


def test_more_than_eight_seasons_have_a_row_each(fallow, folder):
    code, out, _ = plan(fallow, folder, "--years", 11)

    assert code == 0
    assert max(map(len, out.splitlines())) <= 100
    assert [line[:4] for line in out.splitlines() if line[:2] == "20"] == [
        str(year) for year in range(2025, 2036)]


def test_json_csv_and_table_tell_the_same_picks(fallow, folder):
    told = json.loads(plan(fallow, folder, "--json")[1])
    rows = list(csv.DictReader(io.StringIO(plan(fallow, folder, "--csv")[1])))

    assert told["status"] == "optimal"
    assert [(str(one["season"]), one["cell"], str(one["kg"])) for one in told["picks"]] == [
        (row["season"], row["cell"], row["kg"]) for row in rows]
    assert rows
    for season in told["seasons"]:
        mine = sum(one["kg"] for one in told["picks"] if one["season"] == season["season"])
        assert mine == pytest.approx(season["planned_kg"]["value"], abs=len(told["picks"]))
        assert all(cap["planned_kg"] <= cap["left_kg"] for cap in season["caps"])


def test_the_same_plan_twice_is_the_same_bytes(fallow, folder, tmp_path):
    one, other = tmp_path / "one.json", tmp_path / "other.json"
    for out in (one, other):
        assert plan(fallow, folder, "--json", "--out", out)[0] == 0

    assert one.read_bytes() == other.read_bytes()


def test_a_plan_that_cannot_be_ends_with_1_and_names_the_rule(fallow, folder):
    code, out, _ = plan(fallow, folder, "--at-least", 9)

    assert code == 1
    assert "No plan keeps all these rules." in out
    assert "if less were asked of a season" in " ".join(out.split())
    code, out, err = plan(fallow, folder, "--at-least", 9, "--json")
    assert code == 1
    assert json.loads(out)["status"] == "infeasible"
    assert "if less were asked of a season" in err


@pytest.mark.parametrize("words", [
    ("--fix", "C07"), ("--fix", "C07=28"), ("--fix", "C07=2028"), ("--never", "Z9"),
    ("--years", 0), ("--years", 99), ("--even", -1), ("--gap", 100), ("--limit-s", 0),
    ("--json", "--csv"), ("--on", "yesterday"), ("--at-least", "-3"), ("--least-kg", "nan"),
    ("--even", "nan"), ("--at-least", "nan"), ("--at-least", "inf"), ("--years", "two"),
])
def test_wrong_words_end_with_2_and_say_what_is_wrong(fallow, folder, words):
    code, out, err = plan(fallow, folder, *words)

    assert code == 2
    assert out == ""
    assert err != ""


def test_an_empty_folder_is_told(fallow, tmp_path):
    assert plan(fallow, tmp_path)[0] == 3


def test_what_the_solver_prints_does_not_reach_the_results(capfd):
    with solver_is_quiet():
        os.write(1, b"chatter")
    os.write(1, b"result")

    assert capfd.readouterr().out == "result"


def test_the_report_has_the_seasons_where_asked(fallow, folder, tmp_path):
    out = tmp_path / "r.html"
    code, _, err = fallow("report", folder, "--on", "2026-02-20", "--seasons", 3, "--out", out)

    assert code == 0, err
    text = out.read_text(encoding="utf-8")
    assert 'id="seasons"' in text
    assert "Test Mire: seasons 2025 to 2027" in text
    assert fallow("report", folder, "--land", "--seasons", 3)[0] == 2
