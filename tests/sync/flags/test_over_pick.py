"""More taken than might be: by the figures of the pick's start, and for as long as it matters."""

import dataclasses
import math
from datetime import UTC, date, datetime, timedelta
from statistics import NormalDist

import pytest

from sync.block import Feature
from sync.disk.load import load_inputs
from sync.flags.raised import flags_of
from sync.picks.made import Kg
from sync.register.build import build

SURVEYED = date(2025, 8, 20)
PICKED = date(2025, 11, 10)
NAME = "over_pick:B02:2025"


@pytest.fixture
def shed(mire):
    """Four cells with two quadrats each."""
    book = mire.Book()
    for cell in ("B02", "A01", "C02", "A03"):
        for cover in (60, 64):
            book.quadrat(SURVEYED, cell, cover, (90, 110))
    return book


def over(mire, book, on=PICKED, **options):
    return mire.flags(mire.register(book, on, **options), "over_pick")


def may_take(mire, book):
    """What the register of the evening before says."""
    return mire.register(book, PICKED - timedelta(days=1)).cells["B02"].may_take_kg


def with_figures(found, kg, sd_kg, may_take_kg):
    """Put other figures into the open pick of B02."""
    crop, today = found.crop.cells["B02"], found.cells["B02"]
    (pick,) = crop.picks
    whole = Kg(kg, sd_kg**2, pick.made.whole.bags, pick.made.records)
    pick = dataclasses.replace(pick, made=dataclasses.replace(pick.made, whole=whole))
    crop = dataclasses.replace(crop, picks=(pick,))
    today = dataclasses.replace(
        today, may_take_kg=may_take_kg, picks=dataclasses.replace(today.picks, open_pick=pick))
    return dataclasses.replace(
        found, cells={**found.cells, "B02": today},
        crop=dataclasses.replace(found.crop, cells={**found.crop.cells, "B02": crop}))


@pytest.mark.parametrize(("may_take_kg", "chance", "sure"), [
    (1320.0, 0.953930, "sure"), (1395.0, 0.814536, "likely")])
def test_a_pick_of_1480_kg_give_or_take_95_is_over_by_the_normal_law(
    mire, shed, may_take_kg, chance, sure
):
    shed.bags(PICKED, "B02", 40)
    found = with_figures(mire.register(shed, PICKED), 1480.0, 95.0, may_take_kg)
    flag = mire.flags(found, "over_pick")[NAME]
    assert flag.probability == pytest.approx(chance, abs=5e-7)
    assert flag.how_sure == sure
    assert flag.figures["over_kg"] == 1480.0 - may_take_kg


def test_what_is_less_than_likely_is_not_shown(mire, shed):
    shed.bags(PICKED, "B02", 40)
    found = mire.register(shed, PICKED)
    # 0.103266, which other rules list apart.
    assert not mire.flags(with_figures(found, 1480.0, 95.0, 1600.0), "over_pick")
    assert not mire.flags(with_figures(found, 1480.0, 95.0, 1480.01), "over_pick")
    assert mire.flags(with_figures(found, 1480.0, 95.0, 1480.0), "over_pick")


def test_an_open_pick_is_held_against_what_might_be_taken_at_its_start(mire, shed):
    most = may_take(mire, shed)
    names = shed.bags(PICKED, "B02", math.ceil(1.4 * most / 7.0))
    found = mire.register(shed, PICKED)
    flag = mire.flags(found, "over_pick")[NAME]
    taken = found.crop.cells["B02"].picks[0].made.whole
    sd_kg = math.sqrt(taken.variance)
    assert flag.figures["may_take_kg"] == pytest.approx(most)
    assert flag.figures["kg"]["value"] == taken.kg
    assert flag.figures["kg"]["low"] < taken.kg < flag.figures["kg"]["high"]
    assert flag.figures["picked_from"] == PICKED
    assert flag.probability == pytest.approx(NormalDist().cdf((taken.kg - most) / sd_kg))
    assert flag.records == tuple(sorted(names))
    assert f"{most:,.0f} kg might be taken" in flag.why
    assert found.cells["B02"].state == "taken"


def test_a_pick_within_what_might_be_taken_is_no_matter(mire, shed):
    shed.bags(PICKED, "B02", math.floor(0.9 * may_take(mire, shed) / 7.0))
    assert over(mire, shed) == {}


def test_a_pick_that_is_over_is_told_like_an_open_one_until_two_seasons_on(mire, shed):
    most = may_take(mire, shed)
    shed.bags(PICKED, "B02", math.ceil(1.4 * most / 7.0))
    opened = over(mire, shed)[NAME]
    shed.finished(PICKED, "B02")
    assert mire.register(shed, PICKED).cells["B02"].state == "resting"
    for on in (PICKED, date(2026, 6, 30), date(2027, 6, 30)):
        flag = over(mire, shed, on)[NAME]
        assert flag.figures["may_take_kg"] == pytest.approx(opened.figures["may_take_kg"])
        assert flag.probability == pytest.approx(opened.probability)
        assert flag.seen == opened.seen
    assert over(mire, shed, date(2027, 7, 1)) == {}


def test_a_cell_that_rested_or_was_never_measured_is_a_matter_of_other_flags(mire, shed):
    shed.bags(date(2024, 11, 11), "B02", 60)
    shed.bags(PICKED, "B02", 400)
    shed.bags(PICKED, "C03", 400)
    found = mire.flags(mire.register(shed, PICKED))
    assert "early_pick:B02:2025" in found
    assert not [name for name in found if name.startswith("over_pick")]


def test_quadrats_laid_on_the_first_morning_are_what_the_pick_is_held_against(mire, shed):
    for cover in (60, 64):
        shed.quadrat(PICKED, "B01", cover, (90, 110), when="before_pick")
    shed.bags(PICKED, "B01", 700)
    opened = over(mire, shed)["over_pick:B01:2025"]
    shed.finished(PICKED, "B01")
    ended = over(mire, shed, date(2026, 2, 1))["over_pick:B01:2025"]
    assert opened.figures["may_take_kg"] > 0.0
    assert ended.figures["may_take_kg"] == pytest.approx(opened.figures["may_take_kg"])


def test_quadrats_laid_between_two_picking_days_count_as_of_the_start(mire, shed):
    days = (PICKED, PICKED + timedelta(days=10))
    for cover in (60, 64):
        shed.quadrat(PICKED + timedelta(days=5), "B01", cover, (90, 110))
    for day in days:
        shed.bags(day, "B01", 350)
    opened = over(mire, shed, days[1])["over_pick:B01:2025"]
    shed.finished(days[1], "B01")
    ended = over(mire, shed, date(2026, 2, 1))["over_pick:B01:2025"]
    assert opened.figures["may_take_kg"] > 0.0
    assert ended.figures["may_take_kg"] == pytest.approx(opened.figures["may_take_kg"])


def test_a_cell_closed_after_the_pick_keeps_its_flag(mire, shed):
    shed.bags(PICKED, "B02", 700)
    before = over(mire, shed, date(2026, 2, 1))[NAME]
    bare = Feature(mire.polygon(100, 100, 200, 200), {"why": "picked bare"}, date(2026, 1, 5))
    block = mire.mire(closures=(bare,))
    assert mire.register(shed, date(2026, 2, 1), block).cells["B02"].state == "closed"
    after = over(mire, shed, date(2026, 2, 1), block=block)[NAME]
    assert after.figures["may_take_kg"] == pytest.approx(before.figures["may_take_kg"])


def test_where_nothing_may_be_taken_one_bag_is_scatter_and_two_are_a_pick(mire):
    book = mire.Book()
    for cell in ("B02", "A01", "C02"):
        for _ in range(2):
            book.quadrat(SURVEYED, cell, 60, (40, 40))  # all of it living layer
    book.bags(PICKED, "B02", 1.5)
    found = mire.register(book, PICKED)
    assert found.cells["B02"].may_take_kg == 0.0
    assert mire.flags(found, "over_pick") == {}
    book.bags(PICKED, "B02", 0.5)
    flag = over(mire, book)[NAME]
    assert flag.figures["may_take_kg"] == 0.0
    assert flag.figures["over_kg"] == pytest.approx(14.0)


def test_lots_that_weigh_less_clear_it(mire, shed):
    most = may_take(mire, shed)
    bags = math.ceil(1.3 * most / 7.0)
    shed.bags(PICKED, "B02", bags, pile="P1-001")
    told = over(mire, shed)[NAME].records
    shed.note("batch", date(2026, 1, 10), "O", batch="D-1", stage="dried", bags=bags,
              dry_kg=0.8 * most, **{"from": ["P1-001"]})
    assert over(mire, shed) == {}
    shed.kept[-1]["dry_kg"] = 1.2 * most
    assert over(mire, shed)[NAME].records == told  # a lot opens no ruling


def test_a_typed_pick_of_unknown_kg_is_not_judged(mire, shed):
    shed.note("past_pick", PICKED, cell="B02", to=None, share_pct=None,
              **{"from": PICKED.isoformat()})
    assert over(mire, shed, date(2026, 7, 1)) == {}


def test_bags_of_a_real_hand_over_raise_it(small):
    block = small()
    phone = block.phone("p1")
    for i, name in enumerate(f"{n:03d}" for n in range(1, 13)):
        phone.note("quadrat", datetime(2025, 7, 20, 21, 10 * (i % 6), tzinfo=UTC), "SW",
                   plot=name, when="survey", side_m=0.5, cover_pct=60 + i, depth_mm=[90, 100, 110],
                   where=None)
    at = datetime(2025, 11, 10, 20, tzinfo=UTC)
    phone.note("outing", at, state="start", role="picker", cell="B02", where=None)
    for i in range(20):
        phone.bag(at + timedelta(minutes=5 + 15 * i), 150, 150, bags=30)
    phone.note("outing", at + timedelta(hours=8), state="end", finished=["B02"], where=None)
    block.take({"a.handover.zip": phone.pack()})
    found = build(load_inputs(block.folder), on=date(2026, 2, 20))
    flag = {flag.name: flag for flag in flags_of(found)}[NAME]
    assert flag.figures["bags"] == pytest.approx(600)
    assert flag.probability > 0.95
    assert len(flag.records) == 20
