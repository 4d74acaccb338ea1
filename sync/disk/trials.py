"""The trials of a block folder: each draw of pairs, kept as it was drawn.

Rule 1: a draw is added and never changed; what became of it is worked out from the records.
Rule 2: written whole and safely, the one before kept beside it.
"""

import json
from collections import Counter
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from fieldapp.device.files import write_safely
from fieldapp.record import CELL
from sync.block import TrialDraw, TrialPair
from sync.disk.maps import read_json
from sync.errors import DiskError, SettingsError

TRIALS_FILE = "trials.json"
_BEFORE = "trials.before.json"


def trials_in(folder: Path, mistakes: list[str]) -> tuple[TrialDraw, ...]:
    """Read the draws of all trials; none without the file.

    Parameters
    ----------
    folder : Path
        The block folder.
    mistakes : list of str
        What is wrong is added to it, with draw, field and value.
    """
    path = folder / TRIALS_FILE
    if not path.is_file():
        return ()
    try:
        value = read_json(path)
    except SettingsError as wrong:
        mistakes.extend(wrong.mistakes)
        return ()
    given = value.get("draws") if isinstance(value, Mapping) else None
    if not isinstance(given, list) or value.get("trials") != 1:
        mistakes.append(f'{TRIALS_FILE}: write {{"trials": 1, "draws": […]}}; `fallow trial DIR '
                        "new` does")
        return ()
    draws = []
    for number, one in enumerate(given, 1):
        try:
            draws.append(_draw(one))
        except (KeyError, TypeError, ValueError, AttributeError) as wrong:
            mistakes.append(f"{TRIALS_FILE} draw {number}: {type(wrong).__name__} {wrong}; each "
                            "needs trial, treatment, drawn_on, seed and pairs")
    times = Counter(cell for d in draws for p in d.pairs for cell in (p.treated, p.other))
    mistakes.extend(f"{TRIALS_FILE} cell {cell!r}: is in {n} pairs, and may be in one"
                    for cell, n in times.items() if n > 1)
    return tuple(draws)


def add_draw(folder: Path, draw: TrialDraw) -> None:
    """Add a draw to the folder's trials.

    Parameters
    ----------
    folder : Path
        The block folder.
    draw : TrialDraw
        With cells that are in no other.

    Raises
    ------
    SettingsError
        If what is there cannot be read; then nothing is written.
    DiskError
        If it cannot be written.
    """
    mistakes: list[str] = []
    draws = trials_in(folder, mistakes)
    if mistakes:
        raise SettingsError(mistakes)
    path = folder / TRIALS_FILE
    text = json.dumps({"trials": 1, "draws": [_written(one) for one in (*draws, draw)]}, indent=1)
    try:
        if path.is_file():
            write_safely(folder / _BEFORE, path.read_bytes())
        write_safely(path, (text + "\n").encode())
    except OSError as wrong:
        raise DiskError(f"{path}: {wrong.strerror}") from wrong


def _draw(value: Mapping[str, Any]) -> TrialDraw:
    if not isinstance(value["seed"], int):
        raise ValueError(f"seed = {value['seed']!r}: write a whole number")
    return TrialDraw(
        str(value["trial"]), str(value["treatment"]), date.fromisoformat(value["drawn_on"]),
        value["seed"], tuple(
            TrialPair(_cell(p["treated"]), _cell(p["other"]), str(p["ground_class"]),
                      float(p["treated_l_m2"]), float(p["other_l_m2"]))
            for p in value["pairs"]),
    )


def _cell(value: object) -> str:
    if not isinstance(value, str) or not CELL.fullmatch(value):
        raise ValueError(f"cell {value!r}")
    return value


def _written(draw: TrialDraw) -> dict[str, Any]:
    return {
        "trial": draw.trial, "treatment": draw.treatment, "drawn_on": draw.drawn_on.isoformat(),
        "seed": draw.seed, "pairs": [vars(pair) for pair in draw.pairs],
    }
