"""Icons and plates as they come out on a real canvas, pixel by pixel."""

import math
from itertools import combinations, pairwise
from typing import get_args

import pytest
from shapely import Polygon

from fieldapp.ground import Band
from fieldapp.ui.icon_shapes import NAMES, SIDE, Field, Stroke, parts_of
from fieldapp.ui.palette import BRIGHT, DUSK, rgba

pytestmark = pytest.mark.draws

BLACK, WHITE, YELLOW = (0, 0, 0), (255, 255, 255), (240, 228, 66)
LIGHTS = pytest.mark.parametrize("palette", [BRIGHT, DUSK], ids=["bright", "dusk"])
SURE = ("ready", "resting", "unsurveyed", "closed", "taken", "outside", "near_edge",
        "cannot_tell", "no_sheet")


def picture(widget, size, ground="#FFFFFF"):
    """Draw a widget for real; pixels by column and row from below."""
    from kivy.clock import Clock
    from kivy.core.window import Window  # opens the window that drawing needs
    from kivy.graphics import ClearBuffers, ClearColor, Fbo

    assert Window is not None
    widget.pos, widget.size = (0, 0), size
    Clock.tick()
    board = Fbo(size=size)
    with board:
        ClearColor(*rgba(ground))
        ClearBuffers()
    board.add(widget.canvas)
    board.draw()
    raw, width = board.pixels, size[0]
    return {(x, y): tuple(raw[4 * (y * width + x):4 * (y * width + x) + 3])
            for x in range(width) for y in range(size[1])}


def icon(name, side=56, ground="#FFFFFF", **look):
    from fieldapp.ui.icons import Icon

    return picture(Icon(name=name, **look), (side, side), ground)


def plate(band, palette, size=(196, 96)):
    from fieldapp.ui.pattern import PatternPlate

    return picture(PatternPlate(band=band, palette=palette), size)


def colour(hexes):
    return tuple(int(hexes[at:at + 2], 16) for at in (1, 3, 5))


def count(pixels, wanted):
    return sum(pixel == wanted for pixel in pixels.values())


@pytest.mark.parametrize("name", NAMES)
def test_each_icon_stays_on_its_square_whichever_way_it_is_turned(name):
    for turn in (0, 30, 135, 260):
        for part in parts_of(name, turn=turn):
            about = part.width / 2 if isinstance(part, Stroke) else 0
            for value in (value for point in part.points for value in point):
                assert value - about >= -2
                assert value + about <= SIDE + 2


@pytest.mark.parametrize("name", NAMES)
def test_each_field_is_seen_whole_from_its_first_point(name):
    for part in parts_of(name):
        if isinstance(part, Field):
            first, rest = part.points[0], part.points[1:]
            fan = [Polygon([first, a, b]) for a, b in pairwise(rest)]
            turns = {triangle.exterior.is_ccw for triangle in fan if triangle.area > 1e-6}
            assert len(turns) == 1


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("side", [22, 56])
def test_each_icon_is_drawn_at_every_size_in_no_colour_but_its_own(name, side):
    drawn = icon(name, side, "#8CE99A", ink=rgba("#000000"), fill=rgba("#FFFFFF"))
    ground = colour("#8CE99A")

    assert count(drawn, BLACK) > 0.05 * side * side
    own = {BLACK, ground, YELLOW} if name == "hazard" else {BLACK, WHITE, ground}
    assert set(drawn.values()) <= own
    assert count(drawn, ground) > 0.08 * side * side


def test_no_two_icons_look_alike():
    drawn = {name: icon(name, 40) for name in NAMES}

    for one, other in combinations(NAMES, 2):
        differ = sum(a != drawn[other][at] for at, a in drawn[one].items())
        assert differ > 0.06 * 40 * 40, (one, other)


def test_every_band_has_its_icon():
    assert set(SURE) == set(get_args(Band))
    assert set(SURE) <= set(NAMES)


def test_a_hazard_is_yellow_in_any_light():
    for palette in (BRIGHT, DUSK):
        drawn = icon("hazard", 56, palette.paper, ink=rgba(palette.ink), fill=rgba(palette.paper))
        assert count(drawn, YELLOW) > 400


def test_a_battery_and_a_fix_show_their_level():
    for name, steps in (("battery", 4), ("fix", 3)):
        inks = [count(icon(name, level=step / steps), BLACK) for step in range(steps + 1)]
        assert inks == sorted(set(inks))
    assert count(icon("battery", level=0.01), BLACK) == count(icon("battery", level=0.25), BLACK)


@pytest.mark.parametrize("turn", [0, 45, 90, 210])
def test_an_arrow_points_where_it_is_turned(turn):
    points = parts_of("arrow", turn=turn)[0].points
    tip = max(points, key=lambda at: math.dist(at, (SIDE / 2, SIDE / 2)))

    east, north = tip[0] - SIDE / 2, tip[1] - SIDE / 2
    assert math.degrees(math.atan2(east, north)) % 360 == pytest.approx(turn)


def test_an_icon_redraws_when_it_is_told_another_thing():
    from fieldapp.ui.icons import Icon

    one = Icon(name="ready")
    before = picture(one, (56, 56))
    one.name, one.ink = "closed", rgba("#A30000")
    after = picture(one, (56, 56))

    assert count(before, BLACK) > 500
    assert count(after, BLACK) == 0
    assert count(after, colour("#A30000")) > 500
    one.name = ""
    assert set(picture(one, (56, 56)).values()) == {WHITE}


@LIGHTS
@pytest.mark.parametrize("band", get_args(Band))
def test_a_plate_leaves_a_plain_field_for_its_words(band, palette):
    drawn = plate(band, palette)
    look = palette.fills[band]

    field = {drawn[x, y] for x in range(24, 196 - 24) for y in range(10, 96 - 10)}
    assert field == {colour(look.fill)}
    rim = {drawn[x, y] for x in range(196) for y in (0, 1, 94, 95)}
    assert rim == {colour(palette.ink)}


@LIGHTS
def test_a_plate_s_frame_is_inked_by_its_pattern_and_by_none_where_there_is_none(palette):
    for band, look in palette.fills.items():
        drawn = plate(band, palette)
        frame = [drawn[x, y] for x in (*range(2, 24), *range(172, 194)) for y in range(10, 86)]
        inked = sum(pixel == colour(look.ink) for pixel in frame) / len(frame)
        low, high = {"none": (0, 0), "bars": (0.3, 0.45), "uprights": (0.3, 0.45),
                     "diagonals": (0.3, 0.45), "dots": (0.12, 0.3), "cross": (0.0, 0.2)
                     }[look.pattern]
        assert low <= inked <= high, (band, inked)


def test_a_cross_shows_in_the_corners_of_its_plate():
    drawn = plate("closed", BRIGHT)

    assert all(drawn[x, y] == WHITE for x, y in ((8, 4), (188, 4), (8, 91), (188, 91)))


def test_a_plate_follows_its_band_and_its_light():
    from fieldapp.ui.pattern import PatternPlate

    one = PatternPlate(band="ready", palette=BRIGHT)
    assert count(picture(one, (120, 60)), colour("#8CE99A")) > 6000
    one.band, one.palette = "resting", DUSK
    after = picture(one, (120, 60))
    assert count(after, colour("#8CE99A")) == 0
    assert after[60, 30] == BLACK
    assert count(after, colour("#56B4E9")) > 500


def test_a_plate_too_small_for_a_field_is_all_pattern():
    drawn = plate("resting", BRIGHT, (40, 18))

    assert 0.2 < count(drawn, BLACK) / (40 * 18) < 0.7
