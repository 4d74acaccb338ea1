"""Bags whose place nobody can tell for certain, and what settles it."""

from datetime import UTC, date, datetime, timedelta
from statistics import NormalDist

import pytest

from sync.disk.load import load_inputs
from sync.flags.raised import flags_of
from sync.register.build import build

DAY = datetime(2025, 11, 10, 8, tzinfo=UTC)
ON = date(2026, 2, 20)
NAME = "weak_position:B02:2025"
#: 68 % radius of a circular normal in standard deviations.
R68 = 1.5095921855


def inside(distance_m, acc_m):
    """Chance of a fix so far inside a long straight border to be inside it indeed."""
    return NormalDist().cdf(distance_m * R68 / acc_m)


def press(mire, book, x, *, acc_m=4.0, bags=1, hours=0, **fields):
    return book.note("bag", DAY + timedelta(hours=hours), bags=bags,
                     where=mire.where(x, 150, acc_m), **fields)


def weak(mire, book, on=ON, **options):
    return mire.flags(mire.register(book, on, **options), "weak_position")


def test_two_bags_on_a_border_by_a_weak_fix_are_told_with_their_best_chance(mire):
    book = mire.Book("p2-aaaa")
    names = (press(mire, book, 194, acc_m=24), press(mire, book, 194, acc_m=24, hours=1))
    flag = weak(mire, book)[NAME]
    assert flag.figures["bags"] == 2
    both_sides = 2.0 * inside(50, 24) - 1.0  # north and south
    assert flag.figures["best_chance"] == pytest.approx(inside(6, 24) * both_sides, abs=1e-5)
    assert flag.figures["r68_m"] == pytest.approx(24)
    assert flag.records == names
    assert (flag.cell, flag.probability, flag.how_sure) == ("B02", None, "sure")
    assert "2 bags from 2025-11-10 on" in flag.why
    assert "68 % radius up to 24 m" in flag.why


def test_a_confirmed_or_a_typed_cell_settles_it(mire):
    book, shed = mire.Book("p2-aaaa"), mire.Book()
    book.note("outing", DAY - timedelta(hours=1), state="start", role="picker", cell="B02")
    press(mire, book, 194, acc_m=24)
    shed.bags(DAY.date(), "B02", 2)
    assert weak(mire, [book, shed]) == {}


def test_2026_11_29_a_word_already_given_is_told_and_not_asked_for(mire):
    """A fix beyond the cell confirmed: the flag asked for a word as if there was none."""
    book = mire.Book("p2-aaaa")
    press(mire, book, 199)
    assert "confirmed" not in weak(mire, book)[NAME].why
    book.note("outing", DAY + timedelta(hours=1), state="start", role="picker", cell="A02")
    press(mire, book, 199, bags=1.5, hours=2)
    book.note("bag", DAY + timedelta(hours=3), bags=3)

    found = weak(mire, book)
    assert "; for 1.5 of them a cell was confirmed for the outing" in found[NAME].why
    assert "the cell typed in at the shed" in found[NAME].why
    assert "; for 3 of them a cell was confirmed" in found["weak_position:p2-aaaa:2025"].why


@pytest.mark.parametrize(("metres", "told"), [(2.0, True), (2.5, False)])
def test_four_chances_in_five_are_good_enough(mire, metres, told):
    assert (inside(metres, 4.0) < 0.8) is told
    book = mire.Book("p2-aaaa")
    press(mire, book, 200 - metres)
    assert bool(weak(mire, book)) is told


@pytest.mark.parametrize(("acc_m", "told"), [(25.0, False), (25.5, True)])
def test_a_fix_of_over_25_m_is_weak_wherever_it_is_unless_a_track_helps(mire, acc_m, told):
    book = mire.Book("p2-aaaa")
    press(mire, book, 150, acc_m=acc_m)
    assert bool(weak(mire, book)) is told
    assert weak(mire, book, weak_fix_m=30.0) == {}


@pytest.mark.parametrize("tracked", [False, True])
def test_a_track_helps_a_weak_fix(mire, tracked):
    book = mire.Book("p2-aaaa")
    book.note("outing", DAY, state="start", role="picker")
    if tracked:
        lat, lon = mire.latlon(150, 150)
        still, every = [0] * 59, [0, *[20_000] * 59]
        book.note("track", DAY, t0=DAY.strftime("%Y-%m-%dT%H:%M:%S.000Z"), dt_ms=every,
                  lat_e7=[round(lat * 1e7), *still], lon_e7=[round(lon * 1e7), *still],
                  acc_m=[30] * 60)
    book.note("bag", DAY + timedelta(minutes=15), bags=1, where=mire.where(150, 150, 30.0))
    found = mire.register(book, ON, worst_fix_m=40.0)
    assert found.known.placed[0].how == ("track" if tracked else "fix")
    assert bool(mire.flags(found, "weak_position")) is not tracked


def test_other_chances_are_a_setting(mire):
    book = mire.Book("p2-aaaa")
    press(mire, book, 196)
    assert weak(mire, book) == {}
    assert list(weak(mire, book, weak_chance=0.99)) == [NAME]


def test_a_flag_is_about_the_likeliest_cell_and_gathers_its_season(mire):
    book = mire.Book("p2-aaaa")
    press(mire, book, 199)
    press(mire, book, 198.5, hours=1)
    press(mire, book, 200.5, hours=2)
    press(mire, book, 199, hours=24 * 300)
    assert weak(mire, book).keys() == {NAME, "weak_position:C02:2025"}
    flag = weak(mire, book)[NAME]
    assert flag.figures["bags"] == 2
    assert flag.figures["best_chance"] == pytest.approx(inside(1, 4), abs=1e-3)
    assert weak(mire, book, date(2026, 12, 1)).keys() == {
        NAME, "weak_position:B02:2026", "weak_position:C02:2025"}


def test_bags_with_no_place_are_told_with_their_phone(mire):
    book = mire.Book("p2-aaaa")
    book.note("bag", DAY, bags=1.5)
    flag = weak(mire, book)["weak_position:p2-aaaa:2025"]
    assert flag.figures == {"bags": 1.5, "best_chance": None, "r68_m": None}
    assert flag.cell is None
    assert "no fix, no track and no cell" in flag.why


def test_paper_without_a_cell_is_no_weak_position(mire):
    shed, form = mire.Book(), mire.Book("form-tally7")
    for book in (shed, form):
        book.note("bag", DAY, bags=3)
    assert weak(mire, [shed, form]) == {}


@pytest.mark.parametrize(("x", "acc_m"), [(310, 4.0), (900, 60.0)])
def test_bags_from_beyond_the_block_are_for_another_flag(mire, x, acc_m):
    book = mire.Book("p2-aaaa")
    press(mire, book, x, acc_m=acc_m)
    assert weak(mire, book) == {}


def test_bags_of_a_real_hand_over_raise_it_until_the_owner_types_the_cell(small):
    block = small()
    phone = block.phone("p2")
    at = datetime(2025, 11, 10, 20, tzinfo=UTC)
    phone.note("outing", at, "RK", state="start", role="picker", where=None)
    lon, lat = block.lonlat(194, 150)
    for minutes in (12, 15):
        phone.bag(at + timedelta(minutes=minutes), 0, 0, person="RK",
                  where={"lat": lat, "lon": lon, "acc_m": 24, "age_s": 1, "lag_s": 0.2})
    block.take({"a.handover.zip": phone.pack()})
    (flag,) = _raised(block)
    assert (flag.name, flag.records) == (NAME, ("p2-aaaa:2", "p2-aaaa:3"))
    from sync.disk.journal import ShedJournal

    mends = [{"kind": "bag", "at": "2026-02-01T00:00:00.000Z", "person": "O", "where": None,
              "bags": 1, "cell": "B02", "instead_of": name} for name in flag.records]
    with ShedJournal(block.folder) as journal:
        journal.write_down(mends, arrived=datetime(2026, 2, 1, tzinfo=UTC))
    assert _raised(block) == []


def _raised(block):
    found = build(load_inputs(block.folder), on=ON)
    return [flag for flag in flags_of(found) if flag.rule == "weak_position"]
