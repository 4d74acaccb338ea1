"""The words on a map, and the number that may stand in a cell.

Rule 1: each word passes through `say`, whole sentences at a time where they hold values, so that a
page in another language needs no other map.
Rule 2: figures are the document's; a cell whose kg nobody can tell has a dash, never a 0.
"""

from collections import Counter
from collections.abc import Callable, Container, Mapping
from datetime import date
from typing import Any, Literal

from sync.report.flag_rows import is_settled
from sync.report.map_layers import LAYER_WORDS, Layer
from sync.report.map_looks import STATES

Say = Callable[[str], str]
Number = Literal["none", "kg", "picked_pct", "rest_ends", "scrub", "water"]

NUMBERS: tuple[Number, ...] = ("none", "kg", "picked_pct", "rest_ends", "scrub", "water")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
NONE = "–"
#: Of each number, what a page says beside the map.
NUMBER_WORDS: Mapping[Number, str] = {
    "none": "no number",
    "kg": "kg that may be taken now",
    "picked_pct": "what this pick has taken of what may be taken, in %",
    "rest_ends": "year and month in which the rest ends",
    "scrub": "scrub at the latest survey, in % of the ground",
    "water": "water table at the latest survey, in mm; negative is below the moss surface",
}
_STATE_WORDS = (*STATES, "resting until {day}")
_PARTS = ("{kg} kg may be taken", "one open flag", "{count} open flags", "Map of {block} on {day}",
          "{cell} and its neighbours on {day}", "{count} {state}", "{day} {month} {year}")
_SIGNS = ("gate", "N", "open flag")
#: All that is passed to `say`, for whoever keeps a catalogue.
MAP_WORDS = (*MONTHS, *NUMBER_WORDS.values(), *_STATE_WORDS, *_PARTS, *_SIGNS, *LAYER_WORDS)


def as_it_is(text: str) -> str:
    """Say a word as it stands: the `say` of a page in English."""
    return text


def day_words(iso: str, say: Say = as_it_is) -> str:
    """Say a day in words, such as 14 Mar 2028.

    Parameters
    ----------
    iso : str
        As in the document.
    say : callable
        Gives a word in the page's language.

    Returns
    -------
    str
        With the month in letters: two numbers could be either way round.
    """
    day = date.fromisoformat(iso)
    return say("{day} {month} {year}").format(
        day=day.day, month=say(MONTHS[day.month - 1]), year=day.year)


def open_flags(
    document: Mapping[str, Any], rules: Container[str] | None = None
) -> Counter[str]:
    """Count the flags on each cell that no ruling settles, of some rules or of all."""
    return Counter(
        flag["cell"] for flag in document["flags"]
        if flag["cell"] and not is_settled(flag) and (rules is None or flag["rule"] in rules))


def cell_words(
    row: Mapping[str, Any], flags: int, say: Say = as_it_is, *, number: str = "",
    told: str = "",
) -> str:
    """Say a cell in one line: its name, state, what may be taken, and open flags.

    Parameters
    ----------
    row : mapping
        The cell's row of the document.
    flags : int
        Open flags on it.
    say : callable
        Gives a word in the page's language.
    number : str
        What is printed under the name, so that it is said as it is seen; empty if nothing is.
    told : str
        Its class on a layer, which is said in place of state and kg.

    Returns
    -------
    str
        Such as "D07, resting until 14 Mar 2028, 0 kg may be taken".
    """
    parts = [f"{row['cell']} {number}".strip(), told or _state_words(row, say)]
    if row["left_kg"] is not None and not told:
        parts.append(say("{kg} kg may be taken").format(kg=f"{row['left_kg']}"))
    if flags == 1:
        parts.append(say("one open flag"))
    elif flags:
        parts.append(say("{count} open flags").format(count=flags))
    return ", ".join(parts)


def _state_words(row: Mapping[str, Any], say: Say) -> str:
    if row["state"] == "resting" and row["rest_ends"]:
        return say("resting until {day}").format(day=day_words(row["rest_ends"], say))
    return say(row["state"])


def map_words(
    document: Mapping[str, Any], say: Say = as_it_is, layer: Layer | None = None
) -> str:
    """Say a whole map in one line: block, day, and how many cells are in which state or class."""
    head = say("Map of {block} on {day}").format(
        block=document["block"]["name"], day=day_words(document["on"], say))
    if layer is not None:
        counts = Counter(tone.key for tone, _ in layer.cells.values())
        told = [f"{counts[tone.key]} {say(tone.words).format(**tone.values)}"
                for tone in layer.tones if counts[tone.key]]
        return f"{head}: {say(layer.title)}: {'; '.join(told)}"
    counts = Counter(row["state"] for row in document["cells"])
    told = [say("{count} {state}").format(count=counts[state], state=say(state))
            for state in STATES if counts[state]]
    return f"{head}: {', '.join(told)}" if told else head


def number_in(row: Mapping[str, Any], number: Number) -> str:
    """Give the number printed in a cell.

    Parameters
    ----------
    row : mapping
        The cell's row of the document.
    number : {"none", "kg", "picked_pct", "rest_ends", "scrub", "water"}
        What is asked for: kg left to take, share of what may be taken that the open pick has
        taken [%], the end of the rest as year and month, or of the latest survey the scrub [%] or
        the water table [mm].

    Returns
    -------
    str
        Empty where the cell has none, a dash where the kg are not known; empty if no number is
        asked for.

    Raises
    ------
    ValueError
        If another number is asked for.
    """
    if number not in NUMBERS:
        raise ValueError(f"number={number!r}: say one of {', '.join(NUMBERS)}")
    if number == "kg":
        return NONE if row["left_kg"] is None else f"{row['left_kg']}"
    if number == "picked_pct" and row["picked_pct_of_may_take"] is not None:
        return f"{row['picked_pct_of_may_take']:.0f} %"
    if number == "rest_ends" and row["rest_ends"] is not None:
        return str(row["rest_ends"])[:7]
    if number == "scrub" and row["scrub_pct"] is not None:
        return f"{row['scrub_pct']:.0f} %"
    if number == "water" and row["water_table_mm"] is not None:
        return f"{row['water_table_mm']:.0f}"
    return ""
