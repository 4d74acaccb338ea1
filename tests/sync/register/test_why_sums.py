"""With a pocket calculator: every sum that `why` prints comes out as printed."""

import importlib.util
from datetime import date
from pathlib import Path

import pytest

from sync.block import Person
from sync.register.why import why_cell

SURVEYED, PICKED, AGAIN, ON = (
    date(2023, 6, 20), date(2023, 11, 10), date(2025, 6, 20), date(2026, 2, 20))


def load(name):
    spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name(f"{name}.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


SUMS = load("sums")


@pytest.fixture(scope="module")
def found(mire):
    """A block on which every kind of cell can be met."""
    book = mire.Book()
    covers = {"A01": 55, "A02": 80, "B01": 65, "B02": 72, "B03": 60, "C02": 5}
    for cell, cover in covers.items():
        for i in range(3):
            book.quadrat(SURVEYED, cell, cover + 3 * i, (90 + 5 * i, 110, 70 - 8 * i))
    for i in range(6):
        book.note("quadrat", SURVEYED, "SL", plot=f"A01-{1 + i % 3}", again=True, when="survey",
                  side_m=0.5, cover_pct=50 + i, depth_mm=[90, 100])
    for cell in ("A02", "B02", "B03"):
        book.bags(PICKED, cell, 250)
        book.finished(PICKED, cell)
    for cell in ("B02", "B03"):
        book.quadrat(AGAIN, cell, 48, (70, 80, 66))
        book.quadrat(AGAIN, cell, 52, (75, 81, 60))
    book.quadrat(SURVEYED, "C01", 70, (100, 120), drawn=False)
    for i in range(4):
        book.note("clip", SURVEYED, clip=f"X-{i}", cut="plug", area_m2=0.0625, from_mm=0,
                  to_mm=60, dry_g=40.0 + 4 * i, dried="shed", where=mire.where(150, 150))
    people = (Person("SL", "S. L.", "S.L.", "surveyor", counts_dots=True),)
    return mire.register(book, ON, mire.mire(people=people))


@pytest.mark.parametrize(("cell", "kind", "at_least"), [
    ("C03", "borrowed", 6),
    ("A01", "measured, its reader checked", 12),
    ("A02", "forecast since its pick", 11),
    ("B02", "measured again while it rests", 14),
    ("C01", "by eye only", 8),
    ("C02", "poor, its mark held by its class", 10),
])
def test_each_sum_comes_out_as_printed(found, cell, kind, at_least):
    seen = [one for sentence in why_cell(found, cell) for one in SUMS.sums_in(sentence)]
    assert len(seen) >= at_least, kind
    assert {one: SUMS.off_by(*one) for one in seen if SUMS.off_by(*one) > 0.0} == {}


def test_the_calculator_finds_a_wrong_sum():
    ((expression, printed),) = SUMS.sums_in("so 0.48 × 79.5 + 0.52 × 53.6 = 66.9 L/m².")
    assert SUMS.off_by(expression, printed) > 0.0


def said(found, cell, start):
    (one,) = [s for s in why_cell(found, cell) if s.startswith(start)]
    return one


def test_a_borrowed_cell_says_from_whom_and_how_unsure_that_makes_it(found):
    known = found.crop.classes["all"].prediction
    assert f"it borrows the class mean, {known.mean_l_m2:.1f} L/m²" in said(found, "C03", "Index")


def test_a_forecast_cell_tells_how_long_it_grew_and_from_what(found):
    grown = said(found, "A02", f"Until {ON}")
    walked = found.crop.cells["A02"].walked
    assert f"= {walked.stand.crop_kg:.0f} kg" in grown
    assert "it grew for" in grown


def test_a_re_measured_cell_tells_forecast_survey_and_their_weights(found):
    met = said(found, "B02", f"On {AGAIN}")
    assert "its quadrats alone" in met
    assert "were forecast" in met
    growth = said(found, "B02", "Growth")
    assert "2 re-measured cells, which alone say" in growth


def test_a_checked_reader_is_told_with_the_factor(found):
    assert "3 quadrats were read again" in said(found, "A01", "Reader SW")
    assert "(mended for SW:" in said(found, "A01", "Quadrat of 2023-06-20 (drawn, plot A01-1)")
