"""The map as it comes out on a real canvas, pixel by pixel."""

import dataclasses
import math
from typing import get_args

import pytest

from fieldapp.ground import State
from fieldapp.ground.slices import whole
from fieldapp.phone.map_shown import Ground, MapShown, MarkShown, Me, PlotShown
from fieldapp.ui.palette import BRIGHT, DUSK, rgba

pytestmark = pytest.mark.draws

SIZE = (320, 400)
BLACK, WHITE, YELLOW, ME = (0, 0, 0), (255, 255, 255), (240, 228, 66), (0, 76, 128)
LIGHTS = pytest.mark.parametrize("palette", [BRIGHT, DUSK], ids=["bright", "dusk"])


def cell(name, band, west, south, side=100.0):
    east, north = west + side, south + side
    shape = ((((west, south), (east, south), (east, north), (west, north), (west, south)),),)
    return Ground(name, band, shape, tuple(whole(shape)), (west + side / 2, south + side / 2),
                  (west, south, east, north))


def shown(*cells, width_m=160.0, centre=(0.0, 0.0), **more):
    return MapShown(**{
        "cells": cells, "closed": (), "outline": (), "me": None, "plots": (), "marks": (),
        "track": (), "centre": centre, "span_m": (width_m, 0.0), "bar_m": 20.0, "north_deg": 0.0,
        "back_deg": None, "sheet_day": None, **more})


def field(band):
    """Ground of one state as far as the map reaches, in one cell."""
    return cell("A01", band, -400.0, -400.0, 800.0)


@pytest.fixture
def make_map():
    from fieldapp.ui.map_canvas import MapCanvas

    return MapCanvas


def picture(widget, size=SIZE, pos=(0, 0), board=None):
    """Draw a widget for real; pixels by column and row from below."""
    from kivy.clock import Clock
    from kivy.core.window import Window  # opens the window that drawing needs
    from kivy.graphics import ClearBuffers, ClearColor, Fbo

    assert Window is not None
    widget.pos, widget.size = pos, size
    Clock.tick()
    whole_size = board or size
    fbo = Fbo(size=whole_size)
    with fbo:
        ClearColor(*rgba("#A30000"))
        ClearBuffers()
    fbo.add(widget.canvas)
    fbo.draw()
    raw, width = fbo.pixels, whole_size[0]
    return {(x, y): tuple(raw[4 * (y * width + x):4 * (y * width + x) + 3])
            for x in range(width) for y in range(whole_size[1])}


def colour(hexes):
    return tuple(int(hexes[at:at + 2], 16) for at in (1, 3, 5))


def near(pixel, wanted, by=40):
    return max(abs(a - b) for a, b in zip(pixel, wanted, strict=True)) <= by


def share(pixels, wanted, west, south, east, north):
    inside = [pixels[x, y] for x in range(west, east) for y in range(south, north)]
    return sum(near(pixel, wanted) for pixel in inside) / len(inside)


@LIGHTS
@pytest.mark.parametrize("band", get_args(State))
def test_ground_has_the_fill_and_the_ink_of_its_state(make_map, band, palette):
    look = palette.fills[band]
    drawn = picture(make_map(shown=shown(field(band)), palette=palette))

    ink = share(drawn, colour(look.ink), 20, 70, 220, 150)
    low, high = {"none": (0, 0), "bars": (0.3, 0.45), "uprights": (0.3, 0.45),
                 "dots": (0.05, 0.3), "cross": (0, 0.1)}[look.pattern]
    assert low <= ink <= high
    assert share(drawn, colour(look.fill), 20, 70, 220, 150) > 0.4


def test_bars_lie_level_and_uprights_stand(make_map):
    level = picture(make_map(shown=shown(field("resting"))))
    upright = picture(make_map(shown=shown(field("taken"))))

    assert len({level[x, 120] for x in range(30, 200)}) == 1
    assert len({level[100, y] for y in range(80, 120)}) > 1
    assert len({upright[100, y] for y in range(80, 120)}) == 1
    assert len({upright[x, 120] for x in range(30, 200)}) > 1


def test_a_closed_cell_is_crossed_from_corner_to_corner(make_map):
    drawn = picture(make_map(shown=shown(cell("A01", "closed", -50, -50))))

    # 2 px to the metre: the cell runs from 60 to 260 and from 100 to 300.
    for x, y in ((70, 110), (110, 150), (250, 110), (70, 290), (250, 290)):
        assert drawn[x, y] == WHITE
    assert drawn[160, 120] == BLACK
    assert drawn[40, 200] == WHITE


def test_closed_ground_covers_part_of_an_open_cell(make_map):
    nests = cell("", "closed", -30, -30, 20.0)
    drawn = picture(make_map(shown=shown(field("ready"), closed=(nests,))))

    assert drawn[120, 145] == BLACK
    assert drawn[40, 145] == colour("#8CE99A")


def test_patterns_of_neighbours_line_up(make_map):
    # Their common border and their far ones lie at odd places of the pattern.
    two = (cell("A01", "taken", -96.3, -97.1, 99.0), cell("B01", "taken", 2.7, -98.7, 99.0))
    drawn = picture(make_map(shown=shown(*two)))

    # 160 px are 20 pitches.
    assert all(near(drawn[x, 60], drawn[x + 160, 60], 2) for x in range(10, 120))
    assert len({drawn[x, 60] for x in range(10, 120)}) > 1


def test_a_pattern_goes_with_its_ground_and_does_not_crawl(make_map):
    from kivy.metrics import dp

    assert dp(1) == 1
    one = make_map(shown=shown(field("unsurveyed")))
    before = picture(one)
    one.shown = dataclasses.replace(one.shown, centre=(3.0, 1.5))
    after = picture(one)

    # 2 px to the metre: the ground has gone 6 to the left and 3 down.
    assert all(after[x, y] == before[x + 6, y + 3]
               for x in range(30, 120) for y in range(80, 150))


def test_walking_moves_the_drawing_and_draws_no_ground_anew(make_map):
    one = make_map(shown=shown(field("resting"), me=Me(0, 0, 4, "fresh")))
    picture(one)
    ground = list(one._ground.children)
    one.shown = dataclasses.replace(one.shown, me=Me(5, 5, 4, "fresh"), centre=(5.0, 5.0))
    picture(one)

    assert one._ground.children == ground
    one.shown = dataclasses.replace(one.shown, span_m=(60.0, 0.0))
    picture(one)
    assert one._ground.children != ground


def test_a_cell_large_enough_carries_its_name_and_a_small_one_none(make_map):
    large = picture(make_map(shown=shown(cell("C07", "ready", -50, -50))))
    small = picture(make_map(shown=shown(cell("C07", "ready", -50, -50), width_m=900.0)))

    assert share(large, BLACK, 140, 190, 180, 210) > 0.1
    assert share(small, BLACK, 150, 190, 170, 210) == 0


@pytest.mark.parametrize("band", ["resting", "unsurveyed", "taken"])
def test_no_line_of_a_pattern_runs_through_a_name(make_map, band):
    drawn = picture(make_map(shown=shown(cell("C07", band, -50, -50))))
    plain = picture(make_map(shown=shown(cell("C07", "ready", -50, -50))))

    ink = [at for at in plain if 145 <= at[0] < 175 and 192 <= at[1] < 208
           and near(plain[at], BLACK, 20)]
    assert len(ink) > 50
    assert all(near(drawn[at], BLACK) for at in ink)
    rest = [at for at in plain if 145 <= at[0] < 175 and 192 <= at[1] < 208
            and near(plain[at], colour("#8CE99A"), 10)]
    assert all(near(drawn[at], colour(BRIGHT.fills[band].fill)) for at in rest)


def test_a_cell_larger_than_the_map_shows_its_name_wherever_one_stands(make_map):
    named = make_map(shown=shown(field("ready"), width_m=60.0))
    for at in ((0.0, 0.0), (37.0, 11.0), (-120.0, 80.0), (200.0, -250.0)):
        named.shown = dataclasses.replace(named.shown, centre=at)
        drawn = picture(named)
        letters = [at for at, pixel in drawn.items()
                   if near(pixel, BLACK) and at[0] < 260 and 60 < at[1] < 330]
        assert len(letters) > 80


@LIGHTS
def test_my_disc_stands_in_the_middle_and_its_circle_has_my_radius(make_map, palette):
    drawn = picture(make_map(shown=shown(field("ready"), me=Me(0, 0, 20, "fresh")),
                             palette=palette))

    assert drawn[160, 200] == ME
    assert near(drawn[160 + 10, 200], WHITE)
    assert all(drawn[int(160 + 40 * math.cos(k)), int(200 + 40 * math.sin(k))] == ME
               for k in range(6))
    assert drawn[160 + 48, 200] == colour(BRIGHT.fills["ready"].fill)


@pytest.mark.parametrize("how", ["weak", "stale"])
def test_a_circle_that_cannot_be_believed_is_dashed(make_map, how):
    def around(how):
        drawn = picture(make_map(shown=shown(field("ready"), me=Me(0, 0, 40, how))))
        rim = [drawn[int(160 + 80 * math.cos(k / 60)), int(200 + 80 * math.sin(k / 60))]
               for k in range(int(60 * math.tau))]
        return sum(pixel == ME for pixel in rim) / len(rim)

    assert around("fresh") > 0.95
    assert 0.4 < around(how) < 0.6


def test_a_lost_place_is_hollow_and_has_no_circle(make_map):
    drawn = picture(make_map(shown=shown(field("ready"), me=Me(0, 0, 20, "lost"))))

    assert drawn[160, 200] == WHITE
    assert ME in {drawn[x, 200] for x in range(150, 160)}
    assert drawn[200, 200] == colour("#8CE99A")


def test_plots_left_done_and_skipped_look_different(make_map):
    plots = [PlotShown("", x, 0, how) for x, how in ((-40, "left"), (0, "done"), (40, "skipped"))]
    drawn = picture(make_map(shown=shown(field("ready"), plots=tuple(plots))))
    inks = [share(drawn, BLACK, x - 10, 190, x + 10, 210) for x in (80, 160, 240)]

    assert inks[0] < inks[2] < inks[1]
    assert inks[1] > 0.9


def test_marks_stand_on_plain_ground_where_they_were_noted(make_map):
    marks = (MarkShown("hazard", "hazard 1", 20, 20), MarkShown("pile", "P3-006", -40, 20))
    drawn = picture(make_map(shown=shown(field("resting"), marks=marks)))

    assert share(drawn, YELLOW, 190, 230, 210, 245) > 0.3
    assert share(drawn, colour("#56B4E9"), 64, 224, 96, 256) == 0


def test_a_walk_is_drawn_and_grows(make_map):
    one = make_map(shown=shown(track=(((-60.0, 10.0), (0.0, 10.0)),)))
    assert picture(one)[100, 220] == ME
    first = one._way.children[0]
    one.shown = dataclasses.replace(
        one.shown, track=(*one.shown.track, ((0.0, 10.0), (0.0, 70.0))))
    after = picture(one)

    assert after[100, 220] == after[160, 300] == ME
    assert one._way.children[0] is first
    one.shown = dataclasses.replace(one.shown, track=())
    assert ME not in picture(one).values()


def test_without_a_sheet_there_is_plain_paper_with_a_scale_and_north(make_map):
    drawn = picture(make_map(shown=shown(), bar_text="20 m"))

    assert share(drawn, WHITE, 0, 100, 250, 300) == 1
    # 20 m at 2 px to the metre, 12 px from the rim.
    assert [drawn[x, 13] for x in (266, 269, 307, 309)] == [WHITE, BLACK, BLACK, WHITE]
    assert share(drawn, BLACK, 278, 340, 308, 388) > 0.1


@pytest.mark.parametrize(("back_deg", "x", "y"), [
    (0, 160, 373), (90, 293, 200), (180, 160, 27), (270, 27, 200)])
def test_outside_the_block_a_yellow_arrow_at_the_rim_points_back(make_map, back_deg, x, y):
    drawn = picture(make_map(shown=shown(me=Me(0, 0, 4, "fresh"), back_deg=float(back_deg))))

    assert drawn[x - 16, y - 16] == drawn[x + 16, y + 16] == YELLOW
    assert drawn[x, y] == BLACK


def test_nothing_is_drawn_beyond_the_map_s_own_box(make_map):
    one = make_map(shown=shown(field("resting"), me=Me(0, 0, 100, "fresh"), width_m=60.0))
    drawn = picture(one, (200, 150), (60, 40), (320, 240))

    outside = {pixel for (x, y), pixel in drawn.items()
               if not (60 <= x < 260 and 40 <= y < 190)}
    assert outside == {colour("#A30000")}
    assert colour("#A30000") not in {drawn[x, y] for x in range(60, 260) for y in range(40, 190)}


def test_a_light_and_a_size_that_change_draw_all_anew(make_map):
    one = make_map(shown=shown(field("resting"), me=Me(0, 0, 4, "fresh")))
    picture(one)
    one.palette = DUSK
    assert share(picture(one), BLACK, 20, 70, 220, 150) > 0.5
    wide = picture(one, (400, 200))
    assert wide[200, 100] == ME


def test_with_nothing_to_show_it_is_empty_and_takes_it_back(make_map):
    one = make_map(shown=shown(field("resting"), me=Me(0, 0, 4, "fresh")))
    before = picture(one)
    kept, one.shown = one.shown, None
    assert set(picture(one).values()) == {WHITE}
    one.shown = kept
    assert picture(one) == before


def test_a_touch_does_nothing(make_map):
    from kivy.tests.common import UnitTestTouch

    one = make_map(shown=shown(field("ready")))
    before = picture(one)
    touch = UnitTestTouch(100, 100)
    answers = [one.dispatch(event, touch)
               for event in ("on_touch_down", "on_touch_move", "on_touch_up")]

    assert not any(answers)
    assert picture(one) == before
