"""Picks in a rest: exact chances from given places, days from the calendar, names that stay."""

import itertools
from datetime import UTC, date, datetime, timedelta
from statistics import NormalDist

import pytest

#: 68 % radius of a circular normal in standard deviations.
R68 = 1.5095921855
PICKED = date(2025, 11, 10)
ENDS = date(2030, 11, 10)
EARLY = date(2026, 9, 7)


def inside(distance_m, acc_m=4.0):
    """Chance of a fix so far inside a long straight border to be inside it indeed."""
    return NormalDist().cdf(distance_m * R68 / acc_m)


def at_least(groups, least):
    """The chance by trying every outcome of (bags, chance)."""
    whole = 0.0
    for there in itertools.product((False, True), repeat=len(groups)):
        if sum(n for (n, _), yes in zip(groups, there, strict=True) if yes) >= least:
            each = [p if yes else 1 - p for (_, p), yes in zip(groups, there, strict=True)]
            product = 1.0
            for one in each:
                product *= one
            whole += product
    return whole


@pytest.fixture
def books(mire):
    """B02 surveyed, picked and at rest; a phone that has noted nothing yet."""
    shed, p1 = mire.Book(), mire.Book("p1-aaaa")
    for cell in ("B02", "B02", "A01", "C02"):
        shed.quadrat(date(2025, 6, 20), cell, 60, (90, 110))
    shed.bags(PICKED, "B02", 100)
    shed.finished(PICKED, "B02")
    return shed, p1


def press(mire, p1, x, y, bags, *, day=EARLY, minutes=0, acc_m=4.0, **fields):
    at = datetime(day.year, day.month, day.day, 9, tzinfo=UTC) + timedelta(minutes=minutes)
    return p1.note("bag", at, bags=bags, where=mire.where(x, y, acc_m), **fields)


def early(mire, books, on=date(2026, 12, 1), **options):
    return mire.flags(mire.register(books, on, **options), "early_pick")


def test_the_chance_is_that_of_all_groups_at_their_distances_from_the_border(mire, books):
    distances = ((-1.0, 1.0, 4.0), (-2.0, 0.5, 6.0), (0.5, 1.5, 4.0), (-4.0, 2.0, 12.0))
    for i, (metres, bags, acc_m) in enumerate(distances):
        press(mire, books[1], 200 - metres, 150, bags, minutes=30 * i, acc_m=acc_m)
    flag = early(mire, books)["early_pick:B02:2026"]
    groups = [(bags, inside(metres, acc_m)) for metres, bags, acc_m in distances]
    # The projection bends a border of 100 m by far less than a millimetre.
    assert flag.probability == pytest.approx(at_least(groups, 2.0), abs=1e-5)
    bags = sum(n * p for n, p in groups)
    assert flag.figures["bags"] == pytest.approx(bags, abs=1e-4)
    assert flag.figures["kg"] == pytest.approx(7.0 * bags, abs=1e-3)


@pytest.mark.parametrize(("metres", "word"), [
    (-3.5, None), (-3.0, "perhaps"), (-0.1, "perhaps"), (0.1, "likely"), (4.0, "likely"),
    (4.5, "sure"), (50.0, "sure")])
def test_two_bags_of_one_press_are_as_sure_as_their_place(mire, books, metres, word):
    press(mire, books[1], 200 - metres, 150, 2)
    found = early(mire, books)
    assert [f.how_sure for f in found.values()] == [word] * (word is not None)


def test_one_bag_however_sure_is_no_pick(mire, books):
    press(mire, books[1], 150, 150, 1.5)
    assert early(mire, books) == {}
    press(mire, books[1], 150, 150, 0.5, minutes=60)
    assert early(mire, books)["early_pick:B02:2026"].probability == 1.0


def test_presses_of_one_group_are_there_together_or_not_at_all(mire, books):
    for minutes in (0, 3):
        press(mire, books[1], 199, 150, 1, minutes=minutes)
    together = early(mire, books)["early_pick:B02:2026"].probability
    assert together == pytest.approx(inside(1.0), abs=1e-5)
    books[1].kept[-1]["at"] = "2026-09-07T12:00:00.000Z"
    apart = early(mire, books)["early_pick:B02:2026"].probability
    assert apart == pytest.approx(inside(1.0) ** 2, abs=1e-5)


@pytest.mark.parametrize(("day", "days_early"), [
    (PICKED, None), (PICKED + timedelta(days=1), None), (date(2026, 6, 30), None),
    # The season ended, and so had the 28 days: another pick, and in the rest.
    (date(2026, 7, 1), 1593), (date(2030, 11, 9), 1), (ENDS, None)])
def test_days_that_join_the_pick_or_follow_the_rest_are_not_early(mire, books, day, days_early):
    press(mire, books[1], 150, 150, 4, day=day)
    found = early(mire, books, on=date(2031, 1, 1))
    assert [f.figures["days_early"] for f in found.values()] == [days_early] * bool(days_early)


def test_a_pick_late_in_a_season_may_go_on_for_28_days_of_the_next(mire):
    shed = mire.Book()
    shed.quadrat(date(2026, 1, 1), "B02", 60, (90, 110))
    shed.bags(date(2026, 6, 20), "B02", 100)
    shed.finished(date(2026, 6, 20), "B02")
    shed.bags(date(2026, 7, 18), "B02", 4)
    assert early(mire, [shed]) == {}
    shed.kept[-1]["at"] = "2026-07-19T12:00:00.000Z"
    (flag,) = early(mire, [shed]).values()
    assert flag.figures["picked_from"] == date(2026, 7, 19)
    assert flag.figures["rest_ends"] == date(2031, 6, 20)


def test_every_day_of_an_early_pick_is_of_the_flag_of_its_season(mire, books):
    days = [EARLY, EARLY + timedelta(days=3), EARLY + timedelta(days=10), date(2027, 7, 2)]
    names = [name for day in days for name in books[0].bags(day, "B02", 40)]
    found = early(mire, books, on=date(2027, 12, 1))
    assert list(found) == ["early_pick:B02:2026", "early_pick:B02:2027"]
    first, second = found.values()
    assert first.records == tuple(names[:3])
    assert second.records == tuple(names[3:])
    assert first.figures["days_early"] == (ENDS - EARLY).days
    # The first early pick was more than a touch, and its rest is the one broken then.
    assert second.figures["rest_ends"] == date(2031, 9, 17)


def test_bags_of_less_than_a_picking_day_do_not_date_the_flag(mire, books):
    press(mire, books[1], 205, 150, 1, day=EARLY - timedelta(days=5))
    press(mire, books[1], 150, 150, 4)
    (flag,) = early(mire, books).values()
    assert flag.figures["picked_from"] == EARLY


def test_bags_with_hardly_a_chance_are_not_named(mire, books):
    far = press(mire, books[1], 207, 150, 2)
    near = press(mire, books[1], 190, 150, 2, minutes=60)
    (flag,) = early(mire, books).values()
    assert inside(-7.0) < 0.01
    assert flag.records == (near,)
    assert far not in flag.why


def test_an_early_pick_of_after_the_day_is_not_known_on_it(mire, books):
    press(mire, books[1], 150, 150, 4)
    assert early(mire, books, on=EARLY - timedelta(days=1)) == {}
    assert list(early(mire, books, on=EARLY)) == ["early_pick:B02:2026"]


def test_a_pick_in_another_cell_of_a_resting_neighbour_is_not_early(mire, books):
    press(mire, books[1], 250, 150, 30)
    assert early(mire, books) == {}


def test_after_a_touch_no_pick_is_early(mire):
    shed = mire.Book()
    shed.quadrat(date(2025, 6, 20), "B02", 60, (90, 110))
    shed.bags(PICKED, "B02", 2)
    shed.bags(EARLY, "B02", 100)
    assert early(mire, [shed]) == {}


def test_ground_picked_twice_is_the_product_of_the_two_shares(mire, books):
    books[0].bags(EARLY, "B02", 20)
    found = mire.register(books, EARLY)
    (flag,) = mire.flags(found, "early_pick").values()
    area = found.crop.ground.cells["B02"].open_m2
    at_mark = 0.6 * area * 12 * 60 / 1000
    assert flag.figures["area_m2"] == pytest.approx(area * (700 / at_mark) * (140 / at_mark))


def test_an_old_pick_of_unknown_kg_has_no_known_area(mire, books):
    books[0].note("past_pick", date(2026, 1, 1), "O", cell="C02",
                  **{"from": "2024-11-10", "to": "2024-11-12", "dry_kg": None})
    books[0].bags(EARLY, "C02", 20)
    flag = early(mire, books)["early_pick:C02:2026"]
    assert flag.figures["area_m2"] is None
    assert flag.figures["rest_ends"] == date(2029, 11, 12)


def test_late_records_change_a_flag_but_not_its_name_and_open_its_ruling(mire, books):
    press(mire, books[1], 150, 150, 4)
    (flag,) = early(mire, books).values()
    books[0].note("ruling", date(2026, 12, 1), "O", flag=flag.name, says="upheld",
                  seen=flag.seen)
    (ruled,) = early(mire, books).values()
    assert (ruled.ruling.says, ruled.ruling.by, ruled.ruling.stands) == ("upheld", "O", True)
    late = mire.Book("p2-aaaa")
    late.note("bag", datetime(2026, 8, 1, 9, tzinfo=UTC), bags=2, where=mire.where(150, 150))
    (after,) = early(mire, [*books, late]).values()
    assert after.name == flag.name
    assert after.figures["picked_from"] == date(2026, 8, 1)
    assert after.ruling.stands is False
    late.note("void", datetime(2026, 8, 1, 10, tzinfo=UTC), of="p2-aaaa:1")
    (again,) = early(mire, [*books, late]).values()
    assert again.ruling.stands is True


def test_a_heavier_lot_moves_the_kg_and_leaves_the_ruling(mire, books):
    books[0].bags(EARLY, "B02", 20, pile="P1-001")
    (flag,) = early(mire, books).values()
    books[0].note("ruling", date(2026, 12, 1), "O", flag=flag.name, says="agreed",
                  seen=flag.seen)
    books[0].note("batch", date(2026, 11, 1), "O", batch="D-1", stage="dried", bags=20,
                  dry_kg=200.0, **{"from": ["P1-001"]})
    (after,) = early(mire, books).values()
    assert after.figures["kg"] == pytest.approx(200.0)
    assert after.ruling.stands is True
