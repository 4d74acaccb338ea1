"""A flag's page as somebody reads it who was not there: the figures, one wording, no names."""

import re
import shutil
import subprocess
from datetime import UTC, date, datetime, timedelta

import lxml.html
import pytest

from fieldapp.ground import sheet_of
from sync.block import Feature, Person
from sync.flags.evidence import case_of
from sync.flags.raised import RULES, flags_of
from sync.report.document import register_document
from sync.report.flag_case import case_page, case_text, folio_of
from sync.report.flag_case.figures import figure_words
from sync.report.flag_case.parts import Dossier, SheetSeen, say_chance, season_words
from sync.report.flag_case.settle import settled_by
from sync.report.sheet import ground_sheet

PICKED = date(2025, 11, 10)
EARLY = datetime(2026, 9, 7, 9, tzinfo=UTC)
MADE = EARLY - timedelta(days=9, hours=1)
ON = date(2026, 12, 1)
PEOPLE = (Person("MT", "Mona <b>T.</b>", "M.T.", "picker"),
          Person("O", "the owner", "O.", "owner"))


def stamped(at):
    return at.strftime("%Y-%m-%dT%H:%M:%S.000Z")


@pytest.fixture
def block(mire):
    closed = Feature(mire.polygon(0, 200, 100, 300), {"why": "nests <i>"},
                     date(2026, 1, 1), date(2027, 1, 1))
    return mire.mire(people=PEOPLE, closures=(closed,))


@pytest.fixture
def books(mire):
    """B02 picked early, A03 on closed ground, the outline crossed, B01 over-picked."""
    shed, p1 = mire.Book(), mire.Book("p1-aaaa")
    for cell in ("B02", "B02", "A01", "C02", "B01", "B01"):
        shed.quadrat(date(2025, 6, 20), cell, 60, (90, 110))
    shed.bags(PICKED, "B02", 100)
    shed.finished(PICKED, "B02")
    shed.bags(EARLY.date() - timedelta(days=5), "B01", 900)
    p1.note("outing", EARLY - timedelta(minutes=30), state="start", role="picker",
            sheet={"id": "0a1b2c3d", "made_at": stamped(MADE)})
    for x, y, minutes, bags in ((199, 150, 0, 2), (190, 150, 40, 3), (50, 250, 80, 4),
                                (310, 150, 120, 3)):
        p1.note("bag", EARLY + timedelta(minutes=minutes), bags=bags, where=mire.where(x, y))
    return shed, p1


def dossiers(mire, books, block, on=ON):
    register = mire.register(books, on, block)
    flags = flags_of(register)
    document = register_document(register, flags)
    then = mire.register(books[:1], MADE.date(), block)
    sheet = sheet_of(ground_sheet(then, register_document(then, ()), phone="p1", device=None,
                                  made_at=MADE, held=(), sheet_id="0a1b2c3d"))
    rows = {row["name"]: row for row in document["flags"]}
    seen = {MADE: SheetSeen(sheet)}
    return {flag.rule: Dossier(register, document, case_of(register, flag), rows[flag.name], seen,
                               {EARLY - timedelta(minutes=30): SheetSeen(sheet)})
            for flag in flags}


def text(told):
    return " ".join(case_text(folio_of(told)).split())


@pytest.fixture
def told(mire, books, block):
    return dossiers(mire, books, block)


def test_the_made_up_case_raises_the_rules_with_a_whole_story(told):
    whole = {"early_pick", "closed_ground", "outside_block", "over_pick", "stale_sheet"}
    assert whole <= set(told)


def test_an_early_pick_tells_bags_rest_sheet_and_that_the_phone_knew(told):
    said = text(told["early_pick"])
    figures = told["early_pick"].row["figures"]
    assert "Picked before rest ended: B02, season 2026/27" in said
    assert f"Expected from B02: {figures['bags']:.1f} bags, {figures['kg']:.0f} ± " in said
    assert ("Before that B02 was picked on 10 Nov 2025 (100.0 bags, 700 ± 247 kg shed-dry). The "
            "block's rule is a rest of 60 months from the last day of a pick: its rest ends on "
            "10 Nov 2030") in said
    assert f"is {figures['days_early']:,} days before its rest ends, 10 Nov 2030" in said
    assert "0a1b2c3d 29 Aug 2026 08:00 9 5 Sep 2026" in said
    assert ("p1-aaaa: the sheet of 29 Aug 2026 (past its last good day) showed B02 resting that "
            "day, rest ends 10 Nov 2030, 0 bags left. At the presses the band said RESTING for 3 "
            "bags; NEAR EDGE (two states within the fix's reach) for 2 bags. So the phone did "
            "know that B02 was resting.") in said
    assert "made again here from what the shed knew" in said
    assert "The others are expected from C02" in said


def test_a_phone_on_a_sheet_from_before_the_pick_could_not_know(mire, books, block):
    told = dossiers(mire, books, block)["early_pick"]
    old = mire.register(books[:1], date(2025, 7, 1), block)
    sheet = sheet_of(ground_sheet(old, register_document(old, ()), phone="p1", device=None,
                                  made_at=MADE, held=(), sheet_id="0a1b2c3d"))
    before = Dossier(told.register, told.document, told.case, told.row, {MADE: SheetSeen(sheet)},
                     {})
    assert "So the phone could not know: it held B02 for ready." in text(before)


def test_a_sheet_that_cannot_be_made_again_says_why(told):
    case = told["early_pick"]
    broken = Dossier(case.register, case.document, case.case, case.row,
                     {MADE: SheetSeen(None, "its clock was wrong")}, {})
    assert "this sheet cannot be made again: its clock was wrong." in text(broken)


def test_closed_ground_tells_what_closed_it_and_that_the_phone_said_so(told):
    said = text(told["closed_ground"])
    assert "Closed on the owner's map, from 1 Jan 2026 through 1 Jan 2027: nests <i>." in said
    assert "0.00 of A03's 1.00 ha were open" in said
    assert "the band said CLOSED for 4 bags. Closed there: nests <i>." in said
    assert "So the phone did say so" in said


def test_outside_tells_how_far_and_that_the_phone_said_so(told):
    said = text(told["outside_block"])
    assert "lie 10 to 10 m outside the outline" in said
    assert "the band said OUTSIDE for 3 bags" in said


def test_an_over_pick_tells_what_might_be_taken_and_what_was(told):
    said, figures = text(told["over_pick"]), told["over_pick"].row["figures"]
    assert f"{figures['may_take_kg']:,.0f} kg might be taken" in said
    assert f"{figures['over_kg']:,.0f} kg more" in said


def test_an_old_sheet_tells_what_a_new_one_would_have_told(mire, books, block):
    told = dossiers(mire, books, block)["stale_sheet"]
    assert "would have told every cell the same" in text(told)
    now = mire.register(books, EARLY.date(), mire.mire(people=PEOPLE))  # the closure is lifted
    sheet = sheet_of(ground_sheet(now, register_document(now, ()), phone="p1", device=None,
                                  made_at=EARLY, held=(), sheet_id="0a1b2c3d"))
    other = Dossier(told.register, told.document, told.case, told.row, told.sheets,
                    {EARLY - timedelta(minutes=30): SheetSeen(sheet)})
    assert "A03 unsurveyed (the old one: closed)" in text(other)


def test_rulings_stand_with_day_figures_and_whether_they_hold(mire, books, block):
    flag = dossiers(mire, books, block)["early_pick"].case.flag
    for says, seen in (("not_so", flag.seen), ("agreed", flag.seen)):
        books[0].note("ruling", ON, "O", flag=flag.name, says=says, seen=seen,
                      note="the owner <sent> them", figures={"bags": 4.8, "kg": 33})
    said = text(dossiers(mire, books, block)["early_pick"])
    assert ("O: Not so (it did not happen). A later ruling took its place. Note: The owner <sent> "
            "them. Ruled on: 4.8 bags; 33 kg.") in said
    assert "O: Agreed (it happened and was permitted). It stands." in said
    books[1].note("bag", EARLY + timedelta(minutes=200), bags=2, where=mire.where(150, 150))
    assert "it is open again" in text(dossiers(mire, books, block)["early_pick"])


def test_every_line_of_every_flag_fits_a_hundred_columns(told):
    for one in told.values():
        for line in case_text(folio_of(one)).splitlines():
            assert len(line) <= 100


def test_the_page_has_the_words_of_the_terminal_and_nothing_is_left_unescaped(told):
    for one in told.values():
        page = case_page(one, made_on=ON)
        shown = " ".join(lxml.html.fromstring(page).text_content().split())
        for section in folio_of(one).sections:
            for sentence in (*section.said, *section.after):
                assert " ".join(sentence.split()) in shown
        assert "<i>" not in page
        assert not re.search(r"https?://|url\((?!#)|@import|<script", page)


def test_people_stand_by_code_and_never_by_name(told):
    for one in told.values():
        assert "Mona" not in case_page(one)
        assert "Mona" not in case_text(folio_of(one))


def test_the_map_has_a_dot_for_each_press_and_no_track_where_none_was_kept(told):
    page = lxml.html.fromstring(case_page(told["early_pick"]))
    assert len(page.xpath("//*[@class='bag']")) == 2
    assert not page.xpath("//*[@class='trail']")


def test_the_same_case_gives_the_same_bytes(mire, books, block):
    pages = [case_page(dossiers(mire, books, block)["early_pick"], made_on=ON) for _ in range(2)]
    assert pages[0] == pages[1]


def test_every_rule_has_words_for_what_would_settle_it():
    for rule in RULES:
        assert settled_by(rule.__name__)
    assert settled_by("a_new_rule")


@pytest.mark.parametrize(("figures", "words"), [
    ({"days_early": 1044, "kg": 97}, ["days early 1,044", "97 kg"]),
    ({"kg": {"value": 2810, "low": 2700, "high": 2900}}, ["2,810 (90 % 2,700 to 2,900) kg"]),
    ({"picked_from": "2026-01-22"}, ["picked from 22 Jan 2026"]),
    ({"sheet_made_at": "2025-11-08T05:00:00.000Z"}, ["sheet made at 8 Nov 2025 05:00 UTC"]),
    ({"area_m2": None}, []), ({"lag_s": -5270400}, ["clock off by -5,270,400 s"]),
    ({"best_chance": 0.6198296}, ["best chance 0.62"]), ({"holes": [[3, 9]]}, ["holes 3, 9"]),
    ({"label": "2026-1"}, ["label 2026-1"])])
def test_a_figure_is_told_with_its_unit(figures, words):
    assert figure_words(figures) == words


def test_chances_never_round_to_what_they_are_not():
    assert [say_chance(one) for one in (0.71, 0.9951, 0.99999, 0.004)] == [
        "0.71", "0.9951", "over 0.9999", "0.0040"]
    assert season_words(1999, (7, 1)) == "1999/00"
    assert season_words(2025, (1, 1)) == "2025"


@pytest.mark.draws
@pytest.mark.parametrize("rule", ["early_pick", "over_pick", "stale_sheet", "closed_ground"])
def test_it_prints_on_one_side_of_a4(told, rule, tmp_path):
    if shutil.which("chromium") is None or shutil.which("pdfinfo") is None:
        pytest.skip("no chromium or no pdfinfo: apt-get install chromium poppler-utils")
    page, file = tmp_path / "case.html", tmp_path / "case.pdf"
    page.write_text(case_page(told[rule], made_on=ON))
    subprocess.run(["chromium", "--headless", "--no-sandbox", "--disable-gpu",
                    "--no-pdf-header-footer", f"--print-to-pdf={file}", page.as_uri()],
                   check=True, capture_output=True)
    about = subprocess.run(["pdfinfo", file], check=True, capture_output=True, text=True).stdout
    assert re.search(r"Pages:\s+1\n", about)
    assert "(A4)" in about
