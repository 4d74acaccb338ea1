"""Every page, wide and narrow, in both languages: it fits, can be pressed and can be heard."""

import mire_with_all as mire
import pytest
from visit import NARROW, PAGES, WIDE
from walk import OUTSIDE, walk

pytestmark = pytest.mark.draws
LOCALES = ("en-GB", "es-ES")
#: Pages whose map has a number in each cell.
_NUMBERED = {name for name, path in PAGES.items() if "number=" in path or "layer=" in path}
_NAMES = "label-content-name-mismatch"


@pytest.fixture(scope="session")
def walked(axe, visitor_of):
    """Walk over all pages once a language."""
    kept = {}

    def of(locale):
        if locale not in kept:
            visitor = visitor_of(locale)
            kept[locale] = walk(visitor, axe)
            assert visitor.broken == []
            visitor.page.context.close()
        return kept[locale]

    return of


def test_the_pages_walked_over_have_something_of_everything_on_them(look):
    seen = look()
    there = {
        "flags": ("h2#open + article", ".rulings s", "details summary", "article .map"),
        "phones": ("ul.out li", "table td", "form[action='/take']"),
        "set aside": ("table td", "form[action='/aside/again']"),
        "clip": ("a.pick[href*='clip=K7']",),
        "batch": ("a.pick[href*='from=T1']",),
        "plan": ("table td",),
        "lifts": ("table td", "input#limit_kg", "text=note as"),
        "seasons": ("table td", "input#fix"),
        "report": (".map", "table.cells", ".flag"),
    }
    for name, wanted in there.items():
        page = seen.open(PAGES[name])
        assert [one for one in wanted if page.locator(one).count() == 0] == [], name
    for state, cell in mire.STATES.items():
        assert state in seen.open(PAGES[f"{state} cell"]).inner_text(".state").replace(
            "not surveyed", "unsurveyed")
        assert seen.page.inner_text("h1").startswith(cell)


@pytest.mark.parametrize("locale", LOCALES)
def test_no_page_scrolls_sideways(walked, locale):
    assert [(one.name, one.width, one.outside) for one in walked(locale) if one.outside] == []


@pytest.mark.parametrize("locale", LOCALES)
def test_only_the_map_and_the_reports_tables_scroll_in_a_room_of_their_own(walked, locale):
    rooms = {room for one in walked(locale) for room in one.scrollers}

    assert rooms <= {"map-room", "wide", "figure"}
    assert "map-room" in rooms


@pytest.mark.parametrize("locale", LOCALES)
def test_what_is_pressed_is_high_enough(walked, locale):
    low = sorted({what for one in walked(locale) for what in one.low})

    assert low == []


@pytest.mark.parametrize("locale", LOCALES)
def test_axe_finds_nothing_against_wcag_2_2_aa(walked, locale):
    against = [(one.name, one.width, said) for one in walked(locale) for said in one.against
               if one.name not in _NUMBERED or not said.startswith(_NAMES)]

    assert against == []


def test_axe_finds_nothing_against_the_maps_numbers(walked):
    assert [one.name for one in walked("en-GB") for said in one.against
            if said.startswith(_NAMES)] == []


def test_the_pages_are_in_the_language_asked_for(walked, visitor_of):
    for locale in LOCALES:
        page = visitor_of(locale).open("/help")

        assert page.get_attribute("html", "lang") == locale[:2]
        page.context.close()


def test_axe_would_have_found_something(look, axe):
    page = look().open("/help")
    page.evaluate(axe)
    page.evaluate("document.querySelector('main').append(document.createElement('input'))")

    found = page.evaluate("axe.run().then((run) => run.violations.map((one) => one.id))")

    assert "label" in found


@pytest.fixture
def large_text(launch):
    browser = launch("--blink-settings=defaultFontSize=32,defaultFixedFontSize=26")
    yield browser
    browser.close()


def test_a_reader_who_sets_letters_twice_as_large_gets_them_and_loses_nothing(look, large_text):
    seen = look(viewport=WIDE, browser=large_text)
    for name, path in PAGES.items():
        page = seen.open(path)

        assert page.evaluate("getComputedStyle(document.body).fontSize") == "36px", name
        assert page.evaluate(OUTSIDE) == [], name


def test_something_that_does_not_fit_would_have_been_seen(look):
    page = look(viewport=NARROW).open("/help")
    page.evaluate("document.querySelector('h1').style.width = '400px'")

    assert "the page scrolls" in page.evaluate(OUTSIDE)
