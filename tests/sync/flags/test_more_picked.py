"""More picked than stood: the walk of a cell says where it had to hold the crop up."""

from datetime import UTC, date, datetime, timedelta

import pytest

from sync.disk.load import load_inputs
from sync.flags.raised import flags_of
from sync.register.build import build

SURVEYED = date(2025, 8, 20)
PICKED = date(2025, 11, 10)
NAME = "more_picked_than_stood:B02:2025"


@pytest.fixture
def shed(mire):
    book = mire.Book()
    for cell in ("B02", "A01", "C02", "A03"):
        for cover in (60, 64):
            book.quadrat(SURVEYED, cell, cover, (90, 110))
    return book


def more(mire, book, on=date(2026, 2, 20), **options):
    return mire.flags(mire.register(book, on, **options), "more_picked_than_stood")


def stood_kg(mire, book, cell="B02", on=PICKED - timedelta(days=1)):
    return mire.register(book, on).crop.cells[cell].walked.stand.crop_kg


def test_a_pick_of_more_than_stood_is_told_with_both_figures(mire, shed):
    stood = stood_kg(mire, shed)
    names = shed.bags(PICKED, "B02", round(1.2 * stood / 7.0))
    found = mire.register(shed, date(2026, 2, 20))
    flag = mire.flags(found, "more_picked_than_stood")[NAME]
    assert flag.figures["stood_kg"] == pytest.approx(stood)
    assert flag.figures["kg"] == pytest.approx(7.0 * round(1.2 * stood / 7.0))
    assert (flag.how_sure, flag.probability, flag.cell) == ("sure", None, "B02")
    assert flag.records == tuple(sorted(names))
    assert found.crop.cells["B02"].walked.stand.crop_kg >= 0.02 * stood
    assert "held at 2 % of its rested crop" in flag.why


@pytest.mark.parametrize(("share", "told"), [(0.97, False), (0.99, True)])
def test_the_floor_of_two_hundredths_is_what_must_be_hit(mire, shed, share, told):
    shed.bags(PICKED, "B02", round(share * stood_kg(mire, shed) / 3.5) / 2)
    assert bool(more(mire, shed)) is told


def test_another_floor_is_another_flag(mire, shed):
    shed.bags(PICKED, "B02", round(0.9 * stood_kg(mire, shed) / 7.0))
    assert more(mire, shed) == {}
    assert list(more(mire, shed, crop_floor=0.2)) == [NAME]


def test_a_cell_that_nobody_measured_stood_at_what_its_class_says(mire, shed):
    stood = stood_kg(mire, shed, "B01")
    shed.bags(PICKED, "B01", round(1.5 * stood / 7.0))
    flag = more(mire, shed)["more_picked_than_stood:B01:2025"]
    assert flag.figures["stood_kg"] == pytest.approx(stood)


def test_what_had_grown_since_the_last_pick_stood_there_too(mire, shed):
    shed.bags(PICKED, "B02", round(0.6 * stood_kg(mire, shed) / 7.0))
    later = date(2028, 11, 10)
    grown = stood_kg(mire, shed, on=later)
    assert grown > 1.3 * stood_kg(mire, shed, on=PICKED)
    shed.bags(later, "B02", round(1.1 * grown / 7.0))
    flag = more(mire, shed, later)["more_picked_than_stood:B02:2028"]
    assert flag.figures["stood_kg"] == pytest.approx(grown)


def test_each_season_tells_its_own_picks(mire, shed):
    for year in (2025, 2026):
        shed.bags(date(year, 11, 10), "B02", round(2.0 * stood_kg(mire, shed) / 7.0))
    assert list(more(mire, shed, date(2026, 12, 1))) == [
        NAME, "more_picked_than_stood:B02:2026"]
    assert list(more(mire, shed)) == [NAME]
    assert more(mire, shed, PICKED - timedelta(days=1)) == {}


def test_stray_bags_raise_nothing_though_there_is_nothing_left_to_take(mire, shed):
    shed.bags(PICKED, "B02", round(1.2 * stood_kg(mire, shed) / 7.0))
    before = more(mire, shed)[NAME]
    p1 = mire.Book("p1-aaaa")
    # A third of a bag: 2 m west of the cell by a fix of 7 m.
    p1.note("bag", PICKED + timedelta(days=1), bags=1, where=mire.where(98, 150, 7.0))
    found = mire.register([shed, p1], date(2026, 2, 20))
    assert found.crop.cells["B02"].takings.stray
    assert len(found.crop.cells["B02"].walked.more_than_stood) == 2
    after = mire.flags(found, "more_picked_than_stood")[NAME]
    assert (after.figures, after.seen) == (before.figures, before.seen)


def test_a_typed_pick_of_unknown_kg_is_counted_by_what_stood(mire):
    book = mire.Book()
    for cell in ("B02", "A01", "C02"):
        for _ in range(2):
            book.quadrat(SURVEYED, cell, 60, (4000 // 5, 800))  # nearly all of it pickable
    book.note("past_pick", PICKED, cell="B02", to=PICKED.isoformat(), share_pct=None,
              **{"from": PICKED.isoformat()})
    found = mire.register(book, date(2026, 2, 20), crop_floor=0.3)
    assert found.crop.cells["B02"].walked.more_than_stood
    assert mire.flags(found, "more_picked_than_stood") == {}


def test_bags_of_a_real_hand_over_raise_it(small):
    block = small()
    phone = block.phone("p1")
    for n in range(1, 13):
        phone.note("quadrat", datetime(2025, 7, 20, 21, 4 * n, tzinfo=UTC), "SW",
                   plot=f"{n:03d}", when="survey", side_m=0.5, cover_pct=8, depth_mm=[50, 60, 50],
                   where=None)
    at = datetime(2025, 11, 10, 20, tzinfo=UTC)
    phone.note("outing", at, state="start", role="picker", cell="B02", where=None)
    for i in range(10):
        phone.bag(at + timedelta(minutes=5 + 15 * i), 150, 150, bags=12)
    block.take({"a.handover.zip": phone.pack()})
    found = build(load_inputs(block.folder), on=date(2026, 2, 20))
    flag = {flag.name: flag for flag in flags_of(found)}[NAME]
    assert flag.figures["kg"] == pytest.approx(840.0)
    assert flag.figures["stood_kg"] < 840.0
    assert len(flag.records) == 10
