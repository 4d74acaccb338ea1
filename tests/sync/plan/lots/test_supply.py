"""How much of a purity lies dried, and what ready cells may be expected to give."""

from types import SimpleNamespace

import numpy as np
import pytest

from sync.plan.lots.dried import dried_of
from sync.plan.lots.measured import Measured
from sync.plan.lots.mixed import mixed_of
from sync.plan.lots.supply import supply_of

GROUPS = {**{f"A{i:02d}": "lawn" for i in range(20)}, **{f"B{i:02d}": "mound" for i in range(20)},
          "C01": "rushy"}


def lot(kg, pure, left=1.0):
    return SimpleNamespace(dry_kg=kg, pure_pct=pure, part_left=left)


def test_lots_count_whole_by_their_own_purity_and_what_could_be_mixed_stands_beside():
    found = dried_of([lot(100, 97.0), lot(200, 95.0), lot(100, 92.0), lot(50, None)],
                     least_pct=95.0)
    assert (found.kg, found.told_kg, found.pure_kg) == (450, 400, 300)
    # 100 kg carry 2 points over; of the third lot, 3 points under, 66.7 kg.
    assert found.mixed_kg == pytest.approx(300 + 200 / 3)
    assert found.mean_pct == pytest.approx((9700 + 19000 + 9200) / 400)


def test_nothing_dried_or_nothing_clean_enough_is_nothing():
    assert dried_of([], least_pct=95.0).pure_kg == 0.0
    found = dried_of([lot(100, 90.0), lot(None, 99.0)], least_pct=95.0)
    assert (found.pure_kg, found.mixed_kg) == (0.0, 0.0)


def test_what_went_into_another_lot_counts_there_alone():
    found = dried_of([lot(100, 96.0, left=0.4), lot(60, 97.0)], least_pct=95.0)
    assert (found.kg, found.pure_kg) == (100.0, 100.0)


@pytest.fixture(scope="module")
def purity():
    rng = np.random.default_rng(7)
    lots = []
    for name, mean in (("A", 95.0), ("B", 97.0)):
        for i in range(5):
            cell = f"{name}{i:02d}"
            own = mean + 0.8 * rng.normal()
            lots += [Measured(own + rng.normal(), 1.0, {cell: 1.0}) for _ in range(4)]
    return mixed_of(lots, GROUPS, least_sd=0.1)


LEFT = {"A00": 900.0, "A10": 1200.0, "B01": 800.0, "B11": 1000.0}


def test_what_is_expected_is_kg_times_the_chance_of_one_more_lot(purity):
    found = supply_of(purity, LEFT, GROUPS, least_pct=95.5)
    plain = sum(kg * purity.of_lot(cell, GROUPS[cell]).chance_from(95.5)
                for cell, kg in LEFT.items())
    assert found.pure_kg == pytest.approx(plain, rel=0.01)
    assert 0.0 <= found.low_kg < found.pure_kg < found.high_kg <= found.kg == 3900
    assert (found.untold_kg, found.cells) == (0.0, 4)


def test_a_higher_purity_is_less_and_a_class_without_lots_promises_nothing(purity):
    kg = [supply_of(purity, LEFT, GROUPS, least_pct=pct).pure_kg for pct in (90, 95, 97, 99.9)]
    assert kg == sorted(kg, reverse=True)
    found = supply_of(purity, {**LEFT, "C01": 500.0}, GROUPS, least_pct=95.5)
    assert (found.kg, found.untold_kg, found.cells) == (4400, 500, 4)
    none = supply_of(None, LEFT, GROUPS, least_pct=95.0)
    assert (none.kg, none.untold_kg, none.pure_kg) == (3900, 3900, 0)


def test_within_what_may_be_taken_the_likeliest_cells_go_first(purity):
    found = supply_of(purity, LEFT, GROUPS, least_pct=96.0, most_kg=1000.0)
    assert found.kg == pytest.approx(1000.0)
    every = supply_of(purity, LEFT, GROUPS, least_pct=96.0)
    assert found.pure_kg / found.kg > every.pure_kg / every.kg
    assert found.high_kg <= 1000.0


def test_more_cells_of_one_class_are_not_much_surer_for_they_share_its_mean(purity):
    one = supply_of(purity, {"A10": 1000.0}, GROUPS, least_pct=95.0)
    ten = supply_of(purity, {f"A{i}": 1000.0 for i in range(10, 20)}, GROUPS, least_pct=95.0)
    width = [(each.high_kg - each.low_kg) / each.kg for each in (one, ten)]
    assert width[1] < width[0]
    assert width[1] > width[0] / 10**0.5
