"""Published schedules, through the very functions that plan the seasons."""

import csv
import itertools
import json
import tomllib
from collections import defaultdict
from pathlib import Path

import pytest

from sync.plan.gives_way import clash_of
from sync.plan.schedule import Item, Option, Problem, between, flow
from sync.plan.solve import solve

PUBLISHED = Path(__file__).parents[2] / "published"
PRINTED = tomllib.loads((PUBLISHED / "plan.toml").read_text(encoding="utf-8"))


def forest(*, rules: bool = True) -> Problem:
    with (PUBLISHED / "forest_model1_areas.csv").open(encoding="utf-8") as file:
        acres = {row["stand_type"]: float(row["acres"]) for row in csv.DictReader(file)}
    options: dict[str, list[Option]] = defaultdict(list)
    with (PUBLISHED / "forest_model1.csv").open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            takes = {t: float(row[f"vol_p{t + 1}"]) for t in range(7)}
            options[row["stand_type"]].append(Option(takes, float(row["npv_per_acre"])))
    items = tuple(Item(name, tuple(mine), acres[name], whole=True)
                  for name, mine in options.items())
    held = (*(between("volume", f"period {t + 1}", t, low=12000.0) for t in range(7)),
            *flow("flow", "period 7", 6, 0.2)) if rules else ()
    return Problem(items, 7, held, divisible=True)


def half_a_unit(printed: str) -> float:
    return 0.5 * 10.0 ** -len(printed.partition(".")[2])


def test_the_forest_of_the_textbook_is_worth_what_is_printed():
    printed = PRINTED["model1"]
    found = solve(forest())

    assert found.status == "optimal"
    assert found.value == pytest.approx(float(printed["optimum_fine"]), rel=1e-6)
    assert found.value == pytest.approx(
        float(printed["optimum"]), abs=half_a_unit(printed["optimum"]))
    for total, said in zip(found.totals, printed["harvests"], strict=True):
        assert total == pytest.approx(float(said), abs=half_a_unit(said) + 1e-6)


def test_without_its_rules_the_forest_is_worth_more():
    found = solve(forest(rules=False))

    assert found.value == pytest.approx(
        float(PRINTED["model1"]["optimum_without_rules"]), abs=0.00005)


SIX, SIX_EVEN = json.loads((PUBLISHED / "harvest_ip.json").read_text(encoding="utf-8"))


def six_cells(said: dict, *, least: float | None = None) -> Problem:
    items = tuple(
        Item(str(cell), tuple(Option({t: float(kg)}, float(kg)) for t, kg in enumerate(row)))
        for cell, row in enumerate(said["yield"]))
    low = said["min_per_period"] if least is None else least
    rules = [between("bounds", f"period {t + 1}", t, low=low, high=said["max_per_period"])
             for t in range(3)]
    if "flow" in said:
        rules += [rule for t in (1, 2) for rule in flow("flow", f"period {t + 1}", t,
                                                        said["flow"])]
    apart = tuple((str(a), str(b)) for a, b in said["adjacent"])
    return Problem(items, 3, tuple(rules), apart=apart, left_out=said["reserve"])


def all_schedules(said: dict, *, least: float | None = None) -> dict[tuple[int, ...], float]:
    """Every schedule that keeps the rules, by the period of each cell (0 is left out)."""
    low = said["min_per_period"] if least is None else least
    kept = {}
    for periods in itertools.product(range(4), repeat=6):
        totals = [sum(said["yield"][c][t - 1] for c in range(6) if periods[c] == t)
                  for t in (1, 2, 3)]
        if periods.count(0) < said["reserve"]:
            continue
        if any(periods[a] == periods[b] != 0 for a, b in said["adjacent"]):
            continue
        if not all(low <= total <= said["max_per_period"] for total in totals):
            continue
        if "flow" in said and any(abs(totals[t] / totals[t - 1] - 1) > said["flow"] + 1e-12
                                  for t in (1, 2)):
            continue
        kept[periods] = float(sum(totals))
    return kept


@pytest.mark.parametrize(("said", "name"), [(SIX, ""), (SIX_EVEN, "_flow_20")])
def test_six_cells_are_scheduled_as_printed_and_as_by_trying_all(said, name):
    printed = PRINTED["harvest_ip"]
    found = solve(six_cells(said))
    periods = [0] * 6
    for one in found.chosen:
        periods[int(one.item)] = next(iter(one.option.takes)) + 1
    tried = all_schedules(said)
    best = max(tried.values())

    assert found.value == pytest.approx(float(printed[f"optimum{name}"]), abs=0.5e-6)
    assert periods == printed[f"periods{name}"]
    assert found.totals == pytest.approx([float(one) for one in printed[f"harvests{name}"]])
    assert [one for one, value in tried.items() if value == best] == [tuple(periods)]


def test_six_cells_that_must_give_too_much_are_told_as_such():
    assert all_schedules(SIX, least=240.0) == {}

    found = solve(six_cells(SIX, least=240.0))
    clash = clash_of(six_cells(SIX, least=240.0))

    assert found.status == "infeasible"
    assert found.chosen == ()
    assert "bounds" in {ways[0].name for ways in clash.alone}


def test_a_clash_names_only_what_lets_the_others_be_kept():
    clash = clash_of(six_cells(SIX, least=240.0))
    by_name = {ways[0].name: ways for ways in clash.alone}

    for name in ("apart", "reserve"):
        without = {**SIX, "adjacent": []} if name == "apart" else {**SIX, "reserve": 0}
        assert (name in by_name) == bool(all_schedules(without, least=240.0))
    # By how much the bounds give way is what trying all schedules says, too.
    least = min(
        sum(max(0.0, 240.0 - t) + max(0.0, t - 300.0) for t in totals)
        for totals in _all_totals())
    assert sum(one.by for one in by_name["bounds"]) == pytest.approx(least, rel=0.02)


def _all_totals():
    for periods in all_schedules({**SIX, "max_per_period": 10_000}, least=0.0):
        yield [sum(SIX["yield"][c][t - 1] for c in range(6) if periods[c] == t)
               for t in (1, 2, 3)]
