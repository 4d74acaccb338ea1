"""What a phone at a desk is asked to be: its folder, its window's size, and where it is.

Rule 1: reading what was asked for writes nothing.
Rule 2: at a desk the place alone is made up, replayed or still; all else is the phone's own.
"""

import dataclasses
import math
import re
from datetime import datetime
from pathlib import Path

from fieldapp.device.location import FixedPoint, Location, LocationError, ReplayedGpx, replayed
from fieldapp.device.phone_folder import PhoneFolder
from fieldapp.device.stroll import ACC_M, stroll

#: In the current folder.
PHONE = Path("fallow-phone")
#: A common phone. [dp]
SIZE = "412x915"
#: The smallest phone that all pages fit, and a tablet. [dp]
SMALLEST, LARGEST = (360, 568), (1200, 2400)
#: Pictures of a window of another width come out skewed. [px]
WIDTH_STEP = 4


class UsageError(Exception):
    """An option that cannot be meant; the message shows it and says what can."""


@dataclasses.dataclass(frozen=True)
class Desk:
    """What a person asked for.

    Attributes
    ----------
    phone : Path
        The phone's folder.
    size : (int, int)
        Of the window, width and height. [dp]
    still : FixedPoint or None
        Where the phone lies, if it lies still.
    track : ReplayedGpx or None
        A receiver's track to play again, its first fix now.
    """

    phone: Path
    size: tuple[int, int]
    still: FixedPoint | None
    track: ReplayedGpx | None


def desk_of(phone: Path, *, size: str, at: str | None, replay: Path | None) -> Desk:
    """Read the options.

    Parameters
    ----------
    phone : Path
        The phone's folder; made when the app is shown.
    size : str
        As `412x915`. [dp]
    at : str or None
        As `-46.4,169.4`, WGS 84. [deg]
    replay : Path or None
        A GPX file.

    Returns
    -------
    Desk
        With all of it read; nothing is written.

    Raises
    ------
    UsageError
        If one cannot be meant, or two are of no use together.
    OSError
        If the GPX cannot be read.
    """
    if at is not None and replay is not None:
        raise UsageError("say --at or --replay, not both: a phone is in one place")
    still = None if at is None else FixedPoint(*_degrees(at), ACC_M)
    return Desk(phone, _size(size), still, None if replay is None else _track(replay))


def place_of(desk: Desk, folder: PhoneFolder, now: datetime) -> Location:
    """Give where the phone is: still, replayed, else a made-up walk over its sheet, else nowhere.

    Parameters
    ----------
    desk : Desk
        What was asked for.
    folder : PhoneFolder
        The phone's; the sheet is that of the install in use.
    now : datetime
        Aware; when a track or walk begins.

    Returns
    -------
    Location
        Never a place without a sheet or an option that says one.
    """
    if desk.still is not None:
        return desk.still
    if desk.track is not None:
        return desk.track.shifted_to(now)
    sheet = folder.sheet(folder.in_use())
    return ReplayedGpx(()) if sheet is None else stroll(sheet, start=now)


def where_to(phone: Path, block: Path | None = None) -> str:
    """Say where hand-overs will lie and how the shed takes them.

    Parameters
    ----------
    phone : Path
        The phone's folder.
    block : Path or None
        The block folder, if it is known.

    Returns
    -------
    str
        One line.
    """
    out = PhoneFolder(phone).out
    return (f"hand-overs will lie in {out}; the shed takes them with: "
            f"fallow take {block or 'DIR'} {out}/*.handover.zip")


def _size(text: str) -> tuple[int, int]:
    found = re.fullmatch(r"(\d{1,5})x(\d{1,5})", text, re.ASCII)
    width, height = (int(found[1]), int(found[2])) if found else (0, 0)
    if not (SMALLEST[0] <= width <= LARGEST[0] and SMALLEST[1] <= height <= LARGEST[1]
            and width % WIDTH_STEP == 0):
        raise UsageError(f"--size {text!r}: write it as {SIZE}, from {SMALLEST[0]}x{SMALLEST[1]} "
                         f"to {LARGEST[0]}x{LARGEST[1]}, the width a multiple of {WIDTH_STEP}")
    return width, height


def _degrees(text: str) -> tuple[float, float]:
    try:
        lat, lon = (float(part) for part in text.split(","))
    except ValueError:
        lat = lon = math.nan
    if not (abs(lat) <= 90.0 and abs(lon) <= 180.0):
        raise UsageError(f"--at {text!r}: write it as -46.4,169.4, degrees of latitude and "
                         "longitude")
    return lat, lon


def _track(path: Path) -> ReplayedGpx:
    try:
        return replayed(path.read_text(encoding="utf-8-sig"), acc_m=ACC_M)
    except UnicodeDecodeError:
        raise UsageError(f"--replay {path}: is no UTF-8 text") from None
    except LocationError as wrong:
        raise UsageError(f"--replay {path}: {wrong}") from wrong
