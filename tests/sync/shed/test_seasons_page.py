"""SEASONS on the page Plan: asked for by the form, worked out, shown, and in the report."""

import signal
from datetime import date

import pytest
from lxml import html
from running_shed import Owner

from sync.plan.wishes import Wishes
from sync.shed.seasons_desk import SeasonsDesk

ON = "2026-02-20"


@pytest.fixture
def owner(season, open_here):
    made, files = season
    made.take(files)
    here = open_here(made.folder)
    one = Owner(here)
    one.sign_in(here.code)
    one.ready()
    one.here = here
    return one


def ask(owner, **typed):
    fields = {"years": "4", "even": "", "at_least": "", "least_kg": "100", "fix": "",
              "never": "", **typed}
    return owner.post(f"/plan/seasons?on={ON}", page=f"/plan?on={ON}", **fields)


def look(owner, path="/plan"):
    owner.here.shed.seasons.wait(most_s=30.0)
    return html.fromstring(owner.ready(f"{path}?on={ON}").text)


def said(page):
    return " ".join(page.cssselect("main")[0].text_content().split())


def rows(page):
    (table,) = [one for one in page.cssselect("table.cards")
                if "by cell and season" in one.cssselect("caption")[0].text_content()]
    return {row.cssselect("th")[0].text_content().strip(): [
        box.text_content().strip() for box in row.cssselect("td")]
        for row in table.cssselect("tbody tr")}


def test_nothing_is_worked_out_before_it_is_asked_for(owner):
    page = look(owner)

    assert "say below what you wish" in said(page)
    assert [one.get("value") for one in page.cssselect("input#years")] == ["5"]


def test_the_form_has_the_seasons_worked_out_and_the_page_shows_them(owner):
    answer = ask(owner, never="B01", no_neighbours="1")

    assert (answer.status, answer.heads["Location"]) == (303, f"/plan?on={ON}#seasons")
    page = look(owner)
    found = rows(page)
    plan = owner.here.shed.seasons.state().made.plan
    assert plan.wishes == Wishes(4, no_neighbours=True, never=("B01",))
    cells = [name for name in found if name[1:].isdigit()]
    assert sorted(cells) == sorted({pick.cell for pick in plan.picks})
    assert "B01" not in cells
    assert len(found["sum, t"]) == 5
    assert "Never: B01." in said(page)
    assert f"/cell/{cells[0]}?on={ON}" in [one.get("href") for one in page.cssselect("td a, th a")]
    assert page.cssselect("input#never")[0].get("value") == "B01"
    assert rows(look(owner, "/plan/seasons")) == found


@pytest.mark.parametrize(("language", "told"), [
    ("en", "another run may give another plan, none better than this by more than"),
    ("es", "otro cálculo puede dar otro plan, ninguno mejor que este en más de un")])
def test_2026_11_28_a_plan_searched_in_turns_says_that_the_next_may_differ(
    owner, monkeypatch, language, told
):
    ask(owner)
    assert told not in said(look(owner, "/plan/seasons"))

    monkeypatch.setattr("sync.plan.solve._FEW_COLUMNS", 0)
    ask(owner)
    look(owner)
    made = owner.here.shed.seasons.state().made.plan
    owner.post("/language", page="/plan", language=language)
    text = said(look(owner, "/plan/seasons"))
    assert made.in_turns
    assert f"{told} {100.0 * made.gap:.1f}".replace(".", "," if language == "es" else ".") in text


def test_a_clash_is_told_on_the_page(owner):
    ask(owner, at_least="900")

    text = said(look(owner))
    assert "No plan keeps all these rules." in text
    assert "if less were asked of a season" in text


@pytest.mark.parametrize(("typed", "told"), [
    ({"years": "0"}, "a whole number from 1 to 30"), ({"even": "x"}, "“x” is no number."),
    ({"fix": "C7"}, "“C7” is no cell and season"), ({"fix": "Z99=2026"}, "no such cell"),
    ({"fix": "A01=1999"}, "the plan's seasons are"), ({"years": "nan"}, "from 1 to 30"),
    ({"at_least": "inf"}, "at-least"), ({"never": "<b>"}, "“<B>” is no cell."),
])
def test_what_makes_no_sense_is_told_and_stays_in_the_form(owner, typed, told):
    answer = ask(owner, **typed)
    page = html.fromstring(answer.text)

    assert answer.status == 422
    assert told in said(page)
    for name, value in typed.items():
        assert page.cssselect(f"input[name={name}]")[0].get("value") == value
    assert owner.here.shed.seasons.state().made is None


def test_the_report_has_the_seasons_once_they_are_worked_out(owner):
    assert 'id="seasons"' not in owner.ready(f"/report?on={ON}").text
    ask(owner)
    owner.here.shed.seasons.wait(most_s=30.0)

    page = html.fromstring(owner.ready(f"/report?on={ON}").text)
    assert page.cssselect("h2#seasons")
    assert "seasons 2025 to 2028" in said(page)


def test_of_wishes_sent_while_one_is_worked_out_the_last_is_kept(owner):
    view = owner.here.shed.rebuilder.on(date.fromisoformat(ON))
    desk = SeasonsDesk(lambda: 0.0)
    for years in (5, 4, 3, 2):
        desk.ask(view, Wishes(years))

    state = desk.wait(most_s=60.0)
    assert state.busy is None
    assert state.made.plan.wishes == Wishes(2)


#: HiGHS prints some lines past its options, on blocks too large for a test: this always does.
CHATTER = """
import os, uvicorn
serves = uvicorn.Server.run
def chatters(server, **given):
    os.write(1, b"chatter")
    serves(server, **given)
uvicorn.Server.run = chatters
"""


def test_2026_11_28_what_a_library_prints_does_not_reach_the_sheds_stdout(small, open_shed):
    shed = open_shed(small().folder, before=CHATTER)

    shed.process.send_signal(signal.SIGINT)
    assert shed.process.stdout.read() == b""
    assert "chatter" not in shed.log
