"""A permit's cap that was passed, and a notice given too late."""

import dataclasses
import json
import math
from datetime import date
from importlib.resources import files
from statistics import NormalDist

import jsonschema
import pytest

from sync.block import Permit
from sync.flags.permit import chance_over_cap
from sync.report.flag_rows import flag_row
from sync.survey.ranges import lognormal_range, t_quantile

ON = date(2026, 2, 20)
PERMIT = Permit("TM-1", (), None, None, (9, 1), 200.0, "kg_dry", None, None, None, None, 20)


def raised(mire, book, rule, on=ON, permit=PERMIT, **changes):
    return mire.flags(mire.register(book, on, mire.mire(permits=(permit,), **changes)), rule)


def fits(flag):
    text = (files("sync.report") / "schemas" / "register.schema.json").read_text("utf-8")
    schema = json.loads(text)
    one = {"$schema": schema["$schema"], "$defs": schema["$defs"], "$ref": "#/$defs/flag"}
    jsonschema.validate(json.loads(json.dumps(flag_row(flag))), one)


@pytest.mark.parametrize("df", [2.0, 7.5, math.inf])
def test_a_cap_at_the_end_of_the_range_was_passed_with_chance_1_in_20(df):
    low, high = lognormal_range(1000.0, 0.1, t=t_quantile(df))
    assert chance_over_cap(1000.0, 100.0, df, high) == pytest.approx(0.05, abs=1e-12)
    assert chance_over_cap(1000.0, 100.0, df, low) == pytest.approx(0.95, abs=1e-12)


def test_without_a_spread_it_is_yes_or_no():
    assert chance_over_cap(40.0, 0.0, math.inf, 40.0) == 0.0
    assert chance_over_cap(40.5, 0.0, math.inf, 40.0) == 1.0
    assert chance_over_cap(0.0, 0.0, math.inf, 0.0) == 0.0
    assert chance_over_cap(1.0, 0.3, 4.0, 0.0) == 1.0


def test_a_cap_that_was_likely_passed_is_flagged_with_its_chance(mire):
    book = mire.Book()
    names = book.bags(date(2025, 12, 1), "B02", 36)
    (flag,) = raised(mire, book, "permit_cap").values()
    # 36 bags at the owner's 7 kg: 252 kg, Var = 36²·2.45² + 36·3.5².
    cv = math.sqrt(36**2 * 2.45**2 + 36 * 3.5**2) / 252.0
    log_sd = math.sqrt(math.log1p(cv**2))
    exact = NormalDist().cdf((math.log(252.0 / 200.0) - log_sd**2 / 2) / log_sd)
    assert flag.probability == pytest.approx(exact, abs=1e-12)
    assert 0.5 < exact < 0.95
    assert (flag.name, flag.how_sure, flag.cell) == ("permit_cap:TM-1:2025", "likely", None)
    assert flag.records == tuple(names)
    assert flag.figures["taken_low"] < 200.0 < 252.0 < flag.figures["taken_high"]
    assert flag.why.endswith("would settle it")
    fits(flag)


def test_bags_are_counted_so_their_cap_is_passed_or_not(mire):
    permit = dataclasses.replace(PERMIT, cap=40.0, cap_unit="bags")
    book = mire.Book()
    book.bags(date(2025, 12, 1), "B02", 40)
    assert not raised(mire, book, "permit_cap", permit=permit)
    book.bags(date(2025, 12, 2), "B02", 0.5)
    (flag,) = raised(mire, book, "permit_cap", permit=permit).values()
    assert (flag.probability, flag.how_sure) == (1.0, "sure")
    fits(flag)


def test_each_permit_year_is_judged_by_itself_and_last_years_stays(mire):
    book = mire.Book()
    book.bags(date(2024, 12, 1), "B02", 80)
    book.bags(date(2025, 8, 31), "B02", 40)
    book.bags(date(2025, 9, 1), "B02", 2)
    assert list(raised(mire, book, "permit_cap")) == ["permit_cap:TM-1:2024"]
    assert not raised(mire, book, "permit_cap", permit=dataclasses.replace(PERMIT, cap=None))


def note(book, day, start):
    return book.note("notice", day, "O", permit="TM-1", what="start", start=start)


def test_a_notice_in_time_is_let_pass(mire):
    book = mire.Book()
    note(book, date(2025, 8, 14), "2025-09-15")
    assert not raised(mire, book, "late_notice")
    book.bags(date(2025, 9, 15), "B02", 4)
    assert not raised(mire, book, "late_notice")


def test_a_start_told_too_late_is_flagged_before_anybody_picks(mire):
    book = mire.Book()
    name = note(book, date(2025, 8, 19), "2025-09-15")
    (flag,) = raised(mire, book, "late_notice", on=date(2025, 8, 20)).values()
    assert flag.name == "late_notice:TM-1:2025"
    assert flag.figures == {"given": date(2025, 8, 19), "start": date(2025, 9, 15),
                            "clear_days": 18, "needed": 20, "picked_from": None}
    assert flag.records == (name,)
    assert "a start on 2025-09-17 would settle it" in flag.why
    fits(flag)


def test_picking_is_judged_by_the_day_it_began_not_by_the_day_told(mire):
    book = mire.Book()
    note(book, date(2025, 8, 19), "2025-09-15")
    book.bags(date(2025, 9, 17), "B02", 4)
    assert not raised(mire, book, "late_notice"), "they waited"
    early = mire.Book()
    note(early, date(2025, 8, 14), "2025-09-15")
    early.bags(date(2025, 9, 11), "B02", 4)
    (flag,) = raised(mire, early, "late_notice").values()
    assert (flag.figures["clear_days"], flag.figures["start"]) == (19, date(2025, 9, 11))
    fits(flag)


def test_picking_with_no_notice_is_flagged_and_a_later_notice_heals_nothing(mire):
    book = mire.Book()
    (bag,) = book.bags(date(2025, 9, 15), "B02", 4)
    book.bags(date(2025, 9, 16), "B02", 4)
    note(book, date(2025, 9, 20), "2025-11-15")
    (flag,) = raised(mire, book, "late_notice").values()
    assert (flag.figures["given"], flag.figures["clear_days"]) == (None, None)
    assert flag.records == (bag,)
    fits(flag)
    assert not raised(mire, book, "late_notice",
                      permit=dataclasses.replace(PERMIT, notice_days=None))


def test_less_than_half_a_bag_on_the_permits_ground_begins_no_picking(mire):
    p1 = mire.Book("p1-aaaa")
    p1.note("bag", date(2025, 9, 15), bags=1, where=mire.where(310, 150))
    assert raised(mire, p1, "late_notice"), "a bag of no cell counts for the permit"
    only = dataclasses.replace(PERMIT, since=date(2025, 10, 1))
    assert not raised(mire, p1, "late_notice", permit=only)


def test_the_owners_holidays_make_a_notice_late(mire):
    book = mire.Book()
    note(book, date(2025, 8, 14), "2025-09-15")
    shut = ((date(2025, 9, 1), date(2025, 9, 2)),)
    (flag,) = raised(mire, book, "late_notice", holidays=shut).values()
    assert flag.figures["clear_days"] == 19
