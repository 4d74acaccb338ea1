"""From placed bags to picks: which days, how many kg, how sure; worked by hand from the rules."""

import itertools
import math
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.block import BagType, Block, Grid, Rule
from sync.geometry.placed import Placed
from sync.intake.seen import BagSeen, LotSeen, PastPick
from sync.picks.bags import Bags, JoinedBags, kg_of
from sync.picks.group_shares import group_shares
from sync.picks.sources import weighed_lots, weights_of
from sync.picks.takings import takings_of
from sync.settings import Tunables

START = (7, 1)
DAY = date(2025, 11, 10)
ON = date(2026, 6, 1)
SEASONS = range(2018, 2028)
BLOCK = Block(
    "testblok", "Test Mire", "UTC", 2193, Grid(0.0, 0.0, 100.0), START,
    (Rule(None, 60, 5.0, 40.0, 30.0),),
    (BagType("sack", 90.0, 7.0), BagType("bale", 180.0, 15.0)),
)
TUNABLES = Tunables()
# The owner's 7 kg: V(κ) = (0.35·7)², s² = (0.5·7)².
V_KAPPA, S2 = (0.35 * 7) ** 2, (0.5 * 7) ** 2


def placed(seq, bags=1.0, chances=None, *, day=DAY, group=None, pile=None, kind=None,
           device="p1-aaaa"):
    at = datetime.combine(day, datetime.min.time(), UTC) + timedelta(minutes=seq)
    bag = BagSeen(f"{device}:{seq}", at, day, device, seq, "MT", True, bags, kind, pile, None,
                  None, None, None)
    return Placed(bag, 0.0, 0.0, 3.0, {"B02": 1.0} if chances is None else chances, {}, 0.0, "fix",
                  seq if group is None else group)


def weights(lots=(), on=ON):
    return weights_of(lots, SEASONS, BLOCK.bags, on=on, season_start=START, tunables=TUNABLES)


def lot_of(presses, bags, kg, label="A"):
    return weighed_lots([LotSeen("shed:1", "D-1", date(2026, 3, 1), bags, kg, (label,))], {},
                        [one.bag for one in presses], season_start=START, usual="sack")


def takings(presses=(), past=(), lots=()):
    return takings_of(presses, past, weights(lots), BLOCK, TUNABLES)


def past(first, last, kg=None, share=100.0, name="shed:9", cell="B02"):
    return PastPick(name, cell, first, last, share, kg)


def test_counted_bags_share_the_error_of_the_mean_bag():
    found = kg_of([placed(1, 2.0), placed(2, 3.5)], "B02", weights(), BLOCK)
    assert found.kg == pytest.approx(5.5 * 7)
    assert found.variance == pytest.approx(5.5**2 * V_KAPPA + 5.5 * S2)
    assert found.bags == pytest.approx(5.5)
    assert found.records == ("p1-aaaa:1", "p1-aaaa:2")


def test_a_bag_on_a_border_is_shared_by_its_chance_and_adds_the_doubt_of_its_place():
    found = kg_of([placed(1, 4.0, {"B02": 0.25, "C02": 0.75})], "B02", weights(), BLOCK)
    assert found.kg == pytest.approx(7.0)
    place = (7 * 4) ** 2 * 0.25 * 0.75
    assert found.variance == pytest.approx(1.0 * V_KAPPA + 1.0 * S2 + place)


def test_bags_of_one_group_are_there_together_or_not_at_all():
    half = {"B02": 0.5, "C02": 0.5}
    together = kg_of([placed(1, 1.0, half, group=1), placed(2, 1.0, half, group=1)], "B02",
                     weights(), BLOCK)
    apart = kg_of([placed(1, 1.0, half), placed(2, 1.0, half)], "B02", weights(), BLOCK)
    assert together.kg == apart.kg == pytest.approx(7.0)
    assert together.variance - apart.variance == pytest.approx(7.0**2 * (2**2 - 2) * 0.25)


def test_two_phones_groups_of_one_number_are_two_groups():
    half = {"B02": 0.5}
    members = [placed(1, 1.0, half, group=1), placed(1, 1.0, half, group=1, device="p2-aaaa")]
    assert [(g.bags, g.share) for g in group_shares(members, "B02")] == [(1.0, 0.5), (1.0, 0.5)]


def test_bags_of_a_whole_lot_weigh_what_the_lot_weighed_and_leave_no_doubt():
    presses = [placed(i, 2.0, pile="A") for i in range(1, 6)]
    found = kg_of(presses, "B02", weights(lot_of(presses, 10, 63.0)), BLOCK)
    assert found.kg == pytest.approx(63.0)
    assert found.variance == pytest.approx(0.0, abs=1e-9)
    assert found.records == (*(f"p1-aaaa:{i}" for i in range(1, 6)), "shed:1")


def test_part_of_a_lot_is_shared_evenly_with_the_spread_of_single_bags():
    here = [placed(1, 4.0, pile="A")]
    there = [placed(2, 6.0, {"C02": 1.0}, pile="A")]
    lots = lot_of([*here, *there], 10, 63.0)
    found = kg_of(here, "B02", weights(lots), BLOCK)
    assert found.kg == pytest.approx(4 * 6.3)
    # One lot: s² = (2(0.5κ)² + 0)/(2 + 0) with κ = 6.3.
    s2 = (0.5 * 6.3) ** 2
    assert found.variance == pytest.approx(4 * (1 - 4 / 10) * s2)


def test_bags_not_dried_yet_are_weighed_by_the_count():
    presses = [placed(1, 10.0, pile="A")]
    found = kg_of(presses, "B02", weights(lot_of(presses, 6, 36.0)), BLOCK)
    s2 = (0.5 * 6.0) ** 2
    assert found.kg == pytest.approx(36.0 + 4 * 6.0)
    # All six of the lot are here; four are counted, with V(κ) = s²/6.
    assert found.variance == pytest.approx(4**2 * s2 / 6 + 4 * s2)
    assert found.bags == pytest.approx(10.0)


def test_a_lot_of_more_bags_than_were_tallied_gives_only_their_share():
    presses = [placed(1, 6.0, pile="A")]
    found = kg_of(presses, "B02", weights(lot_of(presses, 10, 60.0)), BLOCK)
    assert found.kg == pytest.approx(36.0)
    assert found.variance == pytest.approx(6 * 0.4 * (0.5 * 6.0) ** 2)


def test_a_label_of_last_season_is_another_pile():
    old = placed(1, 5.0, pile="A", day=date(2024, 11, 10))
    new = placed(2, 5.0, pile="A")
    lots = lot_of([old, new], 5, 30.0)
    assert kg_of([new], "B02", weights(lots), BLOCK).kg == pytest.approx(30.0)
    # The season before has no lot of its own, nor any before it: the owner's figure.
    assert kg_of([old], "B02", weights(lots), BLOCK).kg == pytest.approx(35.0)


def test_a_type_of_its_own_has_its_own_weight_and_an_unknown_one_is_the_usual():
    found = kg_of([placed(1, 1.0, kind="bale"), placed(2, 1.0, kind="sck")], "B02", weights(),
                  BLOCK)
    assert found.kg == pytest.approx(22.0)


def test_half_a_bag_makes_a_picking_day_and_less_is_stray():
    found = takings([placed(1, 1.0, {"B02": 0.5, "C02": 0.49})])
    assert [p.days for p in found["B02"].picks] == [(DAY,)]
    assert found["C02"].picks == ()
    assert found["C02"].stray[DAY].kg == pytest.approx(0.49 * 7)


def test_stray_bags_between_the_days_of_a_pick_are_of_that_pick():
    days = [DAY, DAY + timedelta(days=3), DAY + timedelta(days=6)]
    found = takings([placed(1, day=days[0]), placed(2, 1.0, {"B02": 0.2}, day=days[1]),
                     placed(3, day=days[2])])["B02"]
    (pick,) = found.picks
    assert pick.days == (days[0], days[2])
    assert pick.whole.kg == pytest.approx(2.2 * 7)
    assert found.stray == {}


def test_the_spread_of_a_pick_is_more_than_that_of_its_days():
    (pick,) = takings([placed(1, 10.0), placed(2, 10.0, day=DAY + timedelta(days=1))])["B02"].picks
    by_day = sum(kg.variance for kg in pick.by_day.values())
    assert pick.whole.variance == pytest.approx(20**2 * V_KAPPA + 20 * S2)
    assert pick.whole.variance - by_day == pytest.approx((20**2 - 2 * 10**2) * V_KAPPA)


def test_2026_11_25_bags_of_two_seasons_with_one_figure_share_its_error():
    presses = [placed(1, 10.0), placed(2, 10.0, day=date(2025, 6, 20))]
    found = kg_of(presses, "B02", weights(), BLOCK)
    assert found.variance == pytest.approx(20**2 * V_KAPPA + 20 * S2)


def test_a_past_pick_is_on_its_two_days_and_its_kg_on_the_middle_one():
    (pick,) = takings(past=[past(date(2024, 3, 1), date(2024, 3, 11), 400.0, 50.0)])["B02"].picks
    assert pick.days == (date(2024, 3, 1), date(2024, 3, 11))
    assert list(pick.by_day) == [date(2024, 3, 6)]
    assert (pick.whole.kg, pick.whole.variance, pick.share_pct) == (400.0, 0.0, 50.0)


def test_bags_and_a_past_pick_of_the_same_days_add_up():
    (pick,) = takings([placed(1, 2.0)], [past(DAY, DAY, 100.0)])["B02"].picks
    assert pick.whole.kg == pytest.approx(114.0)
    assert pick.by_day[DAY].kg == pytest.approx(114.0)


def test_a_past_pick_of_unknown_kg_leaves_the_kg_of_all_of_that_pick_unknown():
    (pick,) = takings([placed(1, 2.0)], [past(DAY, DAY)])["B02"].picks
    assert pick.whole is None
    assert "shed:9" in pick.records


@pytest.mark.parametrize("kg", [None, 900.0])
def test_2026_11_25_a_past_pick_over_two_seasons_has_its_kg_where_it_ended(kg):
    # Beyond 28 days into another season, or a year: by the dates alone these are two picks.
    first, last = takings(past=[past(date(2023, 2, 1), date(2023, 8, 15), kg)])["B02"].picks
    assert (last.first, last.last) == (date(2023, 8, 15), date(2023, 8, 15))
    assert (last.whole and last.whole.kg) == kg
    assert last.share_pct == 100.0
    assert (first.whole.kg, first.share_pct) == (0.0, None)


@given(st.lists(st.tuples(st.integers(0, 1200), st.floats(0.0, 1.0), st.sampled_from([0.5, 1, 3])),
                max_size=12))
def test_every_expected_bag_is_in_one_pick_or_stray(presses):
    made = [placed(i, bags, {"B02": chance}, day=date(2023, 1, 1) + timedelta(days=offset))
            for i, (offset, chance, bags) in enumerate(presses)]
    found = takings(made).get("B02")
    if found is None:
        assert not presses
        return
    kg = sum(p.whole.kg for p in found.picks) + sum(k.kg for k in found.stray.values())
    assert kg == pytest.approx(7 * sum(bags * chance for _, chance, bags in presses))
    spans = [(p.first, p.last) for p in found.picks]
    assert all(a[1] < b[0] for a, b in itertools.pairwise(spans))
    assert not any(first <= day <= last for day in found.stray for first, last in spans)


def test_2026_11_25_few_lots_know_the_spread_of_bags_badly_and_the_range_says_so():
    presses = [placed(1, 40.0, pile="A"), placed(2, 30.0)]
    found = kg_of(presses, "B02", weights(lot_of(presses[:1], 40.0, 280.0)), BLOCK)
    assert found.df == TUNABLES.bag_df  # bag_df + one lot − 1
    assert found.variance > 0.0
    assumed = kg_of(presses, "B02", weights(), BLOCK)
    assert assumed.df == math.inf


@given(st.lists(st.tuples(
    st.integers(0, 2), st.integers(0, 3), st.sampled_from([None, "A", "B"]),
    st.sampled_from(["sack", "bale"]), st.sampled_from([0.0, 0.3, 1.0]),
    st.sampled_from([0.5, 1.0, 2.5])), min_size=1, max_size=14), st.booleans())
def test_the_bags_of_days_sorted_apart_weigh_what_they_weigh_together(seen, over_midnight):
    """To the last bit, though a group goes on after midnight."""
    seen.sort(key=lambda one: one[0])
    presses = [
        placed(seq, bags, {"B02": chance, "C02": 1.0 - chance}, day=DAY + timedelta(days=day),
               group=group if over_midnight else 10 * day + group, pile=pile, kind=kind)
        for seq, (day, group, pile, kind, chance, bags) in enumerate(seen)]
    by_day = [[one for one in presses if one.bag.day == day]
              for day in sorted({one.bag.day for one in presses})]
    by = weights(lot_of(presses, 60.0, 333.3))
    joined = JoinedBags([Bags(each, "B02", BLOCK) for each in by_day], "B02", BLOCK)

    assert joined.kg(by) == Bags(presses, "B02", BLOCK).kg(by)


def test_2026_11_28_kinds_are_added_up_in_the_order_of_their_sources():
    # A kind whose first pile went wholly into a lot was added after those counted before it.
    presses = [placed(1, 0.1, {"B02": 0.7}, pile="A"),
               placed(2, 0.2, {"B02": 0.9}, kind="bale", pile="B"),
               placed(3, 0.3, {"B02": 0.6}, pile="C")]
    weighed = weights(lot_of(presses[:1], 0.1, 0.7))
    sacks, bales = (kg_of([press], "B02", weighed, BLOCK) for press in (presses[2], presses[1]))
    of_lot = kg_of(presses[:1], "B02", weighed, BLOCK)

    found = kg_of(presses, "B02", weighed, BLOCK)
    assert found.bags == of_lot.bags + sacks.bags + bales.bags
    assert found.kg == of_lot.kg + sacks.kg + bales.kg
