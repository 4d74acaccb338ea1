"""Sharing an effort out: turns, classes, quadrats a cell; chances that add up."""

from datetime import date

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from sync.plan.plots.effort import draw_cells, effort_of
from sync.plan.plots.frame import Candidate, Frame, Spread
from sync.settings import Tunables
from sync.survey.effort import best_quadrats

SETTINGS = Tunables()


def frame(turns, *, unknown=None, classes=None, within=400.0, between=100.0):
    cells = tuple(
        Candidate(f"A{i:02d}", (classes or "l" * len(turns))[i], shapely.box(0, 0, 1, 1),
                  (100.0 * (i % 8), 100.0 * (i // 8)), turn, turn < 2, "",
                  unknown[i] if unknown else 100.0)
        for i, turn in enumerate(turns))
    spread = Spread(50.0, within, between, False)
    return Frame(cells, dict.fromkeys(sorted({c.ground_class for c in cells}), spread),
                 10_000.0 * len(cells), (), date(2028, 1, 1))


def test_a_turn_is_served_first_but_for_the_others_part():
    effort = effort_of(frame([0] * 10 + [1] * 10 + [2] * 20), 20, SETTINGS)
    # A fifth of 20 is kept from the 10 of the first turn, which all fit; of the 10 left a fifth.
    of_turn = {0: 0.0, 1: 0.0, 2: 0.0}
    for group in effort.groups:
        for cell, chance in zip(group.cells, group.chances, strict=True):
            of_turn[cell.turn] += chance
    assert of_turn == pytest.approx({0: 10, 1: 8, 2: 2})


def test_cells_go_to_classes_by_what_is_unknown_in_them():
    # Neyman: 10 · 300 to 10 · 100, so 3 to 1.
    effort = effort_of(frame([1] * 20, unknown=[300.0] * 10 + [100.0] * 10,
                             classes="a" * 10 + "b" * 10), 8, SETTINGS)
    assert {g.name: g.count for g in effort.groups} == {"a": 6, "b": 2}


def test_quadrats_a_cell_are_those_that_pay_within_their_bounds():
    many = effort_of(frame([2] * 30, within=6400.0), 5, SETTINGS)
    # 0.7124 √(300,000/5) = 174.5 m, at 1.5 km/h 6.98 min.
    assert many.walk_min == pytest.approx(6.98, abs=0.005)
    assert best_quadrats(many.walk_min, 6.0, within_variance=6400.0, between_variance=100.0) == 9
    assert many.quadrats == {"l": SETTINGS.most_quadrats}
    paid = effort_of(frame([2] * 30, within=1000.0), 5, SETTINGS)
    assert paid.quadrats == {"l": 3}
    few = effort_of(frame([2] * 30, within=1.0), 5, SETTINGS)
    assert few.quadrats == {"l": SETTINGS.least_quadrats}
    assert effort_of(frame([2] * 30, within=1.0), 5, SETTINGS, least=3).quadrats == {"l": 3}


@settings(max_examples=80, deadline=None)
@given(st.lists(st.sampled_from([0, 1, 2]), min_size=1, max_size=40), st.data())
def test_chances_add_up_and_no_cell_is_without_one(turns, data):
    classes = "".join(data.draw(st.lists(st.sampled_from("abc"), min_size=len(turns),
                                         max_size=len(turns))))
    unknown = data.draw(st.lists(st.floats(1.0, 1000.0), min_size=len(turns),
                                 max_size=len(turns)))
    count = data.draw(st.integers(1, len(turns)))
    effort = effort_of(frame(turns, unknown=unknown, classes=classes), count, SETTINGS)

    assert sum(effort.chances.values()) == pytest.approx(count)
    assert set(effort.chances) == {f"A{i:02d}" for i in range(len(turns))}
    assert min(effort.chances.values()) > 0.0
    import numpy as np
    cells = draw_cells(effort, np.random.default_rng(1).random)
    assert len(cells) == len({c.cell for c in cells}) == count
