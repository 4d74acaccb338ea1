import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.geometry.picking import DAYS, DRIFTS
from sync.picks.early import (
    chance_at_least,
    chance_over,
    expected_bags,
    how_sure,
)
from sync.picks.early_tracks import chance_at_most, chance_of_sum
from sync.settings import Tunables

GROUPS = st.lists(
    st.tuples(st.integers(1, 12).map(lambda halves: halves / 2), st.floats(0, 1)), max_size=7
)


def test_groups_give_the_printed_chances(printed, agrees):
    three = printed["early"]["three_groups"]

    assert agrees(chance_at_least(three["groups"], 2.0), three["two"])
    assert agrees(chance_at_least(three["groups"], 1.0), three["one"])
    assert agrees(expected_bags(three["groups"]), three["expected"])

    five = printed["early"]["five_groups"]

    assert agrees(chance_at_least(five["groups"], 2.0), five["two"])
    assert agrees(expected_bags(five["groups"]), five["expected"])


def test_thirty_bags_well_inside_the_neighbour_are_no_pick_here(printed, agrees):
    case = printed["early"]["neighbours_bags"]
    groups = [(1.0, case["chance"])] * case["bags"]

    assert agrees(chance_at_least(groups, 1.0), case["one"])
    assert agrees(chance_at_least(groups, 2.0), case["two"])


@given(GROUPS, st.floats(-1, 12))
def test_the_chance_is_that_of_trying_every_outcome(groups, least):
    total = 0.0
    for there in itertools.product([False, True], repeat=len(groups)):
        weight = math.prod(p if yes else 1 - p for (_, p), yes in zip(groups, there, strict=True))
        bags = sum(n for (n, _), yes in zip(groups, there, strict=True) if yes)
        total += weight if bags >= least else 0.0

    assert chance_at_least(groups, least) == pytest.approx(total, abs=1e-12)


@given(GROUPS)
def test_more_bags_are_never_likelier_than_fewer(groups):
    chances = [chance_at_least(groups, halves / 2) for halves in range(10)]

    assert all(a >= b - 1e-12 for a, b in itertools.pairwise(chances))
    assert chances[0] == 1.0


def test_a_tiny_chance_keeps_its_digits():
    assert chance_at_least([(1.0, 1e-12), (1.0, 1e-12)], 2.0) == pytest.approx(1e-24)


def test_nothing_tallied_is_no_pick():
    assert chance_at_least([], 0.5) == 0.0
    assert expected_bags([]) == 0.0


@pytest.mark.parametrize("group", [(0.3, 0.5), (-1.0, 0.5), (1.0, 1.1), (1.0, math.nan)])
def test_bags_come_in_halves_and_chances_between_0_and_1(group):
    with pytest.raises(ValueError, match=r"bags=|chance="):
        chance_at_least([group], 2.0)


def test_a_chance_over_one_by_rounding_alone_is_taken_as_one():
    assert chance_at_least([(2.0, 1.0 + 1e-15)], 2.0) == 1.0


def test_the_printed_chances_of_having_picked_too_much(printed, agrees):
    over = printed["over"]
    for may_take, chance in over["cases"]:
        assert agrees(chance_over(over["kg"], over["sd"], may_take), chance)


def test_kg_without_an_error_are_over_or_not():
    assert chance_over(101.0, 0.0, 100.0) == 1.0
    assert chance_over(100.0, 0.0, 100.0) == 0.0


@pytest.mark.parametrize(
    ("chance", "word"),
    [
        (1.0, "sure"),
        (0.95, "sure"),
        (0.949, "likely"),
        (0.5, "likely"),
        (0.499, "perhaps"),
        (0.1, "perhaps"),
        (0.099, None),
    ],
)
def test_each_chance_has_its_word(chance, word):
    assert how_sure(chance, Tunables()) == word


def test_groups_by_chance_alone_are_summed_exactly():
    groups = [(1.0, 0.5), (2.0, 0.2), (1.0, 0.9)]

    assert chance_of_sum(groups, [], 2.0) == chance_at_least(groups, 2.0)


def test_a_group_whose_track_leaves_no_doubt_is_as_sure_as_its_chance():
    there, away = np.full(DRIFTS, 2.0), np.zeros(DRIFTS)

    assert chance_of_sum([], [there], 2.0) == 1.0
    assert chance_of_sum([], [there, away], 2.0) == 1.0
    assert chance_of_sum([], [away], 2.0) == 0.0
    assert chance_of_sum([(2.0, 0.3)], [away], 2.0) == pytest.approx(0.3)


def test_half_a_carry_on_either_side_is_no_whole_one():
    """Three bags half of whose time was there are a bag and a half, not three by chance 0.5."""
    half = np.full(DRIFTS, 0.5)

    assert chance_of_sum([], [half] * 3, 2.0) == 0.0
    assert chance_of_sum([], [half] * 4, 2.0) == 1.0
    assert chance_at_least([(1.0, 0.5)] * 3, 2.0) == pytest.approx(0.5)


def test_an_error_that_lasts_the_day_moves_all_groups_at_once():
    """By the error of half of the days all are there, else none: twenty groups say no more."""
    days = np.repeat([1.0] * (DAYS // 2) + [0.0] * (DAYS // 2), DRIFTS // DAYS)

    assert chance_of_sum([], [days] * 20, 2.0) == pytest.approx(0.5)


AMOUNTS = st.lists(st.tuples(st.sampled_from([0.02, 0.024, 0.026, 0.1, 0.5, 1.0, 3.0]),
                             st.integers(0, DRIFTS), st.integers(0, DRIFTS)), max_size=6)


@given(GROUPS, AMOUNTS, st.integers(1, 8).map(lambda halves: halves / 2))
def test_no_chance_passes_its_bound(groups, spans, least):
    amounts = []
    for bags, first, last in spans:
        there = np.zeros(DRIFTS)
        there[first:last] = bags
        amounts.append(there)
    expected = expected_bags(groups) + sum(float(np.mean(there)) for there in amounts)

    assert chance_of_sum(groups, amounts, least) <= chance_at_most(expected, least)


@given(GROUPS, AMOUNTS, st.integers(1, 8).map(lambda halves: halves / 2))
def test_a_sum_by_days_is_that_of_every_error_by_itself(groups, spans, least):
    """Convolved group by group in plain numbers, for each error of the day."""
    amounts = [np.where((np.arange(DRIFTS) >= first) & (np.arange(DRIFTS) < last), bags, 0.0)
               for bags, first, last in spans]
    reached = []
    for day in range(DAYS):
        sums = {0: 1.0}
        dealt = [[(round(20 * n), p), (0, 1.0 - p)] for n, p in groups]
        dealt += [[(int(np.rint(20 * one)), DAYS / DRIFTS)
                   for one in there.reshape(DAYS, -1)[day]] for there in amounts]
        for outcomes in dealt:
            after = {}
            for so_far, chance in sums.items():
                for steps, part in outcomes:
                    more = min(so_far + steps, 20 * least)
                    after[more] = after.get(more, 0.0) + chance * part
            sums = after
        reached.append(sums.get(20 * least, 0.0))

    assert chance_of_sum(groups, amounts, least) == pytest.approx(
        sum(reached) / DAYS, abs=1e-9)


def test_2026_11_28_where_no_bag_is_asked_for_any_are_enough():
    # The bound divided by the least that is asked for; an owner may ask for none.
    assert chance_at_most(0.0, 0.0) == math.inf
    assert chance_of_sum([], [np.zeros(DRIFTS)], 0.0) == 1.0
