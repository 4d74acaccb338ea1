"""What regrew, and what would tell the growth better: told by what happens when it is measured."""

import math
from datetime import date

import pytest

from sync.crop.learn import learn_growth, terms_of
from sync.crop.narrow import narrowings
from sync.plan.recovery import recovery_of
from sync.report.recovery import recovery_table, recovery_words

SURVEYED, ON = date(2020, 8, 20), date(2024, 2, 20)
CELLS = ("A01", "A02", "A03", "B01", "B02", "B03", "C01", "C02")


def surveyed(mire):
    book = mire.Book()
    for cell in CELLS:
        for cover in (60, 64, 56, 60):
            book.quadrat(SURVEYED, cell, cover, (90, 110))
    return book


def picked(book, cells, kg=2500, day=date(2020, 11, 10)):
    for cell in cells:
        book.note("past_pick", day, cell=cell, to=day.isoformat(), dry_kg=kg,
                  **{"from": day.isoformat()})


def read(book, cells, day, cover=50):
    for cell in cells:
        for more in (-4, 0, 4, 0):
            book.quadrat(day, cell, cover + more, (90, 110))


@pytest.fixture
def shed(mire):
    book = surveyed(mire)
    picked(book, CELLS[:6])
    read(book, CELLS[:2], date(2023, 8, 20))
    return book


def test_each_cell_measured_again_is_set_against_its_forecast(mire, shed):
    register = mire.register(shed, ON)
    found = recovery_of(register)
    assert [one.cell for one in found.cells] == ["A01", "A02"]
    one = found.cells[0]
    assert one.picked_kg == 2500
    assert one.years == pytest.approx(1013 / 365.25)
    assert one.teaches
    assert len(one.records) == 4
    spread = math.hypot(one.forecast_sd, one.measured_sd)
    assert one.surprise == pytest.approx((one.measured_kg - one.forecast_kg) / spread)


def test_no_cell_vouches_for_itself(mire, shed):
    register = mire.register(shed, ON)
    learned = register.crop.learned
    others = learn_growth(learned.prior, [c for c in learned.regrown if c.cell != "A01"])
    lone = surveyed(mire)
    picked(lone, CELLS[:6])
    read(lone, ("A01",), date(2023, 8, 20))
    by_prior = recovery_of(mire.register(lone, ON)).cells[0]
    assert others.growth.rate != learned.prior.rate
    assert recovery_of(register).cells[0].forecast_kg != by_prior.forecast_kg
    # Alone, it is forecast by the years of recovery, though the register has learned from it.
    assert mire.register(lone, ON).crop.learned.growth.rate != learned.prior.rate
    poor = surveyed(mire)
    picked(poor, CELLS[:6])
    read(poor, ("A01",), date(2023, 8, 20), cover=10)
    assert recovery_of(mire.register(poor, ON)).cells[0].forecast_kg == pytest.approx(
        by_prior.forecast_kg)


def test_a_pick_of_unknown_kg_is_shown_and_teaches_nothing(mire, shed):
    picked(shed, ("C01",), kg=None)
    read(shed, ("C01",), date(2023, 8, 20))
    found = recovery_of(mire.register(shed, ON))
    one = found.cells[-1]
    assert (one.cell, one.picked_kg, one.teaches) == ("C01", None, False)
    assert recovery_table(found).rows[-1][0] == "C01 *"


def test_without_any_cell_measured_again_it_says_so(mire):
    found = recovery_of(mire.register(surveyed(mire), ON))
    assert found.cells == ()
    told = recovery_words(found, back_chance=0.75)
    assert told[0] == "No cell was measured again after a pick yet."
    assert told[1] == "No rest has ended yet."
    assert any("no cell that was picked would tell more" in line for line in told)


def test_what_is_learned_is_the_sum_of_the_cells_terms(mire, shed):
    learned = mire.register(shed, ON).crop.learned
    terms = [terms_of(c, learned.growth.rate, learned.prior.comeback) for c in learned.regrown]
    stated = sum(one.stated for one in terms)
    moved = sum(one.moved for one in terms)
    slope = sum(one.slope for one in terms)
    # These two cells agree better than their stated errors, so that their scatter plays no part.
    rate = learned.rate
    again = learn_growth(learned.prior, learned.regrown)
    assert again.rate == rate
    assert (stated + moved**2) / slope**2 == pytest.approx(learned.variance, rel=0.1)


def test_measuring_what_is_named_brings_what_is_said(mire, shed):
    """The forecast of the error against the register after just that was done."""
    register = mire.register(shed, ON, growth_cv_enough=0.01)
    now = narrowings(register.crop, register.tunables, season_start=(7, 1))[0]
    assert not now.enough
    assert set(now.cells) == set(CELLS[:6])
    assert now.sd < math.sqrt(register.crop.learned.growth.variance)
    rate = register.crop.learned.growth.rate
    for cell in now.cells:
        # Found as forecast: cover that makes its crop, at the depth of 100 mm.
        one = next(c for c in register.crop.cells.values() if c.cell == cell)
        stand = one.walked.stand
        cover = 60.0 * stand.crop_kg / stand.mark_kg
        for more in (-4, 0, 4, 0):
            shed.quadrat(ON, cell, round(cover + more, 2), (90, 110))
    then = mire.register(shed, ON).crop.learned
    assert {c.cell for c in then.regrown} == set(now.cells)
    assert math.sqrt(then.growth.variance) == pytest.approx(now.sd, rel=0.12)
    assert then.growth.rate == pytest.approx(rate, rel=0.15)


def test_cells_are_added_until_it_is_enough_and_no_further(mire, shed):
    wide = mire.register(shed, ON, growth_cv_enough=0.01)
    least = narrowings(wide.crop, wide.tunables, season_start=(7, 1))[0].sd
    rate = wide.crop.learned.growth.rate
    has = math.sqrt(wide.crop.learned.growth.variance)
    goal = (least + has) / 2.0 / rate
    register = mire.register(shed, ON, growth_cv_enough=goal)
    first = narrowings(register.crop, register.tunables, season_start=(7, 1))[0]
    assert first.enough
    assert first.sd < goal * rate
    assert 0 < len(first.cells) < 6


def test_an_earned_rate_asks_for_nothing(mire, shed):
    found = recovery_of(mire.register(shed, ON, growth_cv_enough=0.9))
    assert found.narrowing == ()
    assert "It is earned" in recovery_words(found, back_chance=0.75)[-1]
