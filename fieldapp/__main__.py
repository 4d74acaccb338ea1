"""The phone app in a window on a desk: `python -m fieldapp`.

Rule 1: what Kivy reads of the environment is set before Kivy is first imported, and Kivy never
reads our arguments.
Rule 2: a window that nobody could see is refused, not opened.
"""

import argparse
import logging
import os
import sys
from collections.abc import Sequence
from datetime import UTC
from importlib.util import find_spec
from pathlib import Path

import fieldapp
from fieldapp.device.buzz import PhoneBuzz
from fieldapp.device.clock import SystemClock
from fieldapp.device.desk import (
    PHONE,
    SIZE,
    SMALLEST,
    Desk,
    UsageError,
    desk_of,
    place_of,
    where_to,
)
from fieldapp.device.journal import JournalError
from fieldapp.device.phone_folder import PhoneFolder
from fieldapp.device.power import battery_pct
from fieldapp.device.store import StoreError
from fieldapp.phone.phone import Parts, Phone

WRONG_USAGE, COULD_NOT = 2, 3
#: One dp is one pixel; one pointer that is one finger; Esc is the phone's back key.
_KIVY = {
    "KIVY_NO_ARGS": "1", "KIVY_NO_CONFIG": "1", "KIVY_NO_FILELOG": "1",
    "KIVY_LOG_MODE": "PYTHON", "KIVY_WINDOW": "sdl2", "KIVY_CLIPBOARD": "sdl2",
    "KIVY_DPI": "160", "KIVY_METRICS_DENSITY": "1", "KIVY_METRICS_FONTSCALE": "1",
    "KCFG_GRAPHICS_MULTISAMPLES": "0", "KCFG_KIVY_EXIT_ON_ESCAPE": "0",
    "KCFG_INPUT_MOUSE": "mouse,disable_multitouch",
    "KCFG_GRAPHICS_MINIMUM_WIDTH": str(SMALLEST[0]),
    "KCFG_GRAPHICS_MINIMUM_HEIGHT": str(SMALLEST[1])}
#: What Kivy reports of devices that a desk need not have.
_NO_TROUBLE = ("Input: MTDev", "Cutbuffer:")


class NoWindowError(Exception):
    """The app cannot be shown here; the message says what is missing."""


def refuse_unseen() -> None:
    """Refuse where no window can be shown.

    Raises
    ------
    NoWindowError
        If Kivy is not installed, or Linux has no display. A video driver named in
        SDL_VIDEODRIVER is somebody's own choice and passes.
    """
    if find_spec("kivy") is None:
        late = sys.version_info >= (3, 14)
        raise NoWindowError(
            "Kivy, which draws the screens, is not installed: " + (
                "it has no wheels for Python 3.14 yet; use Python 3.11 to 3.13" if late
                else "pip install kivy"))
    asked = ("DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER")
    if sys.platform == "linux" and not any(os.environ.get(name) for name in asked):
        raise NoWindowError("there is no display (neither DISPLAY nor WAYLAND_DISPLAY is set): "
                            "run it on a desktop")


def set_kivy_up(size: tuple[int, int]) -> None:
    """Set what Kivy reads of the environment; before Kivy is first imported.

    Parameters
    ----------
    size : (int, int)
        Width and height of the window. [px]
    """
    os.environ.update(_KIVY, KCFG_GRAPHICS_WIDTH=str(size[0]), KCFG_GRAPHICS_HEIGHT=str(size[1]))
    if sys.platform == "linux":
        # Else SDL falls back to drawing where nobody sees it, when a display does not answer.
        os.environ.setdefault("SDL_VIDEODRIVER", "x11,wayland")
    logging.getLogger("kivy").addFilter(
        lambda record: not record.getMessage().startswith(_NO_TROUBLE))


def show(desk: Desk) -> None:
    """Show the app until its window is closed.

    Parameters
    ----------
    desk : Desk
        What was asked for.

    Raises
    ------
    NoWindowError
        If no window could be opened.
    JournalError, StoreError, OSError
        If the phone's folder is damaged or out of reach.
    """
    set_kivy_up(desk.size)
    # Only now: importing the screens imports Kivy, and that opens the window.
    from fieldapp.ui.desk_window import has_window, run_app

    if not has_window():
        raise NoWindowError("no window could be opened: the display does not answer, or the "
                            "graphics libraries are missing (Debian: libgl1 libegl1)")
    folder, clock = PhoneFolder(desk.phone), SystemClock()
    zone = clock.now().astimezone().tzinfo or UTC
    phone = Phone(Parts(folder, clock, place_of(desk, folder, clock.now()), battery_pct,
                        fieldapp.__version__, zone))
    try:
        run_app(phone, PhoneBuzz())
    finally:
        phone.close()


def main(words: Sequence[str] | None = None) -> int:
    """Read the command line and show the app.

    Parameters
    ----------
    words : sequence of str or None
        The arguments; None is those the program was started with.

    Returns
    -------
    int
        0 done, 2 wrong usage, 3 could not.
    """
    asked = _arguments().parse_args(_joined(sys.argv[1:] if words is None else words))
    try:
        desk = desk_of(asked.phone, size=asked.size, at=asked.at, replay=asked.replay)
        refuse_unseen()
        sys.stderr.write(where_to(desk.phone) + "\n")
        show(desk)
    except UsageError as wrong:
        sys.stderr.write(f"{wrong}\n")
        return WRONG_USAGE
    except (NoWindowError, JournalError, StoreError, OSError) as wrong:
        sys.stderr.write(f"{wrong}\n")
        return COULD_NOT
    return 0


def _arguments() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser("python -m fieldapp", description="The phone in a window.")
    parser.add_argument("phone", nargs="?", type=Path, default=PHONE, metavar="PHONE",
                        help=f"the phone's folder; {PHONE} if left out")
    parser.add_argument("--replay", type=Path, metavar="FILE.gpx",
                        help="play a receiver's track again, from now on")
    parser.add_argument("--at", metavar="LAT,LON", help="lie still at a place")
    parser.add_argument("--size", default=SIZE, metavar="WxH", help=f"the window; {SIZE}")
    return parser


def _joined(words: Sequence[str]) -> list[str]:
    """Join `--at` to its value: argparse takes a southern latitude for an option."""
    joined: list[str] = []
    for word in words:
        if joined and joined[-1] == "--at":
            joined[-1] = f"--at={word}"
        else:
            joined.append(word)
    return joined


if __name__ == "__main__":
    sys.exit(main())
