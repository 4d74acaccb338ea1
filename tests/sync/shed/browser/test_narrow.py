"""320 px wide, and text at twice its size: nothing is cut off, nothing scrolls sideways."""

import pytest
from visit import NARROW, PAGES, WIDE, with_mistakes

pytestmark = pytest.mark.draws

#: What lies outside the window and in no scroller of its own, as text.
_OUT = """() => {
  const wide = document.scrollingElement.clientWidth;
  const scrolls = (node) => node && node !== document.body
    && (/auto|scroll|hidden/.test(getComputedStyle(node).overflowX) || scrolls(node.parentElement));
  return [...document.querySelectorAll("body *")].filter((node) => {
    const box = node.getBoundingClientRect();
    return box.width > 0 && box.right > wide + 0.5 && !scrolls(node)
      && !node.closest(".unseen, .skip");
  }).map((node) => `${node.tagName} ${node.textContent.trim().slice(0, 40)}`);
}"""
_SCROLLERS = """() => [...document.querySelectorAll("main *")]
  .filter((node) => node.scrollWidth > node.clientWidth + 1
    && /auto|scroll/.test(getComputedStyle(node).overflowX))
  .map((node) => node.className)"""


def widths(page):
    return page.evaluate("[document.scrollingElement.scrollWidth, innerWidth]")


def fits(page):
    across, room = widths(page)
    assert across <= room, page.evaluate(_OUT)
    assert page.evaluate(_OUT) == []


@pytest.mark.parametrize("locale", ["en-GB", "es-ES"])
def test_no_page_scrolls_sideways_at_320_px(look, locale):
    seen = look(viewport=NARROW, locale=locale)
    for name, path in PAGES.items():
        page = seen.open(path)
        assert widths(page)[1] == 320, name
        fits(page)
        for scroller in page.evaluate(_SCROLLERS):
            assert scroller.split()[0] in {"map-room", "wide", "figure"}, (name, scroller)


def test_no_page_that_a_form_opens_scrolls_sideways_at_320_px(look):
    seen = look(viewport=NARROW)
    for _, opened in with_mistakes(seen):
        opened()
        fits(seen.page)


@pytest.fixture
def large_text(launch):
    browser = launch("--blink-settings=defaultFontSize=32,defaultFixedFontSize=26")
    yield browser
    browser.close()


def test_a_reader_who_sets_letters_twice_as_large_gets_them_and_loses_nothing(look, large_text):
    seen = look(viewport=WIDE, browser=large_text)
    for path in PAGES.values():
        page = seen.open(path)
        assert page.evaluate("getComputedStyle(document.body).fontSize") == "36px"
        fits(page)
