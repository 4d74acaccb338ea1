"""The return to the authority at the shed: as the command makes it, and its filing by a press."""

import json
from datetime import UTC, datetime

import pytest
from lxml import html
from running_shed import Owner

PERMITS = """
[[permit]]
permit = "TM/1 & Co"
year_start = "09-01"
cap = 1000
cap_unit = "kg_dry"
"""
ON = "2026-02-20"
PERMIT = "permit=TM%2F1+%26+Co&year=2025"


@pytest.fixture
def owner(small, season, open_here):
    block, files = season
    (block.folder / "permits.toml").write_text(PERMITS)
    block.take({"a.handover.zip": files["a.handover.zip"]})
    here = open_here(block.folder)
    one = Owner(here)
    one.sign_in(here.code)
    one.ready()
    one.here, one.block, one.files = here, block, files
    return one


def read(owner, path):
    return html.fromstring(owner.ready(path).text)


def said(page):
    return " ".join(page.cssselect("main")[0].text_content().split())


def test_the_report_leads_to_the_returns_of_each_year_with_bags(owner):
    page = read(owner, f"/report?on={ON}")
    links = [(one.text_content(), one.get("href")) for one in page.cssselect("a.pick")
             if "/report/return" in one.get("href")]
    assert links == [("TM/1 & Co, year from 1 Sep 2025", f"/report/return?{PERMIT}&on={ON}")]
    assert "Return under TM/1 & Co, 1 Sep 2025 to 31 Aug 2026" in said(read(owner, links[0][1]))


def test_it_is_what_the_command_writes_and_is_kept_as_one_file(owner):
    page = read(owner, f"/report/return?{PERMIT}&on={ON}")
    answer = owner.get(f"/report/return.html?{PERMIT}&on={ON}")
    alone = html.fromstring(answer.text)
    assert "attachment" in answer.heads["Content-Disposition"]
    told, kept = (one.cssselect("section.return")[0].text_content() for one in (page, alone))
    assert told == kept
    assert "No return of this year is on record as filed." in told
    assert not page.cssselect("main form[method=post]"), "of another day nothing is filed"


@pytest.mark.parametrize("query", [
    "", "permit=TM%2F1+%26+Co", "permit=TM%2F1+%26+Co&year=1900", "permit=x&year=2025",
    "permit=TM%2F1+%26+Co&year=%C2%B2"])
def test_a_return_that_is_none_is_told_so(owner, query):
    for path in ("/report/return", "/report/return.html"):
        answer = owner.get(f"{path}?{query}&on={ON}")
        assert answer.status == 404
        assert "There is no such return" in answer.text


def press(owner):
    path = f"/report/return?{PERMIT}"
    return owner.post(path, page=path, by="O")


def test_a_press_writes_down_that_it_was_filed_and_later_bags_show_beside_it(owner):
    answer = press(owner)
    assert answer.status == 303
    page = read(owner, answer.heads["Location"])
    assert "Written down as filed: shed:1. A copy is in the folder reports." in said(page)
    assert "What was taken is what was filed" in said(page)
    (copy,) = (owner.block.folder / "reports").iterdir()
    (filed,) = json.loads(copy.read_text())["returns"]
    assert filed["permit"]["permit"] == "TM/1 & Co"

    answer = press(owner)
    page = read(owner, answer.heads["Location"])
    assert "Filed already with the same figures, as shed:1." in said(page)
    assert len(list((owner.block.folder / "reports").iterdir())) == 1

    owner.block.take({"b.handover.zip": owner.files["b.handover.zip"]}, datetime.now(UTC))
    owner.post("/compute", page="/block", back="/block")
    page = read(owner, f"/report/return?{PERMIT}")
    assert "no longer the same." in said(page)
    assert "Written down" not in said(read(owner, f"/report/return?{PERMIT}&said=p1-aaaa:1"))


def test_without_a_permit_the_report_has_no_returns(season, open_here):
    block, files = season
    block.take(files)
    here = open_here(block.folder)
    one = Owner(here)
    one.sign_in(here.code)
    one.ready()
    assert "Returns to the authority" not in one.ready(f"/report?on={ON}").text


@pytest.mark.parametrize("day", ["0001-01-01", "1899-12-31", "9999-12-31"])
def test_2026_11_28_a_day_at_the_calendar_s_end_shows_today_and_fails_no_page(owner, day):
    """The links to the returns of its permit years asked for a year 0."""
    answer = owner.get(f"/report?on={day}")

    assert answer.status == 200
    assert f"“{day}” is no day such as" in answer.text


def test_2026_11_28_a_return_filed_by_a_code_of_no_owner_is_refused_not_anothers(owner):
    path = f"/report/return?{PERMIT}"
    answer = owner.post(path, page=path, by="ZZ")

    assert answer.status == 409
    assert "people.toml has no owner of the code ZZ" in answer.text
    assert "No return of this year is on record as filed." in said(read(owner, path))
