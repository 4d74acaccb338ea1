"""What lots tell of classes and cells: against plain means, and against a known truth."""

import math

import numpy as np
import pytest

from sync.plan.lots.marginal import Marginal
from sync.plan.lots.measured import Measured
from sync.plan.lots.mixed import mixed_of
from sync.survey.ranges import t_quantile

GROUPS = {"A01": "lawn", "A02": "lawn", "A03": "lawn", "B01": "mound", "B02": "mound"}


def of(*lots, group_of=GROUPS, least_sd=0.1):
    return mixed_of([Measured(value, 1.0, cells) for value, cells in lots], group_of,
                    least_sd=least_sd)


def test_one_lot_a_cell_is_the_plain_mean_with_student_s_t():
    values = [95.0, 96.2, 94.4]
    lots = zip(values, ("A01", "A02", "A03"), strict=True)
    found = of(*((v, {cell: 1.0}) for v, cell in lots), least_sd=1e-9)
    told = found.of_group("lawn")
    half = t_quantile(2) * np.std(values, ddof=1) / math.sqrt(3)
    assert told.mean == pytest.approx(np.mean(values))
    assert told.range() == pytest.approx((np.mean(values) - half, np.mean(values) + half))


def test_mixtures_without_noise_are_taken_apart():
    found = of((95.0, {"A01": 1.0}), (97.0, {"B01": 1.0}), (96.0, {"A02": 0.5, "B02": 0.5}),
               (95.5, {"A03": 0.75, "B01": 0.25}))
    assert found.of_group("lawn").mean == pytest.approx(95.0)
    assert found.of_group("mound").mean == pytest.approx(97.0)


def test_a_cell_is_between_its_own_lots_and_its_class():
    lots = [(v, {cell: 1.0}) for cell, own in
            (("A01", (94, 95, 94, 95)), ("A02", (96, 97, 96, 97)), ("A03", (95, 96, 95, 96)))
            for v in own]
    found = of(*lots)
    assert 94.5 < found.of_cell("A01", "lawn").mean < found.of_group("lawn").mean
    assert found.of_cell("Z09", "lawn").mean == pytest.approx(found.of_group("lawn").mean)
    own, new = (found.of_cell(cell, "lawn").range() for cell in ("A01", "Z09"))
    assert own[1] - own[0] < new[1] - new[0]


def test_one_more_lot_is_less_sure_than_the_mean_of_its_cell():
    found = of(*((v, {"A01": 1.0}) for v in (94.0, 95.0, 96.0, 95.5)))
    cell, lot = found.of_cell("A01", "lawn").range(), found.of_lot("A01", "lawn").range()
    assert lot[0] < cell[0] < cell[1] < lot[1]
    assert found.of_lot("A01", "lawn").chance_from(90.0) > 0.95
    assert found.of_lot("A01", "lawn").chance_from(found.of_cell("A01", "lawn").mean) == (
        pytest.approx(0.5, abs=0.02))


def test_too_few_lots_say_nothing_of_a_range():
    assert of() is None
    assert of((95.0, {"A01": 1.0})) is None
    assert of((95.0, {"A01": 1.0}), (97.0, {"B01": 1.0})) is None


def test_a_lot_mostly_of_no_known_cell_and_a_class_hardly_there_are_left_out():
    found = of((95.0, {"A01": 1.0}), (95.5, {"A02": 0.97, "B01": 0.03}), (80.0, {"A03": 0.4}),
               (96.0, {"A03": 1.0}), (70.0, {}))
    assert found.groups == ("lawn",)
    assert found.lots["lawn"] == pytest.approx(3.0)
    assert 95.0 < found.of_group("lawn").mean < 96.0


def test_classes_that_always_come_mixed_alike_are_not_told_apart():
    found = of(*((v, {"A01": 0.6, "B01": 0.4}) for v in (95.0, 96.0, 95.5)))
    assert found.groups == ("lawn",)


def test_lots_all_alike_are_no_surer_than_the_reading():
    found = of(*((96.0, {"A01": 1.0}) for _ in range(6)))
    low, high = found.of_group("lawn").range()
    assert high - low > 0.1


def test_a_quantile_and_its_chance_are_each_other_s_inverse():
    one = Marginal(np.array([1.0, 2.0]), np.array([0.5, 2.0]), np.array([0.25, 0.75]), 5.0)
    for chance in (0.05, 0.3, 0.95):
        assert 1.0 - one.chance_from(one.quantile(chance)) == pytest.approx(chance)


def test_ranges_hold_the_truth_with_few_cells_where_lots_taken_alone_do_not():
    """120 made-up seasons of 3 cells with 4 lots each, cells 1 point apart, lots 1 point."""
    rng = np.random.default_rng(417)
    held = {"range": 0, "lots alone": 0, "next lot": 0}
    group_of = {f"A{i:02d}": "lawn" for i in range(4)}
    for _ in range(120):
        cells = 95.0 + rng.normal(size=4)
        lots = [Measured(cells[i] + rng.normal(), 1.0, {f"A{i:02d}": 1.0})
                for i in range(3) for _ in range(4)]
        values = [lot.value for lot in lots]
        found = mixed_of(lots, group_of, least_sd=0.1)
        low, high = found.of_group("lawn").range()
        held["range"] += low <= 95.0 <= high
        low, high = found.of_lot("A03", "lawn").range()
        held["next lot"] += low <= cells[3] + rng.normal() <= high
        half = t_quantile(11) * np.std(values, ddof=1) / math.sqrt(12)
        held["lots alone"] += abs(np.mean(values) - 95.0) <= half
    assert held["range"] >= 0.83 * 120
    assert held["next lot"] >= 0.83 * 120
    assert held["lots alone"] < 0.75 * 120
