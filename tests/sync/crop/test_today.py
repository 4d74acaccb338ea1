"""A cell's state and what may be taken, on the days on which they turn."""

import dataclasses
import math
from datetime import UTC, date, datetime, timedelta

import pytest

from sync.block import Feature, Permit, Rule

PERMIT = Permit("TM-1", (), None, None, (7, 1), None, None, None, None, None, None, None)
SURVEYED = date(2025, 6, 20)
START = date(2025, 11, 10)


@pytest.fixture
def book(made):
    """Two quadrats in B02, one in A01 and one in C03, read on one day."""
    book = made.Book()
    for cell, cover, depths in (("B02", 60, (90, 110)), ("B02", 80, (100, 120)),
                                ("A01", 70, (80, 90)), ("C03", 50, (110,))):
        book.quadrat(SURVEYED, cell, cover, depths)
    return book


def cell(made, book, on, block=None, name="B02"):
    return made.register(book, on, block).cells[name]


def test_the_states_are_asked_in_their_order(made, book):
    book.bags(START, "B02", 200)
    book.finished(START, "B02")
    closed = made.mire(closures=(Feature(made.polygon(100, 100, 200, 200), {"why": "nesting"},
                                         since=START, until=date(2031, 6, 1)),))
    lapsed = made.mire(permits=(dataclasses.replace(PERMIT, until=START),))
    day = START + timedelta(days=1)
    assert cell(made, book, day).state == "resting"
    assert cell(made, book, day, closed).state == "closed"
    assert cell(made, book, day, lapsed).state == "closed"
    assert cell(made, book, day, closed).why == "closed: nesting until 2031-06-01"
    over = date(2030, 11, 10)
    assert cell(made, book, over - timedelta(days=1)).state == "resting"
    assert cell(made, book, over).state == "unsurveyed"
    assert cell(made, book, over, closed).state == "closed"


def test_a_closure_in_part_leaves_the_rest_ready_and_its_crop_smaller(made, book):
    half = made.mire(closures=(Feature(made.polygon(100, 100, 150, 200), {"why": "pool"}),))
    whole, part = (made.register(book, SURVEYED, block) for block in (None, half))
    assert part.cells["B02"].state == "ready"
    crops = [r.crop.cells["B02"].walked.stand.crop_kg for r in (whole, part)]
    assert crops[1] / crops[0] == pytest.approx(0.5, rel=1e-6)
    assert part.cells["B02"].may_take_kg / whole.cells["B02"].may_take_kg == pytest.approx(
        0.5, rel=1e-6)


def test_a_closure_ends_with_its_last_day_and_next_is_the_day_after(made, book):
    until = date(2025, 9, 30)
    closed = made.mire(closures=(Feature(made.polygon(100, 100, 200, 200), {}, until=until),))
    today = cell(made, book, until, closed)
    assert (today.state, today.next_on) == ("closed", date(2025, 10, 1))
    assert cell(made, book, date(2025, 10, 1), closed).state == "ready"


def test_a_closure_without_an_end_has_no_next(made, book):
    closed = made.mire(closures=(Feature(made.polygon(100, 100, 200, 200), {}),))
    assert cell(made, book, SURVEYED, closed).next_on is None


def test_a_hold_after_spraying_lasts_through_its_last_day(made, book):
    book.note("work", date(2025, 8, 1), what="sprayed", cells=["B02"], hold_days=30)
    states = {day: cell(made, book, date(2025, 8, day)).state for day in (1, 31)}
    assert states == {1: "closed", 31: "closed"}
    assert cell(made, book, date(2025, 7, 31)).state == "ready"
    assert cell(made, book, date(2025, 9, 1)).state == "ready"
    assert cell(made, book, date(2025, 8, 31)).next_on == date(2025, 9, 1)


def test_a_cell_surveyed_while_it_rests_is_ready_on_the_day_its_rest_ends(made, book):
    book.bags(START, "B02", 200)
    book.finished(START, "B02")
    book.quadrat(date(2030, 3, 1), "B02", 70, (90,))
    today = cell(made, book, date(2030, 6, 1))
    over = date(2030, 11, 10)
    assert (today.state, today.next_on) == ("resting", over)
    then = cell(made, book, over)
    assert then.state == "ready"
    # What is told beforehand is what comes, but for the error of r, taken anew in each step.
    assert today.next_kg == pytest.approx(then.may_take_kg, rel=0.02)


def test_a_resting_cell_not_measured_since_has_no_next(made, book):
    book.bags(START, "B02", 200)
    book.finished(START, "B02")
    assert cell(made, book, date(2026, 3, 1)).next_on is None


def test_a_quadrat_of_the_last_picking_day_is_of_before_its_bags(made, book):
    book.bags(START, "B02", 200)
    book.quadrat(START, "B02")
    book.finished(START, "B02")
    assert cell(made, book, date(2030, 11, 10)).state == "unsurveyed"
    book.quadrat(START + timedelta(days=1), "B02")
    assert cell(made, book, date(2030, 11, 10)).state == "ready"


def test_after_a_pick_is_no_survey(made, book):
    book.bags(START, "B02", 200)
    book.finished(START, "B02")
    book.quadrat(START + timedelta(days=1), "B02", when="after_pick")
    assert cell(made, book, date(2030, 11, 10)).state == "unsurveyed"


def test_picking_where_nobody_measured_leaves_the_cell_unsurveyed(made, book):
    book.bags(START, "A03", 20)
    today = cell(made, book, START, name="A03")
    assert (today.state, today.may_take_kg, today.left_kg) == ("unsurveyed", 0.0, 0.0)
    assert today.taken.kg == pytest.approx(140.0)


def test_a_touch_in_a_resting_cell_counts_its_kg_and_starts_no_rest(made, book):
    book.bags(START, "B02", 200)
    book.finished(START, "B02")
    early = date(2027, 3, 1)
    before = made.register(book, early).crop.cells["B02"].walked.stand.crop_kg
    book.bags(early, "B02", 2)
    found = made.register(book, early)
    today = found.cells["B02"]
    assert today.state == "resting"
    assert today.picks.last_over.rest_ends == date(2030, 11, 10)
    assert today.picks.open_pick.touch
    assert found.crop.cells["B02"].walked.stand.crop_kg == pytest.approx(before - 14.0)


def test_an_early_pick_of_more_than_a_touch_starts_a_rest_of_its_own(made, book):
    book.bags(START, "B02", 200)
    book.finished(START, "B02")
    early = date(2027, 3, 1)
    book.bags(early, "B02", 200)
    assert cell(made, book, early).state == "resting", "the old rest holds while it is open"
    book.finished(early, "B02")
    assert cell(made, book, early).picks.last_over.rest_ends == date(2032, 3, 1)


def test_what_is_learned_of_later_days_moves_nothing_in_an_open_pick(made, book):
    book.bags(START, "B02", 20)
    before = cell(made, book, START)
    later = START + timedelta(days=3)
    book.quadrat(later, "A01", 10, (30,))
    book.quadrat(later, "C01", 100, (200,))
    book.note("clip", later, clip="X-1", cut="plug", area_m2=0.0625, from_mm=0, to_mm=100,
              dry_g=300.0, dried="shed", where=made.where(150, 150))
    book.bags(later, "B02", 20)
    today = cell(made, book, later)
    assert today.may_take_kg == before.may_take_kg
    assert today.allowance == before.allowance
    assert today.left_kg == pytest.approx(before.may_take_kg - 280.0)


def test_what_is_learned_late_of_earlier_days_does(made, book):
    book.bags(START, "B02", 20)
    before = cell(made, book, START)
    book.note("clip", SURVEYED, clip="X-1", cut="plug", area_m2=0.0625, from_mm=0, to_mm=100,
              dry_g=300.0, dried="shed", where=made.where(150, 150))
    assert cell(made, book, START).may_take_kg > 1.5 * before.may_take_kg


def test_left_is_may_take_less_what_this_pick_took_and_not_less_than_nothing(made, book):
    may = cell(made, book, START).may_take_kg
    bags = math.ceil(may / 7.0)
    book.bags(START, "B02", bags - 1)
    almost = cell(made, book, START)
    assert almost.state == "ready"
    assert almost.left_kg == pytest.approx(may - 7.0 * (bags - 1))
    book.bags(START, "B02", 1)
    today = cell(made, book, START)
    assert (today.state, today.left_kg, today.next_on) == ("taken", 0.0, None)
    assert today.may_take_kg == pytest.approx(may)
    book.finished(START, "B02")
    assert cell(made, book, START).state == "resting"


def test_a_day_named_finished_and_a_later_day_of_bags_open_close_and_open(made, book):
    book.bags(START, "B02", 100)
    book.finished(START + timedelta(days=2), "B02")
    book.bags(START + timedelta(days=30), "B02", 20)
    states = [cell(made, book, START + timedelta(days=n)).state for n in (0, 1, 2, 29, 30, 31)]
    assert states == ["ready", "ready", "resting", "resting", "ready", "ready"]
    book.finished(START + timedelta(days=31), "B02")
    assert cell(made, book, START + timedelta(days=31)).picks.last_over.rest_ends == date(
        2030, 12, 10)


def test_a_day_to_come_is_a_forecast(made, book):
    book.bags(START, "B02", 200)
    now = made.register(book, START).crop.cells["B02"].walked
    far = made.register(book, date(2029, 1, 1)).crop.cells["B02"].walked
    assert far.forecast
    assert now.stand.crop_kg < far.stand.crop_kg <= far.stand.mark_kg
    cells = made.register(book, date(2029, 1, 1)).cells
    assert (cells["B02"].state, cells["A01"].state) == ("resting", "ready")


def test_2026_11_25_a_rule_that_changes_in_a_pick_moves_nothing_though_it_was_surveyed_in_it(
    made, book
):
    book.bags(START, "B02", 20)
    book.quadrat(START + timedelta(days=2), "B02", 70, (100,))
    before = cell(made, book, START + timedelta(days=2))
    block = made.mire(rules=(*made.mire().rules,
                             Rule(START + timedelta(days=3), 24, 5.0, 40.0, 90.0)))
    after = cell(made, book, START + timedelta(days=3), block)
    assert after.may_take_kg == pytest.approx(before.may_take_kg, rel=1e-9)
    assert after.may_take_kg == pytest.approx(before.allowance.may_take_kg, rel=1e-9)


def test_a_survey_in_an_open_pick_counts_as_of_its_start(made, book, hand):
    book.bags(START, "B02", 20)
    book.quadrat(START + timedelta(days=2), "B02", 70, (100,))
    found = made.register(book, START + timedelta(days=2))
    during = found.crop.cells["B02"].walked.during
    kg, variance = hand.weighed(20)
    stand = {"B": during.stand.crop_kg + kg, "VB": during.stand.crop_var + variance,
             "C": during.stand.mark_kg, "VC": during.stand.mark_var, "Cov": during.stand.cov}
    area = found.crop.ground.cells["B02"].open_m2
    expected = hand.may_take(stand, during.pickable_kg + kg, area)
    assert found.cells["B02"].may_take_kg == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(("limits", "said"), [
    ({"max_share_pct": 10.0}, {"share": 0.1}), ({"max_kg_ha": 500.0}, {"kg_ha": 500.0}),
    ({"keep_pct": 80.0}, {"keep": 0.8}),
    ({"max_share_pct": 10.0, "max_kg_ha": 500.0}, {"share": 0.1, "kg_ha": 500.0})])
def test_a_permits_limits_hold_as_worked_by_hand(made, book, hand, limits, said):
    block = made.mire(permits=(dataclasses.replace(PERMIT, **limits),))
    found = made.register(book, START, block)
    stand = found.crop.cells["B02"].walked.stand
    area = found.crop.ground.cells["B02"].open_m2
    by_hand = {"B": stand.crop_kg, "C": stand.mark_kg, "VB": stand.crop_var,
               "VC": stand.mark_var, "Cov": stand.cov}
    expected = hand.may_take(by_hand, found.crop.cells["B02"].walked.pickable_kg, area, **said)
    today = found.cells["B02"]
    assert today.may_take_kg == pytest.approx(expected, rel=1e-9)
    assert today.allowance.binds == ("share_kept" if "keep" in said else "permit")
    assert today.allowance.sustainable_pct == pytest.approx(100 * expected / stand.crop_kg)
    assert today.allowance.must_stay_kg == pytest.approx(stand.crop_kg - expected)


def test_a_cell_without_moss_is_ready_and_gives_nothing(made):
    book = made.Book()
    for i in (1, 2):
        book.note("skip", SURVEYED, "SW", plot=f"B02-{i}", why="pool")
    found = made.register(book, START)
    today, walked = found.cells["B02"], found.crop.cells["B02"].walked
    assert (today.state, today.may_take_kg, today.left_kg) == ("ready", 0.0, 0.0)
    assert (walked.stand.crop_kg, walked.stand.crop_var, walked.pickable_kg) == (0.0, 0.0, 0.0)
    assert (today.allowance.sustainable_pct, today.allowance.must_stay_kg) == (0.0, 0.0)
    assert found.total.kg == 0.0


def test_a_cell_seen_by_eye_only_is_surveyed_but_has_no_figure_until_its_class_has(made):
    book = made.Book()
    book.quadrat(SURVEYED, "B02", 60, (100,), drawn=False)
    found = made.register(book, START)
    assert found.cells["B02"].state == "ready"
    assert (found.cells["B02"].may_take_kg, found.cells["B02"].left_kg) == (None, None)
    assert found.crop.cells["B02"].walked is None
    assert found.total is None
    assert found.long_run_kg is None
    book.quadrat(SURVEYED, "A01", 60, (100,))
    after = made.register(book, START)
    assert after.cells["B02"].may_take_kg is not None
    assert after.crop.cells["B02"].walked.stand.crop_kg > 0.0


def test_a_pick_of_unknown_kg_took_what_was_pickable_give_or_take_half(made, book):
    book.note("past_pick", date(2025, 12, 1), "O", cell="B02",
              **{"from": "2025-11-10", "to": "2025-11-20", "dry_kg": None})
    on = date(2025, 11, 20)
    eve = made.register(book, date(2025, 11, 9)).crop.cells["B02"].walked
    found = made.register(book, on)
    walked = found.crop.cells["B02"].walked
    assert walked.taken[START].kg == pytest.approx(eve.stand.crop_kg * eve.share, rel=1e-9)
    assert math.sqrt(walked.taken[START].variance) == pytest.approx(0.5 * walked.taken[START].kg)
    assert "B02" in found.incomplete


def test_noon_of_new_years_day_is_the_same_season(made, book):
    book.bags(date(2025, 12, 31), "B02", 60)
    book.bags(date(2026, 1, 1), "B02", 60)
    today = cell(made, book, date(2026, 1, 1))
    assert today.picks.open_pick.made.first == date(2025, 12, 31)
    assert today.taken.kg == pytest.approx(840.0)


def test_a_rest_of_more_months_holds_for_picks_that_ended_under_it(made, book):
    block = made.mire(rules=(*made.mire().rules, Rule(date(2025, 11, 12), 72, 5.0, 40.0, 30.0)))
    book.bags(START, "B02", 100)
    book.bags(START, "A01", 100)
    book.bags(date(2025, 11, 12), "B02", 100)
    book.finished(date(2025, 11, 12), "A01", "B02")
    found = made.register(book, date(2025, 11, 12), block)
    assert found.cells["A01"].picks.last_over.rest_ends == date(2030, 11, 10)
    assert found.cells["B02"].picks.last_over.rest_ends == date(2031, 11, 12)


def test_the_clock_of_the_block_decides_the_day(made, book):
    block = made.mire(zone="Pacific/Auckland")
    book.note("bag", datetime(2025, 11, 10, 10, 59, tzinfo=UTC), bags=40, cell="B02")
    book.note("bag", datetime(2025, 11, 10, 11, 0, tzinfo=UTC), bags=40, cell="B02")
    found = made.register(book, date(2025, 11, 10), block)
    assert found.cells["B02"].taken.kg == pytest.approx(280.0)
    assert made.register(book, date(2025, 11, 11), block).cells["B02"].taken.kg == pytest.approx(
        560.0)
