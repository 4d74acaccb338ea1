"""The draws of plots in the block folder: appended, and nothing is taken out.

Rule 1: a draw that is replaced stays in the file, so that whoever walked it with an old ground
sheet has walked something.
Rule 2: the file is written whole and safely; the one before is kept as `plots.json.before`.
Rule 3: a file that was changed since it was read is not written over.
"""

import dataclasses
import json
from collections.abc import Collection, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from fieldapp.device.files import write_safely
from sync.disk.maps import PLOTS_FILE
from sync.errors import DiskError, IntakeError, SettingsError


@dataclasses.dataclass(frozen=True)
class Draws:
    """The draws as they were read.

    Attributes
    ----------
    draws : tuple of mapping
        As the file holds them.
    read : bytes or None
        The file; None if there is none.
    """

    draws: tuple[Mapping[str, Any], ...]
    read: bytes | None

    def standing(self) -> Mapping[str, Any] | None:
        """Give the last draw that the program made and that was not replaced; None if none."""
        made = [one for one in self.draws if one.get("drawn_on") and not one.get("replaced_on")]
        return made[-1] if made else None


def plots_of(draw: Mapping[str, Any]) -> tuple[str, ...]:
    """Name the plots of a draw, those walked again too."""
    return tuple(str(p["plot"]) for p in (*draw["plots"], *draw.get("walked_again", ())))


def read_draws(folder: Path) -> Draws:
    """Read the draws of a block folder that `load_block` has found sound.

    Parameters
    ----------
    folder : Path
        The block folder.

    Returns
    -------
    Draws
        None of them without the file.

    Raises
    ------
    DiskError
        If the file cannot be read.
    SettingsError
        If it holds no list of draws.
    """
    path = folder / PLOTS_FILE
    try:
        read = path.read_bytes() if path.is_file() else None
    except OSError as wrong:
        raise DiskError(f"{path}: {wrong.strerror}") from wrong
    if read is None:
        return Draws((), None)
    try:
        value = json.loads(read)
        return Draws(tuple(value["draws"]), read)
    except (ValueError, KeyError, TypeError) as wrong:
        raise SettingsError([f"{PLOTS_FILE}: not readable as draws: {wrong}"]) from wrong


def refuse_twice(draws: Draws, walked: Collection[str], *, redraw: bool) -> int | None:
    """Refuse a draw on top of one that nobody has walked yet.

    Parameters
    ----------
    draws : Draws
        As read.
    walked : collection of str
        Plots of the last draw that were read or skipped since it was drawn.
    redraw : bool
        Whether the last draw may be replaced.

    Returns
    -------
    int or None
        The place in the list of the draw that is replaced.

    Raises
    ------
    IntakeError
        If the last draw waits and may not be replaced, or was begun and may not be any more.
    """
    last = draws.standing()
    if last is None:
        return None
    told = f"draw {last['draw']} of {last['drawn_on']} (seed {last['seed']})"
    if walked:
        if redraw:
            raise IntakeError(
                f"{told}: {len(walked)} of its plots are walked already ({_some(walked)}), so it "
                "stands; draw without --redraw: what is left of it in the cells drawn is used up")
        return None
    if not redraw:
        count = sum(not p["spare"] for p in last["plots"]) + len(last.get("walked_again", ()))
        raise IntakeError(f"{told}: none of its {count} plots is walked yet; walk it, or say "
                          "--redraw to replace it")
    return draws.draws.index(last)


def _some(names: Collection[str]) -> str:
    shown = sorted(names)[:5]
    return ", ".join(shown) + (", …" if len(names) > len(shown) else "")


def keep_draw(
    folder: Path, draws: Draws, draw: Mapping[str, Any], *, replaced: int | None, on: date
) -> Path:
    """Append a draw to the file.

    Parameters
    ----------
    folder : Path
        The block folder.
    draws : Draws
        As read before the draw was made.
    draw : mapping
        Without its number.
    replaced : int or None
        Place in the list of the draw that it replaces.
    on : date
        Day of the draw.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    DiskError
        If it was changed since it was read, or cannot be written; what stood there stands.
    """
    path = folder / PLOTS_FILE
    kept: list[Mapping[str, Any]] = list(draws.draws)
    if replaced is not None:
        kept[replaced] = {**kept[replaced], "replaced_on": on.isoformat()}
    kept.append({"draw": _next(kept), **draw})
    content = json.dumps({"plots": 1, "draws": kept}, indent=1, ensure_ascii=False) + "\n"
    try:
        now = path.read_bytes() if path.is_file() else None
        if now != draws.read:
            raise DiskError(f"{PLOTS_FILE}: was changed while the plots were drawn; nothing is "
                            "written, draw again")
        if now is not None:
            write_safely(path.with_name(path.name + ".before"), now)
        write_safely(path, content.encode())
    except OSError as wrong:
        raise DiskError(f"{path}: {wrong.strerror}") from wrong
    return path


def _next(draws: Sequence[Mapping[str, Any]]) -> int:
    numbers = [one.get("draw") for one in draws]
    return 1 + max((n for n in numbers if isinstance(n, int)), default=0)
