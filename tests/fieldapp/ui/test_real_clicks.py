"""The whole app as a person starts it, with real clicks on a screen that nobody looks at.

Where the programs for it are missing it is skipped, unless told that there must be a window.
"""

import os
import select
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from fieldapp.device.journal import Journal

pytestmark = pytest.mark.draws

FALLOW = Path(sys.executable).with_name("fallow")
PLACE = "-46.4,169.4"
SIZE = (412, 915)
PATIENCE_S = 30.0
PRESS_S = 0.15
#: Longer than a key is deaf after it was pressed, and than a page is after it opened.
REST_S = 0.9


def patiently(ask: Callable[[], str | bool]) -> str | bool:
    until = time.monotonic() + PATIENCE_S
    while not (found := ask()):
        assert time.monotonic() < until, "it did not come about in time"
        time.sleep(0.05)
    return found


@pytest.fixture
def display() -> Iterator[str]:
    missing = [name for name in ("Xvfb", "xdotool") if shutil.which(name) is None]
    if missing and os.environ.get("FALLOW_MUST_DRAW"):
        pytest.fail(f"no {', '.join(missing)}: apt-get install xvfb xdotool")
    if missing:
        pytest.skip(f"no {', '.join(missing)}: apt-get install xvfb xdotool")
    ours, its = os.pipe()
    # Without -noreset it begins anew when the last to look at it goes, and turns away who comes.
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(its), "-screen", "0", "600x1000x24", "-nolisten", "tcp",
         "-noreset"],
        pass_fds=[its], stderr=subprocess.DEVNULL)
    os.close(its)
    try:
        with os.fdopen(ours) as told:
            assert select.select([told], [], [], PATIENCE_S)[0], "Xvfb does not start"
            yield f":{told.readline().strip()}"
    finally:
        server.terminate()
        server.wait(PATIENCE_S)


class Desk:
    """The command in a process of its own, and a mouse over its window."""

    def __init__(self, display: str, phone: Path) -> None:
        kept = {name: value for name, value in os.environ.items()
                if not name.startswith(("KIVY_", "KCFG_", "SDL_", "WAYLAND_"))}
        self._env = {**kept, "DISPLAY": display}
        self.app = subprocess.Popen(
            [FALLOW, "field", phone, "--at", PLACE, "--size", f"{SIZE[0]}x{SIZE[1]}"],
            env=self._env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        try:
            self._window = patiently(self._find)
        except BaseException:
            self.app.kill()
            raise

    def _mouse(self, *words: object) -> str:
        done = subprocess.run(["xdotool", *map(str, words)], env=self._env, text=True,
                              capture_output=True, check=False)
        return done.stdout.strip()

    def _find(self) -> str:
        """The window bears its name once the screens are made."""
        assert self.app.poll() is None, self.app.communicate()
        found = self._mouse("search", "--pid", self.app.pid).split()
        return next((one for one in found if self._mouse("getwindowname", one) == "Fallow"), "")

    def click(self, at: tuple[float, float]) -> None:
        time.sleep(REST_S)
        self._mouse("mousemove", "--window", self._window, round(at[0]), round(at[1]))
        self._mouse("mousedown", 1, "sleep", PRESS_S, "mouseup", 1)

    def close(self) -> tuple[int, str, str]:
        self.app.terminate()
        out, err = self.app.communicate(timeout=PATIENCE_S)
        return self.app.returncode, out, err


def test_real_clicks_start_an_outing_and_note_one_bag(display, bench, make_sheet, tmp_path):
    bench.clock.set_to(datetime.now(UTC))
    hand = bench.open(make_sheet(), name="looked at", size=SIZE)
    at = {}
    for name in ("who MT", "role picker", "start", "bag"):
        face = hand.face(name)
        at[name] = (face.center_x, SIZE[1] - face.center_y)
        if name != "bag":
            hand.press(name)
    folder = bench.folder(make_sheet(), "clicked")
    with folder.journal(folder.in_use()) as journal:
        desk = Desk(display, tmp_path / "clicked")
        try:
            desk.click(at["who MT"])
            desk.click(at["role picker"])
            desk.click(at["start"])
            patiently(lambda: "outing" in kinds(journal))
            desk.click(at["bag"])
            patiently(lambda: "bag" in kinds(journal))
        finally:
            code, out, err = desk.close()
        records = list(journal.records())

    assert code == 0, err
    assert out.strip() == str(tmp_path / "clicked")
    assert f"{folder.out}/*.handover.zip" in err
    assert "Traceback" not in err
    start, bag, track = records
    assert (start["kind"], start["state"], start["person"]) == ("outing", "start", "MT")
    assert (bag["kind"], bag["bags"], bag["person"]) == ("bag", 1, "MT")
    assert bag["press_ms"] >= 80
    assert bag["where"]["lat"] == -46.4
    assert track["kind"] == "track", "closing the window writes the walk gathered"


def test_a_screen_answers_whoever_comes_while_another_goes(display):
    # 2026-11-29: the app found no display at times, as xdotool looked for its window meanwhile.
    asks = ["xdotool", "getdisplaygeometry"]
    there = {**os.environ, "DISPLAY": display}
    for _ in range(30):
        asking = [subprocess.Popen(asks, env=there, stdout=subprocess.DEVNULL) for _ in range(4)]
        assert [one.wait(PATIENCE_S) for one in asking] == [0, 0, 0, 0]


def kinds(journal: Journal) -> list[str]:
    return [one["kind"] for one in journal.records()]
