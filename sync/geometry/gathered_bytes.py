"""What all walks of one phone told, as bytes, to be remembered in one entry.

Rule 1: read again it is the same to the last bit, for the presses that it was written of.
Rule 2: it carries its own sum; what is damaged, or of other presses, is nothing.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any, NamedTuple, get_args

import numpy as np

from sync.errors import IntakeError
from sync.geometry.outings import Name
from sync.geometry.picking import DRIFTS
from sync.geometry.placed import NO_CHANCES, How, Placed, Word
from sync.geometry.told_bytes import ToldReader, ToldWriter, whole_in
from sync.geometry.traces import Told
from sync.geometry.words import Heard, Heeded, Proof, Spoken, spoken_of
from sync.intake.memo_bytes import joined, parted, sound, summed
from sync.intake.seen import BagSeen

#: Of the pieces of ground that a walk swept, by local day and cell: the sum of each.
Swaths = Mapping[tuple[date, str], bytes]
_HOWS: tuple[How, ...] = get_args(How)
_TRACK = _HOWS.index("track")
#: A press that was surely in a cell by its track: the place of the cell's name; of any other how
#: it was placed, by place in `_HOWS`, what a track told or the cells with chances, and those with
#: closed and with held ground.
_Said = int | tuple[int, Any, list[int], list[int]]
_DAMAGE = (KeyError, TypeError, ValueError, IndexError, StopIteration, OverflowError)


class Gathered(NamedTuple):
    """What all walks of one phone told.

    Attributes
    ----------
    heeded : mapping of str to Heeded
        Its presses by picker, placed by tracks and fixes, and what words moved of them.
    swept : mapping of Name to mapping
        What was swept on each of its walks, by the walk's name.
    """

    heeded: Mapping[str, Heeded]
    swept: Mapping[Name, Swaths]


def to_bytes(gathered: Gathered, made_of: bytes) -> bytes:
    """Write what was gathered.

    Parameters
    ----------
    gathered : Gathered
        Of one phone.
    made_of : bytes
        A sum of all that it is made of.
    """
    told = ToldWriter()
    pickers = [(picker, *_heeded_written(each, told)) for picker, each in gathered.heeded.items()]
    places = [(one.e, one.n, one.sigma_m) for each in gathered.heeded.values()
              for one in each.heard.placed]
    swept = [(*name, [(day.toordinal(), told.place_of(cell), total.hex())
                      for (day, cell), total in each.items()])
             for name, each in gathered.swept.items()]
    return summed(made_of + joined({
        "names": list(told.names), "pickers": pickers, "swept": swept,
        "numbers": len(told.numbers), "rows": len(told.rows),
    }, (np.array(places, dtype=np.float64), told.numbers, *told.rows)))


def _heeded_written(heeded: Heeded, told: ToldWriter) -> tuple[Any, ...]:
    """Write presses, what proves words, the words, and what was moved: by its place."""
    said = [_written(one, told) for one in heeded.heard.placed]
    proofs = [(day.toordinal(), told.place_of(cell), proof.bags, proof.right)
              for (_, day, _, cell), proof in heeded.heard.proofs.items()]
    words = [(day.toordinal(), told.place_of(cell), word.right, word.words, word.chance)
             for (_, day, _, cell), word in heeded.words.items()]
    moved = []
    for place, (plain, one) in enumerate(zip(heeded.heard.placed, heeded.placed, strict=True)):
        if one is not plain:
            moved.append((place, told.shares(one.chances), told.moved(one.moved)))
    return said, proofs, words, moved


def _written(one: Placed, told: ToldWriter) -> _Said:
    if one.drift is None:
        return _HOWS.index(one.how), told.shares(one.chances), *_off_ground(one, told)
    parts = told.parts(Told(0.0, (0.0, 0.0, 0.0), one.chances, one.moved, one.drift))
    return parts if isinstance(parts, int) else (_TRACK, parts, *_off_ground(one, told))


def _off_ground(one: Placed, told: ToldWriter) -> tuple[list[int], list[int]]:
    told.numbers.append(one.outside)
    return told.shares(one.closed), told.shares(one.held)


def from_bytes(
    known: bytes, made_of: bytes, presses: Mapping[str, Sequence[BagSeen]]
) -> Gathered:
    """Read what was gathered.

    Parameters
    ----------
    known : bytes
        As `to_bytes` gave it.
    made_of : bytes
        A sum of all that it must be made of.
    presses : mapping of str to sequence of BagSeen
        Those of the phone, by picker.

    Returns
    -------
    Gathered
        The same to the last bit.

    Raises
    ------
    IntakeError
        If it is damaged, or made of anything else.
    """
    body = sound(known, "what was gathered of a phone")
    if body[:len(made_of)] != made_of:
        raise IntakeError("what was gathered of a phone is of other records")
    try:
        return _read(body[len(made_of):], presses)
    except _DAMAGE as wrong:
        raise IntakeError(f"what was gathered of a phone is damaged: {wrong!r}") from wrong


def _read(body: memoryview, presses: Mapping[str, Sequence[BagSeen]]) -> Gathered:
    said, body = parted(body)
    names, count = said["names"], sum(len(each[1]) for each in said["pickers"])
    values = np.frombuffer(body, "<f8", 3 * count + said["numbers"] + DRIFTS * said["rows"])
    places, numbers, rows = np.split(values, (3 * count, 3 * count + said["numbers"]))
    told = ToldReader(names, numbers, rows.reshape(-1, DRIFTS))
    where = iter([tuple(place) for place in places.reshape(-1, 3).tolist()])
    heeded = {}
    for picker, *each in said["pickers"]:
        heeded[picker] = _heeded_read(presses[picker], each, where, told, names)
    if heeded.keys() != presses.keys():
        raise ValueError("other pickers")
    return Gathered(heeded, {
        (since_ms, device, seq): {
            (date.fromordinal(day), names[cell]): bytes.fromhex(total)
            for day, cell, total in each}
        for since_ms, device, seq, each in said["swept"]})


def _heeded_read(
    bags: Sequence[BagSeen], said: Sequence[Any], where: Iterator[tuple[float, float, float]],
    told: ToldReader, names: Sequence[str],
) -> Heeded:
    rows, proofs, weighed, moved = said
    placed = tuple([_placed(bag, next(where), one, told, names)
                    for bag, one in zip(bags, rows, strict=True)])
    spoken = tuple(map(spoken_of, placed))
    device, picker = bags[0].device, bags[0].picker
    words = {(device, date.fromordinal(day), picker, names[cell]): Word(
        names[cell], right, words, chance) for day, cell, right, words, chance in weighed}
    heeded = list(placed)
    for place, shares, ways in moved:
        heeded[place] = placed[place]._replace(
            chances=told.shares(shares), moved=told.moved(ways), word=words[_some(spoken[place])])
    return Heeded(
        Heard(placed, spoken, {
            (device, date.fromordinal(day), picker, names[cell]): Proof(whole, right)
            for day, cell, whole, right in proofs}), words, tuple(heeded))


def _some(spoken: Spoken | None) -> Spoken:
    if spoken is None:
        raise ValueError("moved without a word")
    return spoken


def _placed(
    bag: BagSeen, place: tuple[float, float, float], said: _Said, told: ToldReader,
    names: Sequence[str],
) -> Placed:
    e, n, sigma_m = place
    if isinstance(said, int):
        shares, ways, drift = whole_in(names[said])
        return Placed(bag, e, n, sigma_m, shares, NO_CHANCES, 0.0, "track", 0, drift, ways)
    how, parts, *off = said
    if how == _TRACK:
        shares, ways, drift = told.told(parts)
        outside, closed, held = _off_read(off, told)
        return Placed(bag, e, n, sigma_m, shares, closed, outside, "track", 0, drift, ways, held)
    shares = told.shares(parts)
    outside, closed, held = _off_read(off, told)
    if e != e:  # no fix, which is written as no number
        return Placed(bag, None, None, None, shares, closed, outside, _HOWS[how], held=held)
    return Placed(bag, e, n, sigma_m, shares, closed, outside, _HOWS[how], held=held)


def _off_read(
    said: Sequence[Sequence[int]], told: ToldReader
) -> tuple[float, Mapping[str, float], Mapping[str, float]]:
    outside = told.number()
    closed, held = (told.shares(each) if each else NO_CHANCES for each in said)
    return outside, closed, held
