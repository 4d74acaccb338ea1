"""The phone's presses, start, frames and memory, each beside a baseline of the same run.

It asserts nothing. All is drawn for real, where nobody sees it; each part runs in a process of
its own. The phone has a ground sheet of 300 cells and 200 plots; its time is moved by hand, so
that no press waits for the next, but what is measured is the machine's.
Run: python tests/bench/phone.py
"""

import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, timedelta
from pathlib import Path
from typing import Any

from phone_reads import FIRST, WHERE, bare_commit, sheet_fields

from fieldapp.__main__ import set_kivy_up, show
from fieldapp.device.clock import SetClock
from fieldapp.device.desk import desk_of
from fieldapp.device.location import FixedPoint
from fieldapp.device.pairing import Pairing, pairing_json
from fieldapp.device.phone_folder import PhoneFolder
from fieldapp.ground import pack_sheet
from fieldapp.phone.phone import Parts, Phone

PRESSES = 400
STARTS = 7
SIZE = "412x915"
COLUMNS, ROWS = 20, 15
KEY = bytes(range(32))
#: Of the phone's time: between two bags, and how long a thumb stays. [s]
REST_S, PRESS_S = 1.0, 0.15
STEP_S = 0.05


def pair(folder: PhoneFolder) -> None:
    cells = [cell(column, row) for row in range(ROWS) for column in range(COLUMNS)]
    sheet: dict[str, Any] = {**sheet_fields(), "cell_m": 25, "cells": cells, "held": []}
    block = sheet["block"]
    folder.bring("p3.pairing.json", pairing_json(Pairing(block["id"], block["name"], "p3", KEY)))
    folder.bring("p3.sheet.zip", pack_sheet(sheet, program="0.1.0", key=KEY))
    refused = [one.why for one in folder.take_in() if one.why]
    if refused:
        sys.exit("; ".join(refused))


def cell(column: int, row: int) -> dict[str, Any]:
    x, y = 25 * column, 25 * row
    ring = [[x, y], [x + 25, y], [x + 25, y + 25], [x, y + 25], [x, y]]
    return {"cell": f"{chr(65 + column)}{row + 1:02d}", "shape": [[ring]], "ground_class": "lawn",
            "state": "ready", "why": "", "rest_ends": None, "then": None, "left_kg": 800,
            "left_bags": 118}


class Felt:
    """A motor that notes when it moved."""

    def __init__(self) -> None:
        self.at = 0.0

    def pattern(self, on_off_ms: Sequence[int]) -> bool:
        self.at = time.perf_counter()
        return True


class Thumb:
    """Presses keys of a running app, whose time it moves."""

    def __init__(self, root: Any, clock: SetClock) -> None:
        from kivy.base import EventLoop
        from kivy.clock import Clock
        self._root, self._clock, self._idle, self._now = root, clock, EventLoop.idle, Clock.time()
        Clock.time = lambda: self._now

    def wait(self, seconds: float) -> None:
        for _ in range(round(seconds / STEP_S)):
            self._now += STEP_S
            self._clock.advance(timedelta(seconds=STEP_S))
            self._idle()

    def press(self, name: str) -> float:
        """Give the moment of release; all that the press does is done."""
        from kivy.tests.common import UnitTestTouch
        self.wait(REST_S)
        face = next(one for one in self._root.faces() if one.key.name == name)
        touch = UnitTestTouch(face.center_x, face.center_y)
        touch.touch_down()
        self.wait(PRESS_S)
        released = time.perf_counter()
        touch.touch_up()
        return released


def press(folder: Path) -> dict[str, float]:
    """Note bags: how long from the thumb's release to the disk, the sign and the frame."""
    from kivy.base import EventLoop, runTouchApp
    from kivy.graphics.opengl import GL_RGB, GL_UNSIGNED_BYTE, glReadPixels

    from fieldapp.ui.app import FieldApp
    commit = bare_commit(folder)
    phones, clock, felt = PhoneFolder(folder / "phone"), SetClock(FIRST), Felt()
    phone = Phone(Parts(phones, clock, FixedPoint(WHERE.lat, WHERE.lon, WHERE.acc_m),
                        lambda: 71, "0.1.0", UTC))
    called, on_disk, append = [0.0], [0.0], phone.journal.append

    def timed(*record: Any, **more: Any) -> dict[str, Any]:
        called[0] = time.perf_counter()
        written = append(*record, **more)
        on_disk[0] = time.perf_counter()
        return written

    phone.journal.append = timed  # type: ignore[method-assign]
    app = FieldApp(phone, felt, silent=True)
    app._run_prepare()
    runTouchApp(embedded=True)
    thumb = Thumb(app.root, clock)
    for name in ("who A", "role picker", "start"):
        thumb.press(name)
    spans: dict[str, list[float]] = {name: [] for name in ("bare", "append", "disk", "sign",
                                                           "frame")}
    for _ in range(PRESSES):
        released = thumb.press("bag")
        spans["append"].append(on_disk[0] - called[0])
        spans["disk"].append(on_disk[0] - released)
        spans["sign"].append(felt.at - released)
        EventLoop.idle()
        glReadPixels(0, 0, 1, 1, GL_RGB, GL_UNSIGNED_BYTE)
        spans["frame"].append(time.perf_counter() - released)
        began = time.perf_counter()
        commit()
        spans["bare"].append(time.perf_counter() - began)
    bags = phone.tally.bags_today(phone.now())
    if bags != PRESSES:
        sys.exit(f"{PRESSES} presses gave {bags} bags")
    app.stop()
    phone.close()
    return {name: 1000 * statistics.median(times) for name, times in spans.items()}


def after_two_frames() -> None:
    """Stop the app that will run once it has drawn twice."""
    from kivy.app import App
    from kivy.clock import Clock

    def wait(frames: int) -> None:
        if frames == 0:
            App.get_running_app().stop()
        else:
            Clock.schedule_once(lambda _: wait(frames - 1))
    Clock.schedule_once(lambda _: wait(2))


def bare(_: Path) -> dict[str, float]:
    """Open a window with nothing in it."""
    from kivy.app import App
    after_two_frames()
    App().run()
    return {}


def app(folder: Path) -> dict[str, float]:
    """Open the phone as `fallow field` does."""
    after_two_frames()
    show(desk_of(folder / "phone", size=SIZE, at=None, replay=None))
    return {}


def frames(_: Path) -> dict[str, float]:
    """Walk over the whole block on the map."""
    from phone_map import measured
    bare_ms, walks = measured()
    return {"bare": bare_ms, **{f"{wide_m:.0f}": statistics.median(spans)
                                for wide_m, spans in walks.items()}}


PARTS: Mapping[str, Callable[[Path], dict[str, float]]] = {
    "press": press, "bare": bare, "app": app, "frames": frames}


def child(part: str, folder: Path) -> None:
    found = PARTS[part](folder)
    most_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(json.dumps({**found, "memory_mb": most_kb / 1024}))


def run(part: str, folder: Path) -> dict[str, float]:
    """Run a part in a process of its own; `took_ms` is all of it, from start to end."""
    began = time.perf_counter()
    done = subprocess.run([sys.executable, __file__, part, str(folder)], capture_output=True,
                          text=True, check=False)
    took_ms = 1000 * (time.perf_counter() - began)
    if done.returncode != 0:
        sys.exit(f"{part}: {done.stderr}")
    found: dict[str, float] = json.loads(done.stdout)
    return {**found, "took_ms": took_ms}


def row(name: str, value: float, unit: str, base: float) -> None:
    print(f"{name:44}{value:9.2f} {unit:3}{value / base:7.2f}")


def main(folder: Path) -> None:
    pair(PhoneFolder(folder / "phone"))
    pressed = run("press", folder)
    drawn = run("frames", folder)
    starts = [(run("bare", folder), run("app", folder)) for _ in range(STARTS)]
    empty, own = (statistics.median(pair[i]["took_ms"] for pair in starts) for i in (0, 1))
    bare_mb, app_mb = (max(pair[i]["memory_mb"] for pair in starts) for i in (0, 1))

    print(f"{f'a press, median of {PRESSES}':58}ratio")
    for name, what in (("bare", "bare commit (SQLite, WAL, FULL)"),
                       ("append", "the record's own, from call to disk"),
                       ("disk", "release to disk"), ("sign", "release to sign"),
                       ("frame", "release to the frame that shows it")):
        row(f"  {what}", pressed[name], "ms", pressed["bare"])
    print(f"start to end with two frames, median of {STARTS}")
    row("  bare window", empty, "ms", empty)
    row("  the app", own, "ms", empty)
    print("a frame, walking; 540 by 1200 pixels")
    for name in ("bare", *(name for name in drawn if name.isdigit())):
        what = "bare window" if name == "bare" else f"map {name} m across"
        row(f"  {what}", drawn[name], "ms", drawn["bare"])
    print("memory at most")
    row("  bare window", bare_mb, "MB", bare_mb)
    row("  the app, just opened", app_mb, "MB", bare_mb)
    row(f"  the app, after {PRESSES} bags", pressed["memory_mb"], "MB", bare_mb)
    row("  the map alone, 540 by 1200", drawn["memory_mb"], "MB", bare_mb)


if __name__ == "__main__":
    os.environ["SDL_VIDEODRIVER"] = "offscreen"
    set_kivy_up((412, 915))
    os.environ["KCFG_GRAPHICS_MAXFPS"] = "0"
    if len(sys.argv) > 1:
        child(sys.argv[1], Path(sys.argv[2]))
    else:
        with tempfile.TemporaryDirectory() as made:
            main(Path(made))
