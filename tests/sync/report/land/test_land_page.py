"""The page for a council, read as one: plain, whole, one side, and nothing promised."""

import dataclasses
import re
import shutil
import subprocess
from datetime import date, timedelta

import lxml.html
import pytest

from sync.block import Permit
from sync.flags.raised import flags_of
from sync.register.land import land_of
from sync.report.document import register_document
from sync.report.land import Rates, land_page
from sync.report.land.money import earning

ON = date(2026, 12, 1)
PICKED = date(2025, 11, 10)
PERMIT = Permit("X-1", (), None, None, (9, 1), 300.0, "kg_dry", None, None, None, None, None)
RATES = Rates("NZD", 30.0, 9.0)


@pytest.fixture
def book(mire):
    book = mire.Book()
    for cell in ("A01", "A02", "B01", "B02"):
        for _ in range(2):
            book.quadrat(date(2025, 6, 20), cell, scrub_pct=12, water_table_mm=-130)
    book.bags(PICKED, "A01", 120, **{"for": "MT"})
    book.finished(PICKED, "A01")
    return book


def page(mire, book, rates=None, **changes):
    register = mire.register(book, ON, mire.mire(**changes))
    document = register_document(register, flags_of(register))
    return land_page(register, document, [], rates=rates, made_on=ON), register, document


def text(mire, book, rates=None, **changes):
    told = page(mire, book, rates, **changes)[0]
    return " ".join(lxml.html.fromstring(told).text_content().split())


def test_the_yearly_tonnes_stand_with_their_range_by_block_and_hectare(mire, book):
    _, register, _ = page(mire, book)
    run = land_of(register).yearly
    said = text(mire, book)
    ha = run.open_m2 / 1e4
    assert (f"{run.kg / 1000:.1f} t (between {run.low_kg / 1000:.1f} and "
            f"{run.high_kg / 1000:.1f}) a year") in said
    assert f"{run.kg / ha:,.0f} kg a hectare of open ground" in said


def test_without_a_price_it_names_what_is_missing_and_guesses_nothing(mire, book):
    said = text(mire, book)
    assert "no price is guessed" in said
    assert "sell_per_kg, picking_per_kg" in said
    assert "picking_per_kg (block.toml" in text(mire, book, Rates("NZD", 30.0, None))


def test_with_them_it_says_sales_and_what_is_left_after_picking(mire, book):
    _, register, _ = page(mire, book)
    run = land_of(register).yearly
    said = text(mire, book, RATES)
    assert f"NZD {30 * run.kg:,.0f} (between {30 * run.low_kg:,.0f}" in said
    assert f"NZD {21 * run.kg:,.0f} (between {21 * run.low_kg:,.0f}" in said


def test_a_permits_cap_holds_what_may_be_earned_and_the_days_of_work(mire, book):
    said = text(mire, book, RATES, permits=(PERMIT,))
    assert "NZD 9,000 a year of sales, of what the permit allows (0.3 t)" in said
    assert "so 0 days a year for what the permit allows" in said
    in_bags = dataclasses.replace(PERMIT, cap_unit="bags")
    assert "of the long-run tonnes" in text(mire, book, RATES, permits=(in_bags,))


def test_a_kg_that_costs_more_than_it_brings_is_told_as_a_loss():
    found = earning((100.0, 50.0, 200.0), Rates("", 5.0, 8.0))
    assert found.sales == (500.0, 250.0, 1000.0)
    assert found.after_picking == (-300.0, -600.0, -150.0)
    assert earning((1.0, 1.0, 1.0), Rates("", None, 8.0)) is None


def test_rest_water_scrub_and_what_was_never_touched_are_told(mire, book):
    said = text(mire, book)
    assert "1 pick of a cell since records began; 1 cells (1.0 ha) rest today" in said
    assert "No pick is known to have come before a rest ended." in said
    assert "130 mm below the moss surface (median of 4 cells" in said
    assert "Scrub covers 12 % of the ground (median of 4 cells" in said
    assert "Nowhere flagged as drying" in said
    assert "8.0 ha (89 %) of the open ground" in said
    assert "On 5.0 ha (56 %) there is neither a pick nor a quadrat" in said


def test_an_early_pick_stands_on_it_with_its_ruling(mire, book):
    book.bags(PICKED + timedelta(days=300), "A01", 12, **{"for": "MT"})
    said = text(mire, book)
    assert "Before a rest ended: 1. A01 on 6 Sep 2026, 12 bags, 1,526 days early (sure;" in said
    assert "the owner has not ruled yet" in said
    register = mire.register(book, ON)
    flag = next(one for one in flags_of(register) if one.rule == "early_pick")
    book.note("ruling", ON, "O", flag=flag.name, says="upheld", seen=flag.seen)
    assert "ruled: it happened and was wrong" in text(mire, book)


def test_an_empty_block_says_not_known_and_never_nought(mire):
    said = text(mire, mire.Book())
    assert "Not known yet: no quadrat has been laid" in said
    assert "Not known yet: no bag has been tallied" in said
    assert "Nothing has been picked that anybody noted." in said
    assert "No water table was read." in said


def test_names_are_escaped_and_nothing_comes_from_elsewhere(mire, book):
    told, _, _ = page(mire, book, name="<b>Mire</b>")
    assert "<b>Mire" not in told
    assert not re.search(r"https?://|url\((?!#)|@import|<script", told)


@pytest.mark.draws
@pytest.mark.parametrize("empty", [True, False], ids=["empty", "picked"])
def test_it_prints_on_one_side_of_a4(mire, book, tmp_path, empty):
    if shutil.which("chromium") is None or shutil.which("pdfinfo") is None:
        pytest.skip("no chromium or no pdfinfo: apt-get install chromium poppler-utils")
    html, file = tmp_path / "land.html", tmp_path / "land.pdf"
    html.write_text(page(mire, mire.Book() if empty else book, RATES, permits=(PERMIT,))[0])
    subprocess.run(["chromium", "--headless", "--no-sandbox", "--disable-gpu",
                    "--no-pdf-header-footer", f"--print-to-pdf={file}", html.as_uri()],
                   check=True, capture_output=True)
    about = subprocess.run(["pdfinfo", file], check=True, capture_output=True, text=True).stdout
    assert re.search(r"Pages:\s+1\n", about)
    assert "(A4)" in about
