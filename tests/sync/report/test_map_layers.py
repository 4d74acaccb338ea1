"""Layers of the map: classes by their limits, marks unlike the states', words for what is seen."""

import copy
import dataclasses
import typing

import pytest
from lxml import etree

from fieldapp.ground.patterns import Pattern
from sync.geometry.grid import cell_index
from sync.plan.condition import CellCondition
from sync.plan.watched import watched_of
from sync.report.map import block_map, map_key
from sync.report.map_layers import LAYERS, layer_of
from sync.report.map_paint import Mark, mark_places, tone_paint
from sync.survey.condition import Rewalked, WaterChange

BOX = ((((0.0, 0.0), (60.0, 0.0), (60.0, 40.0), (0.0, 40.0), (0.0, 0.0)),),)


@pytest.fixture(scope="module")
def watched(register):
    return watched_of(register)


@pytest.fixture
def rows(document):
    """The document's cells, to be written over."""
    return copy.deepcopy(document)


def of(name, register, document, watched):
    return layer_of(name, register, document, watched)


def classes(layer):
    return {cell: tone.words.format(**tone.values) for cell, (tone, _) in layer.cells.items()}


def parsed(svg):
    return etree.fromstring(str(svg), etree.XMLParser(resolve_entities=False))


@pytest.mark.parametrize("name", LAYERS)
def test_every_cell_has_a_class_that_the_key_counts(name, register, document, watched):
    layer = of(name, register, document, watched)
    assert set(layer.cells) == {row["cell"] for row in document["cells"]}
    key = map_key({**document, "flags": []}, layer=layer)
    assert sum(line.count for line in key) == len(document["cells"])
    parsed(block_map(register, document, layer=layer, prefix=name))


@pytest.mark.parametrize(("pct", "said"), [
    (0, "under 5 %"), (4.9, "under 5 %"), (5, "5 % to under 15 %"), (14, "5 % to under 15 %"),
    (15, "15 % to under 30 %"), (30, "30 % or more"), (100, "30 % or more"), (None, "not read")])
def test_a_limit_of_scrub_belongs_to_the_class_above_it(register, rows, watched, pct, said):
    rows["cells"][0]["scrub_pct"] = pct
    assert classes(of("scrub", register, rows, watched))[rows["cells"][0]["cell"]] == said


@pytest.mark.parametrize(("mm", "said"), [
    (-251, "under −250 mm"), (-250, "−250 mm to under −150 mm"), (-50, "−50 mm or more"),
    (30, "−50 mm or more"), (None, "not read")])
def test_a_limit_of_water_belongs_to_the_class_above_it(register, rows, watched, mm, said):
    rows["cells"][0]["water_table_mm"] = mm
    assert classes(of("water", register, rows, watched))[rows["cells"][0]["cell"]] == said


def test_ground_that_was_not_read_looks_and_reads_unlike_ground_without_scrub(
    register, rows, watched
):
    first, second = rows["cells"][:2]
    first["scrub_pct"], second["scrub_pct"] = 0.0, None
    layer = of("scrub", register, rows, watched)
    (none, zero), (unread, dash) = layer.cells[first["cell"]], layer.cells[second["cell"]]
    assert (zero, dash) == ("0 %", "–")
    assert (none.mark, unread.mark) == ("none", "hatch")


def with_changes(watched, scrub, water):
    """Let a cell's plots change by so many points, and by so many mm against the block."""
    days = watched.condition.cells[0].read_on if watched.condition.cells else None
    pair = Rewalked("x", "1", days, days, 10.0, 10.0 + scrub, ("a:1", "a:2"))
    one = CellCondition("A01", "all", None, None, (pair,),
                        WaterChange("A01", water, water, -100.0, 9, ()), days)
    return dataclasses.replace(
        watched, condition=dataclasses.replace(watched.condition, cells=(one,)))


@pytest.mark.parametrize(("scrub", "water", "marks", "said"), [
    (5.0, 50.0, ("up", "up"), ("+5.0", "+50")),
    (-5.0, -50.0, ("down", "down"), ("−5.0", "−50")),
    (4.9, -49.0, ("none", "none"), ("+4.9", "−49")),
    (-0.01, 0.2, ("none", "none"), ("0.0", "0")),
])
def test_a_change_is_told_by_its_direction_its_figure_and_words(
    register, document, watched, scrub, water, marks, said
):
    seen = with_changes(watched, scrub, water)
    cell = min((row["cell"] for row in document["cells"]), key=cell_index)
    found = [of(name, register, document, seen).cells["A01"]
             for name in ("scrub_change", "water_change") if cell == "A01"]
    assert tuple(tone.mark for tone, _ in found) == marks
    assert tuple(figure for _, figure in found) == said


def test_what_a_cell_is_said_to_be_is_its_class_not_its_state(register, rows, watched):
    first = rows["cells"][0]
    first["scrub_pct"] = 17.0
    layer = of("scrub", register, rows, watched)
    drawn = parsed(block_map(register, rows, layer=layer, href=lambda cell: f"#{cell}"))
    (link,) = [one for one in drawn.iter("a") if one.get("data-cell") == first["cell"]]
    assert link.get("aria-label").startswith(f"{first['cell']} 17 %, 15 % to under 30 %")
    assert "Scrub, in % of the ground" in drawn.get("aria-label")


def test_a_number_asked_for_stands_in_place_of_the_layers_own(register, rows, watched):
    rows["cells"][0]["scrub_pct"] = 17.0
    layer = of("scrub", register, rows, watched)
    assert ">17 %</text>" in block_map(register, rows, layer=layer)
    assert ">17 %</text>" not in block_map(register, rows, layer=layer, number="kg")


def test_marks_are_none_of_the_states_and_each_class_of_a_layer_looks_its_own(
    register, document, watched
):
    assert not (set(typing.get_args(Mark)) - {"none"}) & set(typing.get_args(Pattern))
    for name in LAYERS:
        looks = [str(tone_paint(tone).drawn(BOX)) for tone in
                 of(name, register, document, watched).tones]
        assert len(set(looks)) == len(looks), name


@pytest.mark.parametrize("pitch", [8.0, 13.0, 20.0])
def test_marks_stand_whole_within_their_ground_and_the_closer_the_more(pitch):
    places = list(mark_places(pitch, BOX))
    assert places
    assert all(3.2 <= x <= 56.8 and 3.2 <= y <= 36.8 for x, y in places)
    wide = ((((0.0, 0.0), (400.0, 0.0), (400.0, 400.0), (0.0, 400.0), (0.0, 0.0)),),)
    assert len(list(mark_places(pitch, wide))) < len(list(mark_places(pitch - 2.0, wide)))


def test_an_empty_shape_has_no_marks():
    assert list(mark_places(8.0, ())) == []
