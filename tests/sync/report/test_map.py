"""The map: shapes, looks, words and links, as an SVG that a strict reader takes."""

import copy
import math
import re
from datetime import date

import pytest
from lxml import etree

from fieldapp.ground.patterns import LOOKS, PITCH_DP, dots
from sync.errors import FallowError
from sync.report.map import MAP_CSS, block_map, cell_map, map_key
from sync.report.map_looks import STATES, ink_of
from sync.report.map_signs import north_deg, round_length_m
from sync.report.map_words import MAP_WORDS, NUMBERS, cell_words, number_in


def parsed(svg):
    return etree.fromstring(str(svg), etree.XMLParser(resolve_entities=False))


def link(cell):
    return f"/cell/{cell}?a=1&b=2"


def of_class(root, name):
    return [one for one in root.iter() if name in (one.get("class") or "").split()]


def ink_within(root):
    return "".join(one.get("d") for one in root.iter("path")
                   if (one.get("class") or "").startswith(("ink", "dotted")))


def texts(root, kind):
    return {one.getparent().get("data-cell"): one.text for one in of_class(root, kind)}


@pytest.fixture(scope="module")
def drawn(register, document):
    return parsed(block_map(register, document, href=link))


@pytest.fixture(scope="module")
def resting(made):
    """The small block with every cell but one in another state, for the looks of all five."""
    register = made.small_register()
    document = copy.deepcopy(made.document_of(register))
    states = ["ready", "taken", "resting", "unsurveyed", "closed"]
    for i, row in enumerate(document["cells"]):
        row["state"] = states[i % 5]
    return register, document


def test_each_cell_is_one_link_with_a_label(drawn, document):
    links = list(drawn.iter("a"))
    assert [one.get("data-cell") for one in links] == [row["cell"] for row in document["cells"]]
    assert [one.get("href") for one in links] == [link(r["cell"]) for r in document["cells"]]
    labels = {one.get("data-cell"): one.get("aria-label") for one in links}
    assert labels["B02"] == "B02, resting until 11 Nov 2029, 0 kg may be taken, one open flag"
    ready = next(row for row in document["cells"] if row["cell"] == "A01")
    assert labels["A01"] == f"A01, ready, {ready['left_kg']} kg may be taken"


def test_without_links_it_is_one_picture_with_a_label(register, document):
    root = parsed(block_map(register, document))
    assert not list(root.iter("a"))
    assert root.get("role") == "img"
    assert root.get("aria-label").startswith("Map of Test Mire on 20 Feb 2026: ")
    assert "1 resting" in root.get("aria-label")


def test_a_map_with_links_may_be_walked_through(drawn):
    assert drawn.get("role") == "group"


def test_it_has_no_style_no_script_and_nothing_from_elsewhere(register, document):
    for svg in (block_map(register, document, href=link), cell_map(register, document, "B02")):
        root = parsed(svg)
        assert {one.tag for one in root.iter()} <= {
            "svg", "rect", "circle", "path", "g", "a", "text"}
        assert not [one for one in root.iter() for name in one.attrib
                    if name == "style" or name.startswith("on")]
        assert "http" not in svg
        assert "url(" not in svg


@pytest.mark.parametrize(("state", "fill"), [
    (state, LOOKS[state].fill) for state in STATES])
def test_a_state_has_the_phone_s_fill_and_pattern(resting, state, fill):
    root = parsed(block_map(*resting))
    cells = [row["cell"] for row in resting[1]["cells"] if row["state"] == state]
    for cell in cells:
        ground = next(one for one in of_class(root, "ground")
                      if one.getparent().get("data-cell") == cell)
        assert ground.get("fill") == fill
        assert ground.get("class") == f"ground {state}"
        assert ground.get("stroke") == "#000000"


BOX = ((((0.0, 0.0), (40.0, 0.0), (40.0, -40.0), (0.0, -40.0), (0.0, 0.0)),),)


def test_patterns_are_told_apart_by_their_ink_alone():
    wide = [parsed(ink_of(state, BOX)).get("d") for state in ("resting", "taken")]
    bars, uprights = ([[float(n) for n in re.findall(r"[\d.]+", one)] for one in d.split("Z")[:-1]]
                      for d in wide)
    assert len(bars) == len(uprights) == 40 / PITCH_DP
    assert all(max(bar[::2]) - min(bar[::2]) == 40 for bar in bars)
    assert all(max(bar[1::2]) - min(bar[1::2]) == 40 for bar in uprights)
    assert ink_of("ready", BOX) == ""


def test_rows_of_dots_are_the_phone_s_dots():
    path = parsed(ink_of("unsurveyed", BOX))
    assert path.get("stroke-dasharray") == f"0 {PITCH_DP:g}"
    assert path.get("stroke-linecap") == "round"
    drawn = []
    for x, y, last in re.findall(r"M([\d.]+) ([\d.]+)H([\d.]+)", path.get("d")):
        steps = int((float(last) - float(x)) // PITCH_DP)
        drawn += [(float(x) + i * PITCH_DP, -float(y)) for i in range(steps + 1)]
    assert sorted(drawn) == sorted(dots("dots", BOX))


def test_closed_ground_has_a_cross_and_no_other_has(resting):
    root = parsed(block_map(*resting))
    crossed = {one.getparent().get("data-cell") for one in of_class(root, "ink-closed")}
    assert crossed == {r["cell"] for r in resting[1]["cells"] if r["state"] == "closed"}


def test_closed_ground_in_an_open_cell_lies_black_over_it(made):
    corner = made.Feature(made.polygon(made.box(0, 0, 40, 40)), {"why": "nest"})
    register = made.small_register(closures=(corner,))
    root = parsed(block_map(register, made.document_of(register)))
    pieces = [one for one in of_class(root, "ground")
              if one.getparent().get("data-cell") == "A01"]
    assert [one.get("class") for one in pieces] == ["ground ready", "ground closed"]
    assert pieces[1].get("fill") == LOOKS["closed"].fill


def test_a_cell_s_shape_is_its_ground_within_the_outline(drawn, register):
    paths = {one.getparent().get("data-cell"): one.get("d")
             for one in of_class(drawn, "ground")}
    assert len(re.findall("M", paths["A01"])) == 1
    assert len(re.findall("M", paths["B02"])) == 2  # the pool is a hole of it
    numbers = [float(n) for n in re.findall(r"-?[\d.]+", paths["A01"])]
    unit_m = (max(numbers[::2]) - min(numbers[::2])) / 100
    assert max(numbers[1::2]) - min(numbers[1::2]) == pytest.approx(100 * unit_m, abs=0.2)
    # row 02 lies above row 01
    middle = {cell: [float(n) for n in re.findall(r"-?[\d.]+", paths[cell])] for cell in paths}
    assert sum(middle["A02"][1::2]) < sum(middle["A01"][1::2])


def test_each_name_stands_once_and_within_its_square(drawn, document):
    assert texts(drawn, "name") == {row["cell"]: row["cell"] for row in document["cells"]}


def test_the_name_of_a_sliver_stands_beside_it_and_not_on_its_neighbour(made):
    outline = (made.Feature(made.polygon(made.box(0, 0, 206, 100)), {}),)
    register = made.small_register(outline=outline, classes=(), known=(), permits=())
    root = parsed(block_map(register, made.document_of(register)))
    name = next(one for one in of_class(root, "name") if one.text == "C01")
    ground = next(one for one in of_class(root, "ground")
                  if one.getparent().get("data-cell") == "C01")
    east = max(float(n) for n in re.findall(r"-?[\d.]+", ground.get("d"))[::2])
    assert float(name.get("x")) > east
    assert "on-page" in name.get("class")


@pytest.mark.parametrize("number", NUMBERS)
def test_a_number_is_the_document_s_and_changes_no_fill(register, document, drawn, number):
    root = parsed(block_map(register, document, href=link, number=number))
    told = texts(root, "number")
    for row in document["cells"]:
        assert told.get(row["cell"], "") == number_in(row, number)
    fills = [[one.get("fill") for one in of_class(tree, "ground")] for tree in (root, drawn)]
    assert fills[0] == fills[1]


def test_numbers_are_kg_left_share_picked_and_month_of_the_rest_s_end(document, made):
    row = made.cell(document, "C01")
    assert number_in(row, "kg") == f"{row['left_kg']:,}"
    assert number_in(row, "picked_pct") == f"{row['picked_pct_of_may_take']:.0f} %"
    assert number_in(made.cell(document, "B02"), "rest_ends") == "2029-11"
    assert number_in({**row, "left_kg": None}, "kg") == "–"
    assert number_in(row, "rest_ends") == ""


def test_an_unknown_number_or_size_is_refused(register, document):
    with pytest.raises(ValueError, match="number='age'"):
        block_map(register, document, number="age")
    with pytest.raises(ValueError, match="size='huge'"):
        block_map(register, document, size="huge")


def test_open_flags_have_a_sign_and_ruled_ones_have_none(register, document):
    root = parsed(block_map(register, document))
    assert [one.getparent().get("data-cell") for one in of_class(root, "flag")] == ["B02"]
    ruled = copy.deepcopy(document)
    for flag in ruled["flags"]:
        flag["ruling"] = {"stands": True}
    assert not of_class(parsed(block_map(register, ruled)), "flag")


def test_more_flags_are_counted_in_the_label(document, made):
    assert cell_words(made.cell(document, "B02"), 3).endswith(", 3 open flags")


def test_whatever_people_typed_is_escaped(register, document, made):
    hostile = "\"><script>alert(1)</script>'&"
    odd = {**document, "block": {**document["block"], "name": hostile}}
    root = parsed(block_map(register, odd, href=lambda cell: f"/{hostile}", say=lambda w: w))
    assert hostile in root.get("aria-label")
    assert {one.get("href") for one in root.iter("a")} == {f"/{hostile}"}
    assert not list(root.iter("script"))
    translated = parsed(block_map(
        register, document, href=link, say=lambda word: f"<b>{word}</b>"))
    assert not list(translated.iter("b"))


def test_the_same_register_gives_the_same_bytes(made, register, document):
    again = made.small_register()
    other = block_map(again, made.document_of(again), href=link, number="kg")
    assert other == block_map(register, document, href=link, number="kg")


def test_two_maps_on_one_page_share_no_id(register, document):
    def ids(svg):
        return {one.get("id") for one in parsed(svg).iter() if one.get("id")}

    one, two = (block_map(register, document, prefix=prefix) for prefix in ("a", "b"))
    assert ids(one)
    assert not ids(one) & ids(two)


def test_a_map_in_another_language_has_no_english_left(register, document, made):
    said = []
    svg = block_map(register, document, href=link, number="kg",
                    say=lambda word: said.append(word) or "¤")
    assert set(said) <= set(MAP_WORDS)
    words = {one.text for one in of_class(parsed(svg), "word")}
    assert not {"gate", "N"} & words


def test_the_scale_bar_is_as_long_as_it_says(drawn):
    paths = {one.getparent().get("data-cell"): one.get("d") for one in of_class(drawn, "ground")}
    numbers = [float(n) for n in re.findall(r"-?[\d.]+", paths["A01"])][::2]
    unit_m = (max(numbers) - min(numbers)) / 100
    length_m = float(next(one.text for one in of_class(drawn, "word")
                          if one.text.endswith(" m")).removesuffix(" m"))
    bars = of_class(drawn, "bar") + of_class(drawn, "bar-white")
    assert sum(float(one.get("width")) for one in bars) == pytest.approx(length_m * unit_m, abs=.3)


@pytest.mark.parametrize(("most", "length"), [(1, 1), (9.9, 5), (200, 200), (199, 100), (45, 20)])
def test_a_scale_bar_has_a_round_length(most, length):
    assert round_length_m(most) == pytest.approx(length)


def test_the_arrow_points_to_true_north_west_of_the_grid_s_middle(register):
    projection = register.crop.ground.projection
    lat, lon = projection.to_deg(1_329_400.0, 5_249_300.0)
    # convergence of a transverse Mercator: atan(tan(lon - lon0) sin(lat)), its sign turned
    expected = -math.degrees(math.atan(
        math.tan(math.radians(float(lon) - 173.0)) * math.sin(math.radians(float(lat)))))
    assert north_deg(projection, 1_329_400.0, 5_249_300.0) == pytest.approx(expected, abs=0.01)


def test_the_gate_is_shown_if_there_is_one_near(made, drawn):
    assert len(of_class(drawn, "gate")) == 1
    for gate in (None, made.latlon(-900, 10)):
        register = made.small_register(gate=gate)
        root = parsed(block_map(register, made.document_of(register)))
        assert not of_class(root, "gate")


def test_a_cell_is_shown_with_its_neighbours_and_a_heavy_border(register, document):
    root = parsed(cell_map(register, document, "A01", href=link))
    shown = {one.get("data-cell") for one in root.iter("a")}
    assert shown == {"A01", "A02", "B01", "B02"}
    assert root.get("aria-label") == "A01 and its neighbours on 20 Feb 2026"
    with pytest.raises(FallowError, match="'Z99'"):
        cell_map(register, document, "Z99")


def test_the_key_tells_each_state_with_its_look_and_its_cells(document):
    lines = map_key(document)
    assert [line.name for line in lines] == [
        "ready", "taken", "resting", "unsurveyed", "closed", "open flag"]
    assert sum(line.count for line in lines[:-1]) == len(document["cells"])
    assert lines[-1].count == 1
    for line in lines:
        root = parsed(line.swatch)
        assert root.get("aria-hidden") == "true"
        assert not [one for one in root.iter() if one.get("id") or one.get("style")]
    looks = [ink_within(parsed(line.swatch)) for line in lines[:-1]]
    assert looks[0] == ""
    assert len(set(looks)) == len(looks)


def test_a_larger_map_shows_the_same_cells_larger(register, document):
    widths = [float(parsed(block_map(register, document, size=size)).get("width"))
              for size in ("block", "half", "cells")]
    assert widths[0] < widths[1] <= widths[2]


def test_a_day_without_ground_has_a_map_without_cells(made):
    bought = made.Feature(made.polygon(made.box(0, 0, 200, 300)), {}, since=date(2027, 1, 1))
    register = made.small_register(outline=(bought,), known=(), permits=())
    root = parsed(block_map(register, made.document_of(register)))
    assert not of_class(root, "cell")
    assert root.get("aria-label") == "Map of Test Mire on 20 Feb 2026"


def test_the_style_sheet_speaks_of_classes_that_the_map_has(resting):
    register, document = resting
    trees = [parsed(block_map(register, document, href=link, number="kg")),
             parsed(cell_map(register, document, "A01", href=link)),
             *(parsed(line.swatch) for line in map_key(document))]
    had = {name for root in trees for one in root.iter()
           for name in (one.get("class") or "").split()}
    assert set(re.findall(r"\.([a-z][a-z-]*)", MAP_CSS)) <= had | {"map-half", "map-cells"}
    for condition in ("forced-colors: active", "prefers-contrast: more"):
        assert f"@media ({condition})" in MAP_CSS
    assert not re.search(r"</|url\(|@import", MAP_CSS)


@pytest.mark.parametrize(("number", "key", "value", "said"), [
    ("scrub", "scrub_pct", 12.6, "13 %"), ("scrub", "scrub_pct", 0, "0 %"),
    ("scrub", "scrub_pct", None, ""), ("water", "water_table_mm", -290, "-290"),
    ("water", "water_table_mm", None, "")])
def test_scrub_and_water_of_the_latest_survey_may_be_printed(document, number, key, value, said):
    assert number_in({**document["cells"][0], key: value}, number) == said
