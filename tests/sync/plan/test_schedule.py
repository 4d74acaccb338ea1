"""The solver against every schedule there is, on problems small enough to try them all."""

import itertools
import math
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sync.plan.gives_way import clash_of
from sync.plan.highs import programme
from sync.plan.rows import lay_out
from sync.plan.schedule import Item, Need, Option, Problem, Rule, between, even, flow
from sync.plan.search import search
from sync.plan.solve import solve

KG = st.integers(1, 50).map(float)


@st.composite
def problems(draw: st.DrawFn) -> Problem:
    periods = draw(st.integers(2, 3))
    items = []
    for name in "abc"[: draw(st.integers(1, 3))]:
        firsts = [Option({t: draw(KG)}, 0.0) for t in range(periods)]
        laters = [Option({t: draw(KG)}, 0.0, after=before)
                  for before in range(periods) for t in range(before + 1, periods)
                  if draw(st.booleans())]
        options = tuple(Option(o.takes, next(iter(o.takes.values())), o.after)
                        for o in (*firsts, *laters))
        items.append(Item(name, options))
    rules = [between("cap", f"{t}", t, high=draw(st.integers(5, 120)) * 1.0)
             for t in range(periods)]
    if draw(st.booleans()):
        rules += even("even", {t: f"{t}" for t in range(periods)}, 0.5, {0: 3.0})
    apart = (("a", "b"),) if draw(st.booleans()) and len(items) > 1 else ()
    needs = (Need("fix", "a", draw(st.integers(0, periods - 1))),) if draw(st.booleans()) else ()
    return Problem(tuple(items), periods, tuple(rules), needs, apart)


def chains(item: Item) -> list[tuple[Option, ...]]:
    """Every set of options of an item in which each that follows has what it follows."""
    found = []
    for size in range(len(item.options) + 1):
        for some in itertools.combinations(item.options, size):
            uses = [t for o in some for t in o.takes]
            after = [o.after for o in some if o.after is not None]
            if (sum(o.after is None for o in some) <= 1 and len(set(uses)) == len(uses)
                    and len(set(after)) == len(after) and set(after) <= set(uses)):
                found.append(some)
    return found


def keeps(problem: Problem, some: tuple[tuple[Option, ...], ...]) -> bool:
    uses = {item.name: {t for o in mine for t in o.takes}
            for item, mine in zip(problem.items, some, strict=True)}
    totals = [sum(o.takes.get(t, 0.0) for mine in some for o in mine)
              for t in range(problem.periods)]
    for rule in problem.rules:
        value = sum(weight * totals[t] for t, weight in rule.weights.items())
        if not rule.low - 1e-7 <= value <= rule.high + 1e-7:
            return False
    return (all(need.period in uses[need.item] for need in problem.needs)
            and all(not uses[a] & uses[b] for a, b in problem.apart))


@settings(max_examples=60, deadline=None)
@given(problems())
def test_no_schedule_that_keeps_the_rules_is_worth_more(problem):
    found = solve(problem)
    worths = [sum(o.value for mine in some for o in mine)
              for some in itertools.product(*(chains(item) for item in problem.items))
              if keeps(problem, some)]

    assert (found.status == "infeasible") == (not worths)
    if worths:
        mine = tuple(tuple(c.option for c in found.chosen if c.item == item.name)
                     for item in problem.items)
        assert found.value == pytest.approx(max(worths), abs=1e-6)
        assert keeps(problem, mine)
        assert found.totals == pytest.approx(
            [sum(o.takes.get(t, 0.0) for one in mine for o in one)
             for t in range(problem.periods)])
    else:
        assert clash_of(problem).alone or clash_of(problem).together


@settings(max_examples=60, deadline=None)
@given(problems())
def test_what_is_searched_for_keeps_the_rules_and_its_bound_is_true(problem):
    laid = lay_out(problem)
    costs = np.zeros(laid.columns)
    costs[: len(laid.options)] = [-problem.items[i].options[j].value for i, j in laid.options]
    found = search(programme(problem, laid, costs), gap=0.0, limit_s=5.0, clock=time.monotonic)
    worths = [sum(o.value for mine in some for o in mine)
              for some in itertools.product(*(chains(item) for item in problem.items))
              if keeps(problem, some)]

    if not worths:
        assert found.x is None
        return
    mine = tuple(tuple(problem.items[i].options[j]
                       for column, (i, j) in enumerate(laid.options)
                       if i == number and found.x[column] > 0.5)
                 for number in range(len(problem.items)))
    assert keeps(problem, mine)
    assert found.value == pytest.approx(-sum(o.value for one in mine for o in one))
    # So few items are all chosen anew in one turn, so that nothing better is left.
    assert -found.value == pytest.approx(max(worths), abs=1e-6)
    assert -found.bound >= max(worths) - 1e-6


def many_items(count: int, *, evenness: float | None = None) -> Problem:
    """Items in a row, neighbours apart, each used again after three of eight periods; a cap."""
    items = []
    for i in range(count):
        kg = 1000.0 + 37.0 * ((i * 7919) % 101)
        firsts = [Option({t: kg}, kg * (1.0 - 0.001 * t)) for t in range(i % 3, 8)]
        laters = [Option({t: 0.9 * kg}, 0.9 * kg * (1.0 - 0.001 * t), after=before)
                  for before in range(i % 3, 8) for t in range(before + 3, 8)]
        items.append(Item(f"{i:03d}", (*firsts, *laters)))
    rules = [between("cap", f"{t}", t, high=500.0 * count) for t in range(8)]
    if evenness is not None:
        rules += even("even", {t: f"{t}" for t in range(8)}, evenness, {})
    apart = tuple((f"{i:03d}", f"{i + 1:03d}") for i in range(count - 1))
    return Problem(tuple(items), 8, tuple(rules), (), apart)


@pytest.mark.parametrize("evenness", [None, 0.02])
def test_many_items_are_scheduled_within_a_proven_gap(evenness):
    problem = many_items(300, evenness=evenness)
    found = solve(problem, gap=0.02, limit_s=60.0, clock=time.monotonic)
    by_item = {item.name: tuple(c.option for c in found.chosen if c.item == item.name)
               for item in problem.items}

    assert found.in_turns
    assert found.status == "optimal"
    assert found.gap == pytest.approx((found.bound - found.value) / found.value)
    assert found.gap <= 0.02
    assert keeps(problem, tuple(by_item.values()))
    assert found.value == pytest.approx(sum(o.value for one in by_item.values() for o in one))


def test_no_time_gives_a_schedule_of_something_or_none():
    found = solve(many_items(300), limit_s=0.0, clock=time.monotonic)

    assert found.status == "nothing" or found.value > 0.0


def test_a_use_that_follows_needs_what_it_follows():
    item = Item("a", (Option({0: 1.0}, 1.0), Option({2: 100.0}, 100.0, after=0)))

    assert solve(Problem((item,), 3)).totals == (1.0, 0.0, 100.0)
    assert solve(Problem((Item("a", item.options[1:]),), 3)).totals == (0.0, 0.0, 0.0)


def test_even_counts_what_was_there_before():
    items = tuple(Item(f"{i}", (Option({0: 10.0}, 10.0), Option({1: 10.0}, 10.0)))
                  for i in range(6))
    found = solve(Problem(items, 2, even("even", {0: "0", 1: "1"}, 0.0, {0: 20.0})))

    assert found.totals == (20.0, 40.0)


def test_flow_holds_both_ways():
    up, down = flow("flow", "1", 1, 0.2)

    assert (up.weights, up.low) == ({1: 1.0, 0: -0.8}, 0.0)
    assert (down.weights, down.high) == ({1: 1.0, 0: -1.2}, 0.0)


def test_a_problem_of_nothing_has_a_schedule_of_nothing():
    assert solve(Problem((), 3)).totals == (0.0, 0.0, 0.0)


def test_rules_that_only_together_are_too_much_are_told_together():
    items = (Item("a", (Option({0: 10.0}, 10.0),)), Item("b", (Option({1: 10.0}, 10.0),)))
    rules = (Rule("one", "0", {0: 1.0}, low=20.0, period=0),
             Rule("two", "1", {1: 1.0}, low=30.0, period=1))
    clash = clash_of(Problem(items, 2, rules))

    assert clash.alone == ()
    assert {(w.name, round(w.by)) for w in clash.together} == {("one", 10), ("two", 20)}


def test_the_same_problem_gives_the_same_schedule():
    items = tuple(Item(f"{i}", tuple(Option({t: 10.0 + i}, 10.0 + i) for t in range(3)))
                  for i in range(9))
    rules = tuple(between("cap", "", t, high=40.0) for t in range(3))

    assert solve(Problem(items, 3, rules)) == solve(Problem(items, 3, rules))
    assert math.isclose(solve(Problem(items, 3, rules)).gap or 0.0, 0.0, abs_tol=1e-9)
