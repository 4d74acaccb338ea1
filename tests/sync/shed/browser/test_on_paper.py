"""What is printed from the browser: A4, the block's name, every cell, nothing of the screen's."""

import re
import shutil
import subprocess

import mire_with_all as mire
import pytest
from visit import ON

pytestmark = pytest.mark.draws


@pytest.fixture
def printed(look, tmp_path, cannot):
    if shutil.which("pdftotext") is None:
        cannot("no pdftotext: apt-get install poppler-utils")

    def of(path, **context):
        file = tmp_path / "printed.pdf"
        look(**context).open(path).pdf(path=file, prefer_css_page_size=True)
        return read("pdftotext", "-layout", file, "-"), read("pdfinfo", file)
    return of


def read(*words):
    return subprocess.run(words, capture_output=True, check=True, text=True).stdout


@pytest.mark.parametrize("path", [f"/report?{ON}", f"/block?{ON}"])
@pytest.mark.parametrize("scripts", [True, False], ids=["scripts on", "scripts off"])
def test_the_print_is_a4_with_the_blocks_name_and_every_cell(printed, path, scripts):
    text, about = printed(path, java_script_enabled=scripts)

    assert re.search(r"Page size:\s+59[45][.\d]* x 84[12][.\d]* pts \(A4\)", about)
    assert mire.NAME in text
    assert [cell for cell in mire.CELLS if not re.search(rf"^\s*{cell}\b", text, re.M)] == []


def test_nothing_to_press_is_printed(printed):
    for path in (f"/report?{ON}", f"/block?{ON}"):
        text, _ = printed(path)

        for word in ("Show", "Sign out", "Español", "Save as one file", "Print", "Skip"):
            assert not re.search(rf"\b{word}\b", text), (path, word)


def test_a_table_stays_a_table_on_paper(printed):
    text, _ = printed(f"/block?{ON}")

    (line,) = re.findall(r"^ *B01 .*$", text, re.M)
    assert re.search(r"ready +all +1\.00 +[\d.]+ \([\d.]+–[\d.]+\) +[\d,]+ +[\d,]+", line), line


def test_lifts_are_printed_alone_a_line_each_with_the_safety_above(printed):
    text, about = printed(f"/plan/lifts?{ON}&limit_kg=620")

    assert "(A4)" in about
    lines = re.findall(r"^ *[12] +☐ +L0220-[12] +T1 .*$", text, re.M)
    assert len(lines) == 2, text
    assert text.index("the pilot decides") < text.index(lines[0])
    for word in ("Show", "Print", "Sign out"):
        assert not re.search(rf"\b{word}\b", text), word


def test_a_return_is_printed_with_its_map_and_without_the_button_that_files_it(printed):
    text, about = printed("/report/return?permit=TM-1&year=2025")

    assert "(A4)" in about
    assert "Return under TM-1, 1 Sep 2025 to 31 Aug 2026" in text
    assert "A double border marks a cell that was picked" in text
    for word in ("Write down", "Filing", "Print", "Sign out"):
        assert not re.search(rf"\b{word}\b", text), word
