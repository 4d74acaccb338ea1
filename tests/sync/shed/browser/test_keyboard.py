"""Without a mouse: every step by keys alone, and where one is can be seen at every step."""

import mire_with_all as mire
import pytest
import small_blocks
from visit import NARROW, ON, WIDE

pytestmark = pytest.mark.draws
#: More presses than any page has stops.
_MOST = 120
#: Where a link leads to within a page; it is no stop, and what is there is seen anyway.
_LED_TO = {"BODY", "MAIN", "ARTICLE", "H2"}
_HERE = """() => {
  const node = document.activeElement, box = node.getBoundingClientRect();
  const look = getComputedStyle(node);
  const at = document.elementFromPoint(
    Math.min(Math.max(box.left + box.width / 2, 1), innerWidth - 1),
    Math.min(Math.max(box.top + box.height / 2, 1), innerHeight - 1));
  return {
    tag: node.tagName, id: node.id, name: node.getAttribute("name") || "",
    said: (node.getAttribute("aria-label") || node.textContent).trim().slice(0, 60),
    box: [box.left, box.top], width: box.width, height: box.height,
    inside: box.left >= -1 && box.right <= innerWidth + 1
      && (box.top >= -1 || box.height > innerHeight / 2)
      && (box.bottom <= innerHeight + 1 || box.height > innerHeight / 2),
    covered: !(at && (node.contains(at) || at.contains(node) || at.closest("label"))),
    outline: look.outlineStyle === "solid" ? parseFloat(look.outlineWidth) : 0,
  };
}"""


def here(page):
    return page.evaluate(_HERE)


def press(page, key):
    """Press a key; whatever has the focus then is seen to have it."""
    page.keyboard.press(key)
    now = here(page)
    if now["tag"] not in _LED_TO:
        assert now["width"] > 0, now
        assert now["height"] > 0, now
        assert now["inside"], str(now)
        assert not now["covered"], now
        assert now["outline"] >= 2, now
    return now


def tab_to(page, wanted, key="Tab"):
    """Press Tab until what has the focus is wanted."""
    for _ in range(_MOST):
        now = press(page, key)
        if wanted(now):
            return now
    raise AssertionError("never came there")


@pytest.fixture
def shed(open_shed, tmp_path):
    mire.make(tmp_path / "block", small_blocks)
    return open_shed(tmp_path / "block")


def test_from_sign_in_to_a_ruling_by_keys_alone(shed, windows):
    owner = windows(shed)
    page = owner.page
    page.goto("/sign-in")
    tab_to(page, lambda now: now["id"] == "code")
    page.keyboard.type(shed.code)
    page.keyboard.press("Enter")
    page.wait_for_url("**/block*")
    owner.settled()

    tab_to(page, lambda now: now["said"].startswith("Flags"))
    page.keyboard.press("Enter")
    page.wait_for_url("**/flags*")
    tab_to(page, lambda now: now["name"] == "note")
    page.keyboard.type("the pickers said so")
    tab_to(page, lambda now: now["said"] == "Agreed")
    tab_to(page, lambda now: now["said"] == "Upheld", key="Shift+Tab")
    page.keyboard.press("Space")
    page.wait_for_url("**said=**")

    decided = page.locator("h2#decided ~ article").inner_text()
    assert "Picked before rest ended" in decided
    assert "Upheld" in decided
    assert "the pickers said so" in decided


def test_the_first_stop_skips_to_the_content(look):
    page = look().open(f"/block?{ON}")

    first = press(page, "Tab")
    assert first["said"] == "Skip to content"
    press(page, "Enter")

    assert here(page)["tag"] == "MAIN"
    assert press(page, "Tab")["name"] == "layer"


@pytest.mark.parametrize("size", [WIDE, NARROW], ids=["1280 px", "320 px"])
@pytest.mark.parametrize("path", [
    f"/block?{ON}&number=kg&size=cells", f"/flags?{ON}", "/phones", f"/report?{ON}"])
def test_every_stop_of_a_page_is_seen(look, path, size):
    page = look(viewport=size).open(path)

    last = tab_to(page, lambda now: now["said"] == "Sign out")

    assert last["tag"] == "BUTTON"


def to_the_map(page):
    return tab_to(page, lambda now: now["id"].startswith("map-A01"))


def told(page):
    return page.inner_text("#about-cell")


def test_arrow_keys_go_from_cell_to_cell_and_the_line_below_tells_of_it(look):
    page = look().open(f"/block?{ON}")
    to_the_map(page)

    steps = []
    for key in ("ArrowRight", "ArrowUp", "ArrowUp", "ArrowRight", "ArrowDown", "ArrowLeft"):
        now = press(page, key)
        steps.append(now["said"].split(",")[0])
        assert told(page) == page.evaluate(
            "document.activeElement.getAttribute('aria-label')")

    assert steps == ["B01", "B02", "B03", "C03", "C02", "B02"]
    assert told(page).startswith("B02, resting until 11 Nov 2029, 0 kg may be taken")
    assert page.get_attribute("#about-cell", "role") == "status"


def test_an_arrow_off_the_edge_stays_on_the_cell(look):
    page = look().open(f"/block?{ON}")
    to_the_map(page)

    assert press(page, "ArrowLeft")["said"].startswith("A01")
    assert press(page, "ArrowDown")["said"].startswith("A01")


def test_enter_opens_the_cell(look):
    page = look().open(f"/block?{ON}")
    to_the_map(page)
    press(page, "ArrowRight")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/cell/B01?{ON}")

    assert page.inner_text("h1").startswith("B01")


def test_the_map_is_one_stop(look):
    page = look().open(f"/block?{ON}")
    to_the_map(page)
    press(page, "ArrowUp")

    assert press(page, "Tab")["id"] == "state"
    assert press(page, "Shift+Tab")["said"].startswith("A02")


def test_without_scripts_every_cell_is_a_stop_and_a_link_leads_past_the_map(look):
    page = look(java_script_enabled=False).open(f"/block?{ON}")
    tab_to(page, lambda now: now["said"] == "Skip the map")
    assert press(page, "Tab")["id"] == "map-room"
    cells = [press(page, "Tab")["said"].split(",")[0] for _ in mire.CELLS]
    page.goto(f"/block?{ON}")
    tab_to(page, lambda now: now["said"] == "Skip the map")
    press(page, "Enter")

    assert sorted(cells) == sorted(mire.CELLS)
    assert press(page, "Tab")["id"] == "state"
