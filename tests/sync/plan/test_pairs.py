"""Pairs of like cells, and a coin that anybody can toss again."""

import hashlib
import itertools
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.block import TrialDraw, TrialPair
from sync.errors import SurveyError
from sync.plan.pairs import Candidate, Wish, candidates_of, draw_trial, is_heads, nearest_pairs

ON = date(2023, 9, 1)


def cells(indices, ground_class="lawn"):
    return [Candidate(f"{ground_class[0].upper()}{i:02d}", ground_class, index)
            for i, index in enumerate(indices, 1)]


def total(pairs):
    return sum(abs(one.index_l_m2 - two.index_l_m2) for one, two in pairs)


def every_choice(left, pairs):
    """All ways to choose pairs of one class, by brute force."""
    if pairs == 0:
        yield ()
        return
    for i, j in itertools.combinations(range(len(left)), 2):
        if left[i].ground_class == left[j].ground_class:
            rest = [one for n, one in enumerate(left) if n > i and n != j]
            for others in every_choice(rest, pairs - 1):
                yield ((left[i], left[j]), *others)


@given(st.lists(st.integers(0, 40), min_size=2, max_size=5),
       st.lists(st.integers(0, 40), min_size=2, max_size=4), st.integers(1, 3))
def test_no_other_choice_of_pairs_is_nearer(lawn, mound, pairs):
    among = [*cells(lawn), *cells(mound, "mound")]
    found = list(every_choice(among, pairs))
    if not found:
        with pytest.raises(SurveyError, match="pairs="):
            nearest_pairs(among, pairs)
        return
    chosen = nearest_pairs(among, pairs)
    assert total(chosen) == pytest.approx(min(map(total, found)))
    used = [one.cell for pair in chosen for one in pair]
    assert len(set(used)) == 2 * pairs
    assert all(one.ground_class == two.ground_class for one, two in chosen)


def test_the_nearest_first_is_not_the_best_for_all():
    # 10|11 first would leave 0 and 20 together.
    chosen = nearest_pairs(cells([0.0, 10.0, 11.0, 20.0]), 2)
    assert [(one.index_l_m2, two.index_l_m2) for one, two in chosen] == [(0, 10), (11, 20)]


def test_the_coin_can_be_tossed_again_without_the_program():
    text = b"417:rolling:C08:C10"
    assert is_heads(417, "rolling", ("C10", "C08")) == bool(hashlib.sha256(text).digest()[-1] & 1)


def test_the_coin_is_fair_over_seeds_and_over_pairs():
    by_seed = sum(is_heads(seed, "t", ("A01", "A02")) for seed in range(4000))
    by_pair = sum(is_heads(1, "t", ("A01", f"B{i:04d}")) for i in range(4000))
    # Five standard deviations of 4,000 fair coins.
    assert abs(by_seed - 2000) < 158
    assert abs(by_pair - 2000) < 158


@pytest.fixture(scope="module")
def measured(mire):
    book = mire.Book()
    for i, cell in enumerate(("A01", "A02", "A03", "B01", "B02", "B03", "C01")):
        for cover in (50 + i, 54 + i):
            book.quadrat(date(2023, 7, 1), cell, cover)
    return book


def test_only_measured_cells_that_are_in_no_draw_are_drawn(mire, measured):
    register = mire.register(measured, ON)
    made = draw_trial(register, Wish("rolling", "rolled", 3), seed=7)
    drawn = {cell for pair in made.pairs for cell in (pair.treated, pair.other)}
    assert len(drawn) == 6
    assert drawn < {"A01", "A02", "A03", "B01", "B02", "B03", "C01"}
    again = mire.register(measured, ON, mire.mire(trials=(made,)))
    assert {one.cell for one in candidates_of(again, Wish("rolling", "rolled", 1))} == {
        "A01", "A02", "A03", "B01", "B02", "B03", "C01"} - drawn
    with pytest.raises(SurveyError, match="make 0 pairs"):
        draw_trial(again, Wish("other", "rolled", 1), seed=7)


def test_the_same_seed_draws_the_same_and_the_treated_one_is_as_the_coin_fell(mire, measured):
    register = mire.register(measured, ON)
    one, two = (draw_trial(register, Wish("rolling", "rolled", 3), seed=7) for _ in range(2))
    assert one == two
    for pair in one.pairs:
        first = min(pair.treated, pair.other)
        assert (pair.treated == first) == is_heads(7, "rolling", (pair.treated, pair.other))


@pytest.mark.parametrize(("wish", "said"), [
    (Wish("t", "rolled", 1, cells=("Z99",)), "'Z99': no cell or ground class"),
    (Wish("t", "rolled", 1, classes=("bog",)), "'bog': no cell or ground class"),
    (Wish("t", "rolled", 1, cells=("A01", "C03")), "C03: has no drawn quadrats"),
    (Wish("t", "rolled", 9), "pairs=9: 7 cells can be in this trial and make 3 pairs"),
])
def test_what_cannot_be_drawn_is_refused_with_a_reason(mire, measured, wish, said):
    with pytest.raises(SurveyError, match=said):
        draw_trial(mire.register(measured, ON), wish, seed=1)


def test_one_trial_is_of_one_treatment(mire, measured):
    before = TrialDraw("t", "rolled", ON, 1, (TrialPair("A01", "A02", "all", 1.0, 1.0),))
    register = mire.register(measured, ON, mire.mire(trials=(before,)))
    with pytest.raises(SurveyError, match="is of rolled, not reseeded"):
        draw_trial(register, Wish("t", "reseeded", 1), seed=1)
    with pytest.raises(SurveyError, match="A01: is in trial 't' already"):
        draw_trial(register, Wish("u", "rolled", 1, cells=("A01", "A03")), seed=1)
