"""A flag's own page at the shed: the owner's, the same as the command's, in any day's register."""

import re
from datetime import date

import pytest
from lxml import html
from running_shed import Owner, ask

ON = "2026-02-20"


@pytest.fixture
def owner(season, open_here):
    block, files = season
    block.take(files)
    here = open_here(block.folder)
    one = Owner(here)
    one.sign_in(here.code)
    one.ready()
    one.here = here
    return one


def flags_on(owner):
    return owner.here.shed.rebuilder.on(date.fromisoformat(ON)).document["flags"]


def test_every_flag_leads_to_its_page_and_back(owner):
    page = html.fromstring(owner.ready(f"/flags?on={ON}").text)
    links = [link.get("href") for link in page.cssselect("article a")
             if "/page" in link.get("href")]
    assert len(links) == len(flags_on(owner)) > 0
    for link in links:
        answer = owner.get(link)
        assert answer.status == 200
        shown = html.fromstring(answer.text)
        (back,) = shown.cssselect("main a.pick")
        assert back.get("href").startswith(f"/flags?on={ON}#flag-")


def test_it_says_what_the_command_says(owner):
    flag = next(one for one in flags_on(owner) if one["rule"] == "stale_sheet")
    said = " ".join(html.fromstring(
        owner.get(f"/flags/{flag['name']}/page?on={ON}").text).text_content().split())
    assert flag["why"][1:] in said
    assert "What the phones carried" in said
    assert "The owner rules: upheld" in said or "the owner rules: upheld" in said


def test_it_is_saved_as_one_file_without_names_or_anything_from_elsewhere(owner):
    flag = flags_on(owner)[0]
    answer = owner.get(f"/flags/{flag['name']}/page.html?on={ON}")
    assert "attachment" in answer.heads["Content-Disposition"]
    assert answer.text.startswith("<!doctype html>")
    assert not re.search(r"https?://", answer.text)
    assert "M. T." not in answer.text


@pytest.mark.parametrize("leaf", ["page", "page.html"])
@pytest.mark.parametrize("name", ["early_pick:Z99:1999", "..%2f..%2fkeys", "%3Cb%3E", "a/b/c"])
def test_a_flag_that_is_not_there_is_told_plainly(owner, name, leaf):
    answer = owner.get(f"/flags/{name}/{leaf}?on={ON}")
    assert answer.status == 404
    assert "There is no such flag any more" in answer.text
    assert "<b>" not in answer.text


def test_a_stranger_is_sent_to_sign_in(owner):
    flag = flags_on(owner)[0]
    for leaf in ("page", "page.html"):
        answer = ask(owner.here.port, "GET", f"/flags/{flag['name']}/{leaf}?on={ON}")
        assert (answer.status, answer.heads["Location"]) == (303, "/sign-in")


def test_its_frame_speaks_spanish(owner):
    owner.post("/language", page="/help", language="es", back="/flags")
    assert "Todo lo que hay que decir de él, en una página" in owner.get(f"/flags?on={ON}").text
