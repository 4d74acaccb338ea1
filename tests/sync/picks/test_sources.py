"""What a bag weighs: by the lot its pile went into, else by the count of its season and type."""

from datetime import UTC, date, datetime

import pytest

from sync.block import BagType
from sync.intake.seen import BagSeen, LotSeen
from sync.picks.sources import weighed_lots, weights_of
from sync.settings import Tunables

START = (7, 1)
TYPES = (BagType("sack", 90.0, 7.0), BagType("bale", 180.0, 15.0))


def bag(day, pile, bags=1.0, kind=None, seq=1):
    at = datetime.combine(day, datetime.min.time(), UTC)
    return BagSeen(f"p1-aaaa:{seq}", at, day, "p1-aaaa", seq, "MT", True, bags, kind, pile, None,
                   None, None, None)


def lot(day, label, sources, bags, kg, name="shed:1"):
    return LotSeen(name, label, day, bags, kg, tuple(sources))


def joined(lots, bags, batches=None):
    return weighed_lots(lots, batches or {}, bags, season_start=START, usual="sack")


NOV = date(2025, 11, 10)


def test_a_lot_is_led_to_its_bags_through_the_batches_between():
    (one,) = joined([lot(date(2026, 2, 1), "D-1", ["L-1"], 10, 65.0)],
                    [bag(NOV, "P1-001", 10.0)], {"L-1": ("P1-001",), "D-1": ("L-1",)})
    assert one.first_day == NOV
    assert one.tallied == 10.0
    assert one.labels == {("P1-001", 2025)}


def test_two_lots_that_share_a_pile_are_weighed_together():
    (one,) = joined(
        [lot(date(2026, 2, 1), "D-1", ["P1-001"], 6, 42.0),
         lot(date(2026, 2, 2), "D-2", ["P1-001"], 4, 26.0, name="shed:2")],
        [bag(NOV, "P1-001", 10.0)])
    assert (one.lot.bags, one.lot.dry_kg) == (10, 68.0)
    assert [p.dry_kg for p in one.parts] == [42.0, 26.0]


def test_a_label_used_again_next_season_is_another_pile():
    bags = [bag(NOV, "P1-001", 10.0), bag(date(2026, 11, 10), "P1-001", 5.0, seq=2)]
    first, second = joined(
        [lot(date(2026, 3, 1), "D-1", ["P1-001"], 10, 70.0),
         lot(date(2027, 3, 1), "D-2", ["P1-001"], 5, 30.0, name="shed:2")], bags)
    assert (first.season, first.tallied) == (2025, 10.0)
    assert (second.season, second.tallied) == (2026, 5.0)


def test_a_lot_dried_after_the_seasons_end_is_of_the_season_of_its_bags():
    (one,) = joined([lot(date(2026, 7, 20), "D-1", ["P1-001"], 10, 70.0)],
                    [bag(NOV, "P1-001", 10.0)])
    assert one.season == 2025


def test_a_lot_without_bags_that_lead_to_it_is_of_its_own_day():
    (one,) = joined([lot(date(2026, 2, 1), "D-1", [], 10, 70.0)], [])
    assert (one.first_day, one.season, one.tallied) == (date(2026, 2, 1), 2025, 0.0)


def test_a_season_without_lots_uses_all_earlier_ones_of_the_type():
    lots = joined(
        [lot(date(2024, 2, 1), "D-1", ["A"], 40, 262.0),
         lot(date(2025, 2, 1), "D-2", ["B"], 55, 391.0, name="shed:2"),
         lot(date(2025, 2, 2), "D-3", ["C"], 25, 158.0, name="shed:3")],
        [bag(date(2023, 11, 1), "A"), bag(date(2024, 11, 1), "B", seq=2),
         bag(date(2024, 11, 2), "C", seq=3)])
    found = weights_of(lots, [2025], TYPES, on=date(2026, 2, 1), tunables=Tunables())
    # Worked by hand: 811 kg over 120 bags.
    assert found.kappa[2025, "sack"].kg == pytest.approx(811 / 120)
    assert found.kappa[2025, "sack"].lots == 3
    assert found.kappa[2025, "bale"].kg == 15.0
    assert found.kappa[2025, "bale"].assumed


def test_lots_whose_first_bag_is_later_than_the_day_are_not_known_yet():
    lots = joined([lot(date(2026, 2, 1), "D-1", ["A"], 10, 50.0)], [bag(NOV, "A", 10.0)])
    before = weights_of(lots, [2025], TYPES, on=date(2025, 11, 9), tunables=Tunables())
    assert before.kappa[2025, "sack"].assumed
    assert before.lots == {}
    after = weights_of(lots, [2025], TYPES, on=NOV, tunables=Tunables())
    assert after.kappa[2025, "sack"].kg == pytest.approx(5.0)
