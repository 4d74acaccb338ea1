"""One real window a process, one app a test, and time that only the test moves.

Where the graphics libraries are missing the tests that need a window are skipped, with one line
that says what to install; CI installs them and refuses to skip.
"""

import ctypes.util
import logging
import os
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

os.environ.update(
    KIVY_NO_ARGS="1", KIVY_NO_CONFIG="1", KIVY_NO_FILELOG="1", KIVY_LOG_MODE="PYTHON",
    KIVY_WINDOW="sdl2", KIVY_CLIPBOARD="dummy",
    KIVY_DPI="160", KIVY_METRICS_DENSITY="1", KIVY_METRICS_FONTSCALE="1.0",
    KCFG_GRAPHICS_WIDTH="540", KCFG_GRAPHICS_HEIGHT="1200",  # what is drawn offscreen never grows
    KCFG_GRAPHICS_MULTISAMPLES="0", KCFG_GRAPHICS_MAXFPS="0", KCFG_KIVY_EXIT_ON_ESCAPE="0",
)
if not os.environ.get("DISPLAY"):
    os.environ["SDL_VIDEODRIVER"] = "offscreen"
logging.getLogger("kivy").addFilter(
    lambda record: not record.getMessage().startswith(("Input: MTDev", "Cutbuffer:")))

import pytest  # noqa: E402

from fieldapp.device.buzz import NoBuzz  # noqa: E402
from fieldapp.device.clock import SetClock  # noqa: E402
from fieldapp.device.location import FixedPoint, Location  # noqa: E402
from fieldapp.device.pairing import Pairing, pairing_json  # noqa: E402
from fieldapp.device.phone_folder import PhoneFolder  # noqa: E402
from fieldapp.ground import pack_sheet  # noqa: E402
from fieldapp.phone.phone import Parts, Phone  # noqa: E402

#: Set by CI: there a skip is a fault.
MUST = "FALLOW_MUST_DRAW"
MISSING = [name for name in ("GL", "EGL") if ctypes.util.find_library(name) is None]
WHAT = "no " + ", ".join(f"lib{name}" for name in MISSING) + ": apt-get install libgl1 libegl1"
KEY = bytes(range(32))
NOON = datetime(2026, 2, 10, 0, 0, tzinfo=UTC)  # one in the afternoon at the block


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Skip what needs a window where there can be none, unless told that there must be one."""
    here = Path(__file__).parent
    if not MISSING or os.environ.get(MUST):
        return
    for item in items:
        if item.path.is_relative_to(here) and "draws" in item.keywords:
            item.add_marker(pytest.mark.skip(reason=WHAT))


class Battery:
    """A battery whose charge the test sets; and the room left, in MB."""

    def __init__(self) -> None:
        self.left_pct: int | None = 71
        self.free_mb: float | None = 9000.0


class Hand:
    """A hand on a running app: frames and the clock move only when the test says so."""

    now: float | None = None  # shared by all tests: Kivy's clock must never run backwards

    def __init__(self, app: Any, phone: Phone, clock: SetClock) -> None:
        from kivy.base import EventLoop, runTouchApp
        from kivy.clock import Clock
        from kivy.config import Config
        from kivy.core.window import Window
        for name, _ in Config.items("input"):
            Config.remove_option("input", name)
        if Hand.now is None:
            Hand.now = Clock.time()
            Clock.time = lambda: Hand.now
        self.app, self.phone, self.clock = app, phone, clock
        self.loop, self.kivy_clock, self.window = EventLoop, Clock, Window
        app._run_prepare()  # private; App.run() would block
        runTouchApp(embedded=True)
        self.wait(0.1)

    @property
    def root(self) -> Any:
        return self.app.root

    def wait(self, seconds: float = 1 / 20, step: float = 1 / 20) -> None:
        for _ in range(max(1, round(seconds / step))):
            assert Hand.now is not None
            Hand.now += step
            self.clock.advance(timedelta(seconds=step))
            self.loop.idle()

    def face(self, name: str) -> Any:
        found = [one for one in self.root.faces() if one.key.name == name]
        assert found, (name, self.root.name, self.names(), self.root.given[-3:], self.said())
        return found[0]

    def names(self) -> list[str]:
        return [one.key.name for one in self.root.faces()]

    def said(self) -> str:
        return str(self.root.look.tell(self.root._said[0]))

    def touch(self, x: float, y: float) -> Any:
        from kivy.tests.common import UnitTestTouch
        touch = UnitTestTouch(x, y)
        touch.touch_down()
        return touch

    def press(self, name: str, seconds: float = 0.15) -> None:
        """Press a key with a still thumb; a slow or hold key for as long as it asks."""
        self.wait(0.5)
        face = self.face(name)
        seconds = max(seconds, {"slow": 0.5, "hold": 2.1}.get(face.key.kind, 0.0))
        touch = self.touch(face.center_x, face.center_y)
        self.wait(seconds)
        touch.touch_up()
        self.wait(0.3)

    def presses(self, *names: str) -> int:
        for name in names:
            self.press(name)
        return len(names)

    def resize(self, width: int, height: int) -> None:
        if tuple(self.window.size) != (width, height):
            self.window.size = (width, height)
            self.wait(0.1)

    def shot(self, path: Path) -> Path:
        """Write the whole window, opaque, in exactly this file."""
        from kivy.graphics.opengl import GL_RGB, GL_UNSIGNED_BYTE, glReadPixels
        self.window.dispatch("on_draw")
        width, height = map(int, self.window.size)
        self.window._win.save_bytes_in_png(
            str(path), glReadPixels(0, 0, width, height, GL_RGB, GL_UNSIGNED_BYTE), width, height)
        return path

    def stop(self) -> None:
        self.app.stop()
        self.fall_silent()
        self.phone.close()

    def fall_silent(self) -> None:
        """Take the app off the window and the clock; it is told nothing and writes nothing."""
        for child in self.window.children[:]:
            self.window.remove_widget(child)
        self.loop.touches.clear()
        for event in self.kivy_clock.get_events():
            event.cancel()


class Bench:
    """Makes phones in folders of their own, with a sheet if wanted, and opens their apps."""

    def __init__(self, tmp_path: Path) -> None:
        self.tmp_path = tmp_path
        self.battery = Battery()
        self.clock = SetClock(NOON)
        self.hands: list[Hand] = []
        self.killed: list[Hand] = []

    def folder(self, sheet: dict[str, Any] | None, name: str = "phone") -> PhoneFolder:
        folder = PhoneFolder(self.tmp_path / name)
        if sheet is not None and not folder.in_use().block:
            self.bring(folder, sheet)
        return folder

    def bring(self, folder: PhoneFolder, sheet: dict[str, Any]) -> None:
        pairing = Pairing(sheet["block"]["id"], sheet["block"]["name"], sheet["for"], KEY)
        folder.bring("p3.pairing.json", pairing_json(pairing))
        folder.bring("p3.sheet.zip", pack_sheet(sheet, program="0.1.0", key=KEY))
        taken = folder.take_in()
        assert [one.kind for one in taken] == ["pairing", "sheet"], taken

    def phone(self, sheet: dict[str, Any] | None, location: Location,
              name: str = "phone") -> Phone:
        return Phone(Parts(
            self.folder(sheet, name), self.clock, location, lambda: self.battery.left_pct,
            "0.1.0", UTC, lambda: self.battery.free_mb))

    def open(self, sheet: dict[str, Any] | None = None, *, at: Location | None = None,
             name: str = "phone", size: tuple[int, int] = (360, 568)) -> Hand:
        from fieldapp.ui.app import FieldApp
        phone = self.phone(sheet, at or FixedPoint(-46.4, 169.4, 4.0), name)
        hand = Hand(FieldApp(phone, NoBuzz(), silent=True), phone, self.clock)
        hand.resize(*size)
        self.hands.append(hand)
        return hand

    def kill(self, hand: Hand) -> None:
        """End an app as a kill does; its file handles are let go of after the test."""
        hand.fall_silent()
        self.hands.remove(hand)
        self.killed.append(hand)

    def stop(self) -> None:
        for hand in self.hands:
            hand.stop()
        for hand in self.killed:
            hand.phone.close()
        self.hands, self.killed = [], []


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    made = Bench(tmp_path)
    yield made
    made.stop()


@pytest.fixture
def started() -> Callable[[Hand, str, str], Hand]:
    """Start an outing by pressing the screens."""
    def start(hand: Hand, person: str = "MT", role: str = "picker") -> Hand:
        hand.presses(f"who {person}", f"role {role}", "start")
        return hand
    return start


AT = (-46.4, 169.4)
M_PER_DEG = (111_150.0, 76_900.0)


def box(west: float, south: float, east: float, north: float) -> list[Any]:
    return [[[[west, south], [east, south], [east, north], [west, north], [west, south]]]]


def cell(name: str, column: int, row: int, state: str, **more: Any) -> dict[str, Any]:
    return {"cell": name, "shape": box(100 * column, 100 * row, 100 * column + 100,
                                       100 * row + 100),
            "ground_class": "lawn", "state": state, "why": "by the shed", "rest_ends": None,
            "then": None, "left_kg": None, "left_bags": None, **more}


def plot(name: str, x: float, y: float, **more: Any) -> dict[str, Any]:
    return {"plot": name, "cell": "A02", "at": [x, y], "when": "survey", "spare": False,
            "again": False, "ground_class": "lawn", **more}


PEOPLE = [{"code": code, "call": call} for code, call in (
    ("MT", "M.T."), ("RK", "R.K."), ("SW", "S.W."), ("AR", "A.R."), ("BT", "B.T."),
    ("CM", "C.M."), ("DW", "D.W."))]
CELLS = [
    cell("A01", 0, 0, "ready", left_kg=800, left_bags=118),
    cell("B01", 1, 0, "resting", rest_ends="2026-02-20", then="ready"),
    cell("C01", 2, 0, "unsurveyed"),
    cell("A02", 0, 1, "closed", why="nesting"),
    cell("B02", 1, 1, "taken", left_kg=0, left_bags=0),
    cell("C02", 2, 1, "ready", left_kg=300, left_bags=44)]


@pytest.fixture
def make_sheet() -> Callable[..., dict[str, Any]]:
    """Make the sheet of a mire with a cell of each state, plots, a pile, hazards and a gate."""
    def make(**changes: Any) -> dict[str, Any]:
        return {
            "sheet": 1, "id": "0a1b2c3d", "block": {"id": "km7q2x4a", "name": "Kettle Mire"},
            "for": "p3", "made_at": "2026-02-09T05:00:00.000Z",
            "good_until": "2026-02-16T05:00:00.000Z", "zone": "Pacific/Auckland",
            "season_start": "07-01",
            "map": {"at": list(AT),
                    "to_m": [[0, 0, M_PER_DEG[1], 0, 0, 0], [0, M_PER_DEG[0], 0, 0, 0, 0]],
                    "to_deg": [[0, 0, 1 / M_PER_DEG[0], 0, 0, 0],
                               [0, 1 / M_PER_DEG[1], 0, 0, 0, 0]]},
            "cell_m": 100, "outline": box(0, 0, 300, 200), "cells": CELLS, "closures": [],
            "pegs": [{"name": "peg 1", "at": [10, 10]}],
            "marks": [{"what": "pile", "name": "P1-006", "at": [60, 30], "bags": 5.5},
                      {"what": "hazard", "name": "hazard 1", "at": [80, 70], "bags": None}],
            "permits": [], "people": PEOPLE,
            "plots": [plot("030", 30, 40), plot("031", 70, 60), plot("032", 250, 50)],
            "probes": 3, "frame_m": 0.5, "check_in_min": 60, "declination_deg": 23.6,
            "gate": [-300, -200],
            "bag_types": [{"type": "sack", "wet_kg": 88, "dry_kg": 6.8}], "label_from": 14,
            "held": [], **changes}
    return make


class Spot:
    """A place that the test moves: metres on the sheet, or nowhere."""

    trouble = ""

    def __init__(self, x: float = 50, y: float = 50) -> None:
        from fieldapp.record import Where
        self._where = Where
        self.go(x, y)

    def go(self, x: float, y: float, *, acc_m: float = 4.0, age_s: float = 1.0,
           lag_s: float | None = None) -> None:
        self.fix = self._where(AT[0] + y / M_PER_DEG[0], AT[1] + x / M_PER_DEG[1], age_s, acc_m,
                               lag_s)

    def lose(self) -> None:
        self.fix = None

    def at(self, now: datetime) -> Any:
        return self.fix

    def between(self, after: datetime, until: datetime) -> list[Any]:
        if self.fix is None or self.fix.age_s > 30 or until <= after:
            return []
        return [(until, self.fix.lat, self.fix.lon, self.fix.acc_m)]


@pytest.fixture
def spot() -> Callable[..., Spot]:
    """Make places that the test moves."""
    return Spot
