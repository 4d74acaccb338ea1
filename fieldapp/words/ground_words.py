"""What the band says of the ground underfoot: one word, and a second line that says what to do.

Rule 1: the order is that of the sheet: none, then what cannot be told, then outside, then near an
edge, then the cell's own state.
Rule 2: the second line has two short parts at most: what matters first, then one thing to bear
in mind: a weak fix, else an old sheet, else for the picker what is left here.
Rule 3: what is left is told with the day of the sheet that knew it.
"""

import dataclasses
from collections.abc import Mapping
from datetime import datetime
from types import MappingProxyType

from fieldapp.ground import Answer, Band, State
from fieldapp.phone.tunables import FIX_WEAK_M
from fieldapp.words.catalogue import Words, message

_BAND: Mapping[Band, str] = MappingProxyType({
    "no_sheet": message("NO SHEET"), "cannot_tell": message("CAN'T TELL"),
    "outside": message("OUTSIDE"), "near_edge": message("NEAR EDGE"),
    "closed": message("CLOSED"), "resting": message("RESTING"),
    "unsurveyed": message("NOT SURVEYED"), "taken": message("TAKEN"), "ready": message("READY")})
_STATE: Mapping[State, str] = MappingProxyType({
    "closed": message("closed"), "resting": message("resting"),
    "unsurveyed": message("not surveyed"), "taken": message("taken"), "ready": message("ready")})
_TO_DO: Mapping[State, str] = MappingProxyType({
    "closed": message("do not pick"), "resting": message("rests, ask before picking"),
    "unsurveyed": message("ask before picking"), "taken": message("nothing left to take here")})


@dataclasses.dataclass(frozen=True)
class BandWords:
    """What stands in the band: the word, and the line beneath it."""

    word: str
    second: str


def band_words(words: Words, answer: Answer | None, *, picker: bool,
               sheet_made_at: datetime | None) -> BandWords:
    """Say what the ground underfoot is, and what to do.

    Parameters
    ----------
    words : Words
        The language.
    answer : Answer or None
        From the ground sheet; None without one.
    picker : bool
        Whether a picker carries the phone: only a picker is told what is left here.
    sheet_made_at : datetime or None
        When the sheet was made.

    Returns
    -------
    BandWords
        The cell's name is not in the word: the band draws it beside.
    """
    if answer is None:
        return BandWords(words(_BAND["no_sheet"]), words("cannot say if you may pick"))
    parts = (_first(words, answer), _besides(words, answer, picker, sheet_made_at))
    return BandWords(words(_BAND[answer.band]), " · ".join(part for part in parts if part))


def state_words(words: Words, state: State | None) -> str:
    """Say a state within a sentence; None is the ground outside the block."""
    return words("outside") if state is None else words(_STATE[state])


def _first(words: Words, answer: Answer) -> str:
    if answer.cannot_tell:
        if answer.age_s is None:
            return words("no position yet")
        return words("position {span} old", span=words.span(answer.age_s))
    if answer.outside or answer.state is None:
        return _way_back(words, answer)
    if answer.near_edge:
        return f"{_here(words, answer)} / {_beyond(words, answer)}"
    if answer.state == "ready":
        return _next_edge(words, answer)
    if answer.state == "resting" and answer.rest_ends is not None:
        return words("rests until {day}", day=words.day(answer.rest_ends))
    return words(_TO_DO[answer.state])


def _besides(words: Words, answer: Answer, picker: bool, sheet_made_at: datetime | None) -> str:
    if not answer.cannot_tell and answer.acc_m is not None and answer.acc_m > FIX_WEAK_M:
        return words("± {radius}, wait a little", radius=words.metres(answer.acc_m))
    if answer.sheet_old:
        return words.count(answer.sheet_days, "Sheet {n} day old", "Sheet {n} days old")
    left = answer.left_bags if picker and answer.band == "ready" else None
    if left is None or sheet_made_at is None:
        return ""
    return words.count(left, "left here: {n} bag ({day})", "left here: {n} bags ({day})",
                       day=words.short_day(sheet_made_at))


def _way_back(words: Words, answer: Answer) -> str:
    if answer.outside_m is None or answer.edge_dir is None:
        return words("the block, at its edge")
    return words("the block, back {distance} {wind}", distance=words.metres(answer.outside_m),
                 wind=words.wind(answer.edge_dir))


def _next_edge(words: Words, answer: Answer) -> str:
    if answer.edge_m is None or answer.edge_dir is None:
        return ""
    distance, wind = words.metres(answer.edge_m), words.wind(answer.edge_dir)
    if answer.edge_state is None:
        return words("{distance} to the block's edge, {wind}", distance=distance, wind=wind)
    return words("{distance} to {ground}, {wind}", distance=distance, wind=wind,
                 ground=_beyond(words, answer))


def _here(words: Words, answer: Answer) -> str:
    return f"{answer.cell} {state_words(words, answer.state)}"


def _beyond(words: Words, answer: Answer) -> str:
    """Name the ground past the edge: the cell and its state; only the state if in no cell."""
    state = state_words(words, answer.edge_state)
    return state if answer.edge_to is None else f"{answer.edge_to} {state}"
