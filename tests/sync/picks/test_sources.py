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


def made_of(day, *labels):
    return tuple((day, label) for label in labels)


NOV = date(2025, 11, 10)


def test_a_lot_is_led_to_its_bags_through_the_batches_between():
    (one,) = joined([lot(date(2026, 2, 1), "D-1", ["L-1"], 10, 65.0)],
                    [bag(NOV, "P1-001", 10.0)],
                    {"L-1": made_of(NOV, "P1-001"), "D-1": made_of(NOV, "L-1")})
    assert one.first_day == NOV
    assert one.tallied == 10.0
    assert one.labels == {("P1-001", 2025)}


def test_two_lots_that_share_a_pile_are_weighed_together():
    (one,) = joined(
        [lot(date(2026, 2, 1), "D-1", ["P1-001"], 6, 42.0),
         lot(date(2026, 2, 2), "D-2", ["P1-001"], 4, 26.0, name="shed:2")],
        [bag(NOV, "P1-001", 10.0)])
    assert (one.lot.bags, one.lot.dry_kg) == (10, 68.0)
    assert [p.dry_kg for p in one.members] == [42.0, 26.0]


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
    found = weights_of(lots, [2025], TYPES, on=date(2026, 2, 1), season_start=START,
                       tunables=Tunables())
    # Worked by hand: 811 kg over 120 bags.
    assert found.kappa[2025, "sack"].kg == pytest.approx(811 / 120)
    assert found.kappa[2025, "sack"].lots == 3
    assert found.kappa[2025, "bale"].kg == 15.0
    assert found.kappa[2025, "bale"].assumed


def test_lots_whose_first_bag_is_later_than_the_day_are_not_known_yet():
    lots = joined([lot(date(2026, 2, 1), "D-1", ["A"], 10, 50.0)], [bag(NOV, "A", 10.0)])
    before = weights_of(lots, [2025], TYPES, on=date(2025, 11, 9), season_start=START,
                       tunables=Tunables())
    assert before.kappa[2025, "sack"].assumed
    assert before.lots == {}
    after = weights_of(lots, [2025], TYPES, on=NOV, season_start=START,
                       tunables=Tunables())
    assert after.kappa[2025, "sack"].kg == pytest.approx(5.0)


def test_2026_11_25_a_lot_is_not_made_of_bags_tallied_after_it_was_dried():
    bags = [bag(date(2025, 5, 20), "P1-001", 10.0), bag(NOV, "P1-001", 4.0, seq=2)]
    (one,) = joined([lot(date(2025, 8, 15), "D-1", ["P1-001"], 10, 70.0)], bags)
    assert one.labels == {("P1-001", 2024)}
    assert (one.season, one.tallied) == (2024, 10.0)


def test_2026_11_25_a_batch_label_used_again_next_season_is_another_batch():
    bags = [bag(NOV, "P1-001", 10.0), bag(date(2026, 11, 10), "P1-002", 5.0, seq=2)]
    batches = {"D-1": (*made_of(date(2025, 12, 1), "P1-001"),
                       *made_of(date(2026, 12, 1), "P1-002"))}
    first, second = joined(
        [lot(date(2026, 3, 1), "D-1", [], 10, 70.0),
         lot(date(2027, 3, 1), "D-1", [], 5, 30.0, name="shed:2")], bags, batches)
    assert first.labels == {("P1-001", 2025)}
    assert second.labels == {("P1-002", 2026)}


def test_a_batch_carried_before_the_seasons_end_is_that_of_a_lot_dried_after_it():
    bags = [bag(date(2026, 5, 10), "P1-001", 10.0)]
    batches = {"D-1": (*made_of(date(2026, 6, 20), "P1-001"),
                       *made_of(date(2026, 11, 20), "P1-002"))}
    (one,) = joined([lot(date(2026, 8, 1), "D-1", [], 10, 70.0)], bags, batches)
    assert one.labels == {("P1-001", 2025)}


def test_batches_that_name_each_other_are_followed_once():
    (one,) = joined([lot(date(2026, 2, 1), "D-1", ["L-1"], 10, 65.0)], [bag(NOV, "P1-001", 10.0)],
                    {"L-1": made_of(NOV, "D-1", "P1-001"), "D-1": made_of(NOV, "L-1")})
    assert one.labels == {("P1-001", 2025)}


def test_lots_that_share_piles_in_a_chain_are_one_weight():
    bags = [bag(NOV, "A", 4.0), bag(NOV, "B", 4.0, seq=2), bag(NOV, "C", 4.0, seq=3)]
    lots = [lot(date(2026, 2, 1), "D-1", ["A"], 3, 20.0),
            lot(date(2026, 2, 1), "D-2", ["C"], 3, 22.0, name="shed:2"),
            lot(date(2026, 2, 2), "D-3", ["A", "B", "C"], 6, 39.0, name="shed:3")]
    (one,) = joined(lots, bags)
    assert (one.lot.bags, one.lot.dry_kg, one.tallied) == (12, 81.0, 12.0)
    assert one.names == ("shed:1", "shed:2", "shed:3")


def test_a_lot_is_of_the_type_of_most_of_its_bags():
    bags = [bag(NOV, "A", 3.0, "bale"), bag(NOV, "A", 2.0, seq=2)]
    (one,) = joined([lot(date(2026, 2, 1), "D-1", ["A"], 5, 60.0)], bags)
    assert one.bag_type == "bale"


def test_2026_11_25_lots_of_bags_of_an_unknown_type_teach_the_usual_ones_weight():
    (one,) = joined([lot(date(2026, 2, 1), "D-1", ["A"], 10, 60.0)], [bag(NOV, "A", 10.0, "sck")])
    found = weights_of([one], [2025], TYPES, on=date(2026, 2, 1), season_start=START,
                       tunables=Tunables())
    assert found.kappa[2025, "sack"].kg == pytest.approx(6.0)
    assert found.kappa[2025, "bale"].assumed


def test_2026_11_25_a_new_figure_of_the_owner_moves_no_season_before_it():
    types = (BagType("sack", 90.0, 7.0), BagType("sack", 90.0, 6.0, date(2026, 7, 1)))
    found = weights_of([], [2025, 2026], types, on=date(2026, 11, 1), season_start=START,
                       tunables=Tunables())
    assert found.kappa[2025, "sack"].kg == 7.0
    assert found.kappa[2026, "sack"].kg == 6.0


def test_2026_11_25_a_bag_of_the_first_year_of_the_calendar_has_a_weight():
    found = weights_of([], [0], TYPES, on=NOV, season_start=START, tunables=Tunables())
    assert found.kappa[0, "sack"].kg == 7.0
