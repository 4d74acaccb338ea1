"""How long a frame of the map takes as its carrier walks, beside a bare window's in the same run.

It asserts nothing. 300 cells in all five states, 2,000 points of track, 60 plots, a screen of
540 by 1200 pixels that is drawn for real.

Run: python tests/bench/phone_map.py
"""

import dataclasses
import math
import os
import statistics
import time

os.environ.update(
    KIVY_NO_ARGS="1", KIVY_NO_CONFIG="1", KIVY_NO_FILELOG="1", KIVY_LOG_MODE="PYTHON",
    KIVY_WINDOW="sdl2", KIVY_CLIPBOARD="dummy", KIVY_DPI="210", KIVY_METRICS_DENSITY="1.3125",
    KIVY_METRICS_FONTSCALE="1.0", KCFG_GRAPHICS_WIDTH="540", KCFG_GRAPHICS_HEIGHT="1200",
    KCFG_GRAPHICS_MULTISAMPLES="0", KCFG_GRAPHICS_MAXFPS="0")
if not os.environ.get("DISPLAY"):
    os.environ["SDL_VIDEODRIVER"] = "offscreen"

from kivy.base import EventLoop, runTouchApp
from kivy.core.window import Window
from kivy.graphics.opengl import GL_RGB, GL_UNSIGNED_BYTE, glReadPixels
from kivy.uix.floatlayout import FloatLayout

from fieldapp.ground import Band
from fieldapp.ground.slices import whole
from fieldapp.phone.ground_map import WIDTHS_M, bar_of
from fieldapp.phone.map_shown import Ground, MapShown, Me, PlotShown
from fieldapp.ui.map_canvas import MapCanvas

FRAMES = 200
COLUMNS, ROWS, SIDE_M = 20, 15, 100.0
STATES: tuple[Band, ...] = ("ready", "resting", "unsurveyed", "taken", "closed")


def cell(index: int) -> Ground:
    west, south = index % COLUMNS * SIDE_M, index // COLUMNS * SIDE_M
    east, north = west + SIDE_M, south + SIDE_M
    ring = ((west, south), (east, south), (east, north), (west + 30, north - 5), (west, north),
            (west, south))
    shape = ((ring,),)
    return Ground(f"{chr(65 + index % COLUMNS)}{index // COLUMNS + 1:02d}",
                  STATES[(index * 7 + index // COLUMNS) % 5], shape, tuple(whole(shape)),
                  (west + SIDE_M / 2, south + SIDE_M / 2), (west, south, east, north))


def block() -> MapShown:
    wide, high = COLUMNS * SIDE_M, ROWS * SIDE_M
    way = [(wide / 2 + k * 0.1 + 40 * math.sin(k / 50), high / 2 + 60 * math.cos(k / 90))
           for k in range(2000)]
    rim = ((0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high), (0.0, 0.0))
    return MapShown(
        cells=tuple(cell(index) for index in range(COLUMNS * ROWS)), closed=(),
        outline=((rim,),), me=None, marks=(),
        plots=tuple(PlotShown(f"{k:03d}", 30.0 + k * 33, 20 + k * 24.5, "left")
                    for k in range(60)),
        track=(tuple(way[:1000]), tuple(way[999:])), centre=(wide / 2, high / 2),
        span_m=(wide, high), bar_m=bar_of(wide), north_deg=0.0, back_deg=None, sheet_day=None)


def draw() -> None:
    """Draw one frame, and wait until its pixels are there."""
    Window.canvas.ask_update()
    EventLoop.idle()
    glReadPixels(0, 0, 1, 1, GL_RGB, GL_UNSIGNED_BYTE)


def bare_ms() -> float:
    began = time.perf_counter()
    draw()
    return (time.perf_counter() - began) * 1000


def walk(map_canvas: MapCanvas, shown: MapShown, span_m: tuple[float, float]) -> list[float]:
    """Walk over the block, half a metre a frame; the first frame is the one that builds."""
    spans = []
    for frame in range(FRAMES):
        x = 900 + frame * 0.5
        began = time.perf_counter()
        map_canvas.shown = dataclasses.replace(
            shown, me=Me(x, 700.0, 5.0, "fresh"), centre=(x, 700.0), span_m=span_m)
        draw()
        spans.append((time.perf_counter() - began) * 1000)
    return spans


def measured() -> tuple[float, dict[float, list[float]]]:
    """Give a bare window's median frame, and all frames by the width of map shown. [ms], [m]."""
    root, shown = FloatLayout(), block()
    runTouchApp(root, embedded=True)
    for _ in range(10):
        EventLoop.idle()
    bare = statistics.median(bare_ms() for _ in range(FRAMES))
    map_canvas = MapCanvas(bar_text="50 m", sheet_text="sheet")
    root.add_widget(map_canvas)
    spans = ((WIDTHS_M[0], 0.0), (WIDTHS_M[1], 0.0), shown.span_m)
    return bare, {span_m[0]: walk(map_canvas, shown, span_m) for span_m in spans}


def main() -> None:
    bare, walks = measured()
    print(f"bare window: median {bare:.1f} ms a frame")
    for wide_m, spans in walks.items():
        median = statistics.median(spans)
        print(f"map {wide_m:.0f} m across: median {median:.1f} ms a frame, worst "
              f"{max(spans[1:]):.1f}, the frame that builds it {spans[0]:.1f}; "
              f"{median / bare:.1f} times the bare window")


if __name__ == "__main__":
    main()
