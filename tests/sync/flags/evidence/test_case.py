"""What belongs to a flag: its bags and chances, the rest, the phones and their sheets, rulings."""

from datetime import UTC, date, datetime, timedelta

import pytest

from fieldapp.ground import sheet_of
from sync.errors import FallowError
from sync.flags.evidence import case_of
from sync.flags.evidence.shown import differing, shown_in, times_of
from sync.flags.named import flag_named
from sync.flags.raised import flags_of
from sync.picks.early import chance_at_least, expected_bags
from sync.report.document import register_document
from sync.report.sheet import ground_sheet

PICKED = date(2025, 11, 10)
EARLY = datetime(2026, 9, 7, 9, tzinfo=UTC)
MADE = EARLY - timedelta(days=9, hours=1)
ON = date(2026, 12, 1)
#: x in m, minutes, bags: B02 runs from 100 to 200.
PRESSES = ((199.0, 0, 2), (199.5, 1, 1), (190.0, 40, 3), (201.0, 80, 2))


def stamped(at):
    return at.strftime("%Y-%m-%dT%H:%M:%S.000Z")


@pytest.fixture
def books(mire):
    """B02 picked and at rest; MT on p1 picks on its border with C02, on an old sheet."""
    shed, p1 = mire.Book(), mire.Book("p1-aaaa")
    for cell in ("B02", "B02", "A01", "C02"):
        shed.quadrat(date(2025, 6, 20), cell, 60, (90, 110))
    shed.bags(PICKED, "B02", 100)
    shed.finished(PICKED, "B02")
    p1.note("outing", EARLY - timedelta(minutes=30), state="start", role="picker",
            sheet={"id": "0a1b2c3d", "made_at": stamped(MADE)})
    for x, minutes, bags in PRESSES:
        p1.note("bag", EARLY + timedelta(minutes=minutes), bags=bags, where=mire.where(x, 150))
    p1.note("outing", EARLY + timedelta(hours=3), state="end", finished=[])
    return shed, p1


def seen(mire, books, on=ON):
    register = mire.register(books, on)
    flags = {flag.name: flag for flag in flags_of(register)}
    return register, flags


def early(mire, books):
    register, flags = seen(mire, books)
    return case_of(register, flags["early_pick:B02:2026"])


def sheet_on(mire, books, day):
    register = mire.register(books, day)
    made_at = datetime.combine(day, MADE.time(), UTC)
    return sheet_of(ground_sheet(register, register_document(register, ()), phone="p1",
                                 device=None, made_at=made_at, held=(), sheet_id="0a1b2c3d"))


def test_its_groups_make_the_flags_own_chance_and_bags_again(mire, books):
    case = early(mire, books)
    groups = [(one.bags, one.chance) for one in case.groups]
    assert [bags for bags, _ in groups] == [3, 3, 2]
    assert chance_at_least(groups, 2.0) == pytest.approx(case.flag.probability, abs=1e-12)
    assert expected_bags(groups) == pytest.approx(case.flag.figures["bags"], abs=1e-12)


def test_a_group_tells_time_phone_picker_and_how_good_its_fix_was(mire, books):
    first = early(mire, books).groups[0]
    assert (first.device, first.pickers, first.how) == ("p1-aaaa", ("MT",), ("fix",))
    assert (first.since, first.until) == (EARLY, EARLY + timedelta(minutes=1))
    assert first.r68_m == pytest.approx(4.0)
    assert first.records == ("p1-aaaa:2", "p1-aaaa:3")


def test_the_rest_that_was_running_is_told_with_its_rule(mire, books):
    pick = early(mire, books).last_pick
    assert (pick.first, pick.last, pick.bags) == (PICKED, PICKED, 100.0)
    assert (pick.rest_months, pick.rule_since, pick.rest_ends) == (60, None, date(2030, 11, 10))
    assert pick.kg == pytest.approx(700.0)


def test_the_outing_of_the_bags_tells_its_sheet_and_how_old_it_was(mire, books):
    (outing,) = early(mire, books).carried
    assert (outing.device, outing.person, outing.record) == ("p1-aaaa", "MT", "p1-aaaa:1")
    assert (outing.sheet_id, outing.made_at, outing.days_old) == ("0a1b2c3d", MADE, 9)
    assert outing.good_until == MADE + timedelta(days=7)
    assert outing.is_stale
    assert outing.bags == 8
    assert outing.ended == EARLY + timedelta(hours=3)


def test_a_newer_sheet_named_at_a_going_on_is_the_one(mire, books):
    p2 = mire.Book("p2-bbbb")
    p2.note("outing", EARLY - timedelta(hours=1), "RK", state="start", role="picker")
    p2.note("outing", EARLY, "RK", state="pause")
    p2.note("outing", EARLY + timedelta(minutes=5), "RK", state="resume", role="picker",
            sheet={"id": "11111111", "made_at": stamped(EARLY)})
    p2.note("bag", EARLY + timedelta(minutes=9), "RK", bags=3, where=mire.where(150, 150))
    case = early(mire, (*books, p2))
    mine = next(one for one in case.carried if one.device == "p2-bbbb")
    assert (mine.sheet_id, mine.days_old, mine.ended, mine.is_stale) == (
        "11111111", 0, None, False)


def test_bags_after_an_end_are_of_no_outing(mire, books):
    _, p1 = books
    p1.note("bag", EARLY + timedelta(hours=4), bags=1, where=mire.where(150, 150))
    (outing,) = early(mire, books).carried
    assert outing.bags == 8


def test_the_sheet_is_read_as_the_phone_reads_it_at_each_press(mire, books):
    (outing,) = early(mire, books).carried
    shown = shown_in(sheet_on(mire, books, MADE.date()), outing, "B02")
    assert (shown.state, shown.rest_ends) == ("resting", date(2030, 11, 10))
    # 10 m from the border it is sure, 1 m from it a fix of 4 m cannot tell.
    assert shown.bands == {"near_edge": 5.0, "resting": 3.0}


def test_a_sheet_of_before_the_pick_could_not_know(mire, books):
    (outing,) = early(mire, books).carried
    shown = shown_in(sheet_on(mire, books, date(2025, 7, 1)), outing, "B02")
    assert (shown.state, shown.rest_ends) == ("ready", None)
    assert shown.bands == {"ready": 8.0}


def test_what_a_new_sheet_tells_otherwise_is_named(mire, books):
    old, new = (sheet_on(mire, books, day) for day in (date(2025, 7, 1), MADE.date()))
    (one,) = differing(old, new, EARLY.date())
    assert (one.cell, one.old, one.new) == ("B02", "ready", "resting")
    assert differing(new, new, EARLY.date()) == ()


def test_the_sheets_with_most_bags_are_made_again_first(mire, books):
    case = early(mire, books)
    assert times_of(case.carried, most=3) == (MADE,)
    assert times_of(case.carried, most=0) == ()


def test_every_ruling_stays_to_be_seen_in_its_order(mire, books):
    _, flags = seen(mire, books)
    flag = flags["early_pick:B02:2026"]
    shed = books[0]
    shed.note("ruling", ON, "O", flag=flag.name, says="not_so", seen=flag.seen)
    shed.note("ruling", ON + timedelta(days=1), "O", flag=flag.name, says="upheld", seen=flag.seen)
    assert [one.record["says"] for one in early(mire, books).rulings] == ["not_so", "upheld"]


def test_outside_and_closed_ground_have_the_chances_of_their_own_flags(mire, books):
    p2 = mire.Book("p2-bbbb")
    p2.note("bag", EARLY, "RK", bags=2, where=mire.where(310, 150))
    p2.note("bag", EARLY + timedelta(minutes=40), "RK", bags=1, where=mire.where(301, 150))
    register, flags = seen(mire, (*books, p2))
    case = case_of(register, flags["outside_block:p2-bbbb:2026"])
    groups = [(one.bags, one.chance) for one in case.groups]
    assert expected_bags(groups) == pytest.approx(case.flag.figures["bags"])
    assert chance_at_least(groups, 2.0) == pytest.approx(case.flag.probability)
    assert case.last_pick is None


def test_2026_11_28_bags_of_sprayed_ground_have_the_chances_of_their_flag(mire):
    """The case told the chance of the whole cell, where a strip of it was sprayed."""
    p2, shed = mire.Book("p2-bbbb"), mire.Book()
    shed.note("work", EARLY.date(), "O", what="sprayed", product="brush killer", hold_days=30,
              outline=mire.polygon(150, 100, 200, 200))
    for minutes, x in ((0, 151), (40, 152)):
        p2.note("bag", EARLY + timedelta(minutes=minutes), "RK", bags=2, where=mire.where(x, 150))
    register, flags = seen(mire, (shed, p2))
    case = case_of(register, flags["sprayed_hold:B02:2026"])
    groups = [(one.bags, one.chance) for one in case.groups]

    assert expected_bags(groups) == pytest.approx(case.flag.figures["bags"])
    assert chance_at_least(groups, 2.0) == pytest.approx(case.flag.probability)


def test_2026_11_28_a_weak_places_bags_have_the_chances_of_its_flag(mire):
    """A picker's word moves the kg; the case told the chance so moved beside the flag's own."""
    book = mire.Book("p1-aaaa")
    for days, x in ((0, 150), (1, 201)):
        mire.stood(book, EARLY + timedelta(days=days), x, cell="B02")
    register, flags = seen(mire, book)
    (flag,) = (one for one in flags.values() if one.rule == "weak_position")
    (press,) = case_of(register, flag).presses

    assert press.placed.word.cell == "B02"
    assert press.placed.chances[flag.cell] != pytest.approx(flag.figures["best_chance"])
    assert press.chance == pytest.approx(flag.figures["best_chance"])


def test_every_flag_has_a_case(mire, books):
    register, flags = seen(mire, books)
    for flag in flags.values():
        case = case_of(register, flag)
        told = ({one.placed.bag.name for one in case.presses} | {one.name for one in case.others}
                | {one.record for one in case.carried})
        assert set(flag.records) <= told


@pytest.mark.parametrize("typed", ["early_pick:B02:2026", "EARLY_PICK:b02:2026", "early_pick:b02",
                                   " early_pick:B02 "])
def test_a_name_is_taken_in_any_case_and_without_its_season(mire, books, typed):
    register, flags = seen(mire, books)
    assert flag_named(register, list(flags.values()), typed).name == "early_pick:B02:2026"


def test_an_unknown_name_is_refused_with_the_nearest(mire, books):
    register, flags = seen(mire, books)
    with pytest.raises(FallowError, match=r"erly_pik.*nearest: early_pick:B02:2026"):
        flag_named(register, list(flags.values()), "erly_pik:B02")
    with pytest.raises(FallowError, match="there are none"):
        flag_named(register, [], "early_pick:B02")


def test_a_name_that_fits_two_seasons_asks_which(mire, books):
    for minutes in (0, 40):
        books[1].note("bag", EARLY + timedelta(days=400, minutes=minutes), bags=2,
                      where=mire.where(150, 150))
    register, flags = seen(mire, books, ON + timedelta(days=400))
    both = "which season: early_pick:B02:2026, early_pick:B02:2027"
    with pytest.raises(FallowError, match=both):
        flag_named(register, list(flags.values()), "early_pick:B02")


def test_a_flag_that_is_no_longer_raised_is_told_by_its_ruling(mire, books):
    shed, p1 = books
    _, flags = seen(mire, books)
    flag = flags["early_pick:B02:2026"]
    shed.note("ruling", ON, "O", flag=flag.name, says="upheld", seen=flag.seen)
    for name in flag.records:
        p1.note("void", EARLY + timedelta(hours=3), of=name)
    register, flags = seen(mire, books)
    with pytest.raises(FallowError, match="was ruled upheld on 2026-12-01"):
        flag_named(register, list(flags.values()), flag.name)
