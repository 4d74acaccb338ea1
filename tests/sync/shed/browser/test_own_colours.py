"""A reader's own colours and contrast: each state of the map is still told from the others.

The key's swatches are compared as they are drawn, point by point.
"""

import itertools

import pytest
from visit import ON

pytestmark = pytest.mark.draws
WAYS = {
    "as it is": {},
    "forced colours": {"forced_colors": "active"},
    "forced colours, dark": {"forced_colors": "active", "color_scheme": "dark"},
    "more contrast": {"contrast": "more"},
    "dark": {"color_scheme": "dark"},
}
STATES = ("ready", "taken", "resting", "not surveyed", "closed")


@pytest.mark.parametrize("way", WAYS.values(), ids=WAYS.keys())
def test_no_two_states_look_alike(look, way):
    page = look(**way).open(f"/block?{ON}")
    rows = page.locator("table.key tr").all()
    drawn = {row.locator("th").inner_text(): row.locator("svg").screenshot() for row in rows}

    assert set(STATES) < set(drawn)
    for one, other in itertools.combinations(STATES, 2):
        assert drawn[one] != drawn[other], (one, other)


@pytest.mark.parametrize("way", WAYS.values(), ids=WAYS.keys())
def test_names_on_the_map_stand_out_from_what_is_behind_them(look, way):
    page = look(**way).open(f"/block?{ON}")

    for cell, said in {"A01": "taken", "B02": "resting", "C02": "closed", "C03": "unsurveyed"
                       }.items():
        ink, plate = page.evaluate("""(cell) => {
          const link = document.querySelector(`#map-room [data-cell=${cell}]`);
          const fill = (node) => node && getComputedStyle(node).fill;
          return [fill(link.querySelector("text.name")), fill(link.querySelector("rect.fill"))];
        }""", cell)
        assert contrast(ink, plate) >= 4.5, (cell, said, ink, plate)


def contrast(one, other):
    """Give the ratio of two colours (W3C, WCAG 2.2, "contrast ratio")."""
    bright, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (bright + 0.05) / (dark + 0.05)


def luminance(colour):
    parts = [int(part) / 255 for part in colour[colour.index("(") + 1:-1].split(",")[:3]]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return sum(weight * p for weight, p in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def test_the_page_one_is_on_is_marked_where_backgrounds_are_gone(look):
    page = look(forced_colors="active").open(f"/block?{ON}")

    border = page.evaluate(
        "getComputedStyle(document.querySelector('nav [aria-current]')).borderTopWidth")

    assert border == "2px"
