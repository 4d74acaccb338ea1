"""One walk over all pages: what does not fit, what is too small to press, what axe says.

Rule 1: a page is opened once for all that is looked at on it.
"""

import dataclasses
from collections.abc import Callable, Iterator
from typing import Any

from visit import NARROW, PAGES, WIDE, Visitor, with_mistakes

#: WCAG 2.2, levels A and AA, as axe-core names them.
TAGS = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa")
_AXE = """async (tags) => {
  const found = await axe.run(document, {
    runOnly: {type: "tag", values: tags}, resultTypes: ["violations"]});
  return found.violations.map((one) => `${one.id}: ${one.nodes[0].html.slice(0, 200)}`);
}"""
#: What reaches out of the window and lies in no scroller of its own.
OUTSIDE = """() => {
  const wide = document.scrollingElement.clientWidth;
  const scrolls = (node) => node && node !== document.body
    && (/auto|scroll|hidden/.test(getComputedStyle(node).overflowX)
      || scrolls(node.parentElement));
  const out = [...document.querySelectorAll("body *")].filter((node) => {
    const box = node.getBoundingClientRect();
    return box.width > 0 && box.right > wide + 0.5 && !scrolls(node)
      && !node.closest(".unseen, .skip");
  }).map((node) => `${node.tagName} ${node.textContent.trim().slice(0, 40)}`);
  if (document.scrollingElement.scrollWidth > innerWidth) out.push("the page scrolls");
  return out;
}"""
_SCROLLERS = """() => [...document.querySelectorAll("main *")]
  .filter((node) => node.scrollWidth > node.clientWidth + 1
    && /auto|scroll/.test(getComputedStyle(node).overflowX))
  .map((node) => node.className.split(" ")[0])"""
#: What is pressed and lower than it should be: 44 px, in a table 32; not in a sentence or the map.
_LOW = """() => [...document.querySelectorAll(
    "button, .button, select, summary, label.pick, a, input:not([type=radio], [type=checkbox])")]
  .filter((node) => {
    const box = node.getBoundingClientRect();
    if (box.height === 0 || node.type === "hidden" || node.closest("svg, .skip")) return false;
    const plain = node.tagName === "A" && !node.matches(".button, .pick, nav a, footer a");
    if (plain && node.closest("td, th")) return box.height < 32;
    const around = node.parentElement.textContent.trim() !== node.textContent.trim();
    return plain && around ? false : box.height < (node.closest("td, th") ? 32 : 44);
  }).map((node) => `${node.tagName} ${(node.textContent || node.id).trim().slice(0, 40)} `
    + node.getBoundingClientRect().height)"""


@dataclasses.dataclass(frozen=True)
class Seen:
    """What was seen of one page at one width: all but `scrollers` should be empty."""

    name: str
    width: int
    outside: list[str]
    scrollers: list[str]
    low: list[str]
    against: list[str]


def walk(visitor: Visitor, axe: str, *, forms: bool = True) -> list[Seen]:
    """Open every page, at 1280 and 320 px, and tell what was seen."""
    seen: list[Seen] = []
    for name, opened in _all(visitor, forms=forms):
        opened()
        visitor.page.evaluate(axe)
        seen.extend(_looked(visitor, name, size) for size in (WIDE, NARROW))
        visitor.page.set_viewport_size(WIDE)
    return seen


def _all(visitor: Visitor, *, forms: bool) -> Iterator[tuple[str, Callable[[], Any]]]:
    for name, path in PAGES.items():
        yield name, lambda path=path: visitor.open(path)
    if forms:
        yield from with_mistakes(visitor)


def _looked(visitor: Visitor, name: str, size: Any) -> Seen:
    page = visitor.page
    page.set_viewport_size(size)
    return Seen(name, size["width"], page.evaluate(OUTSIDE), page.evaluate(_SCROLLERS),
                page.evaluate(_LOW), page.evaluate(_AXE, list(TAGS)))
