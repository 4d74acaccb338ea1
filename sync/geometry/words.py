"""What the picker's word on the day's cell is worth beside the track, and what it moves.

A picker who starts an outing confirms the cell of the day. A track that errs by metres cannot say
on which side of a border a bag was filled; the picker saw the pegs.
Rule 1: a word weighs what such words proved worth on this block on the days before; none proved,
nothing moves. Later days change no earlier bag.
Rule 2: a word is proved, right or wrong, by those bags of its day alone whose place is beyond
doubt by the track. They may be far from any border; that the picker knows the border as well as
the cell is assumed, and the bench shows what it costs where that is not so.
Rule 3: a word that its own day's plain bags speak against loses by them, and it never counts
against a track.
Rule 4: what a word moves is kg. What is flagged goes by the fixes alone, for a word does not clear
its speaker.
"""

import bisect
import dataclasses
import itertools
import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

import numpy as np

from sync.geometry.crs import Floats
from sync.geometry.grid import cell_index
from sync.geometry.placed import Drift, Moved, Placed, Word
from sync.settings import Tunables

#: A word: phone, local day, whose, and the cell confirmed.
Spoken = tuple[str, date, str, str]


@dataclasses.dataclass(frozen=True)
class Proof:
    """The bags of one word whose place is beyond doubt, and those of them in its cell."""

    bags: float
    right: float


@dataclasses.dataclass(frozen=True)
class Heard:
    """Some bags, by their tracks and fixes, with the words spoken of them.

    Attributes
    ----------
    placed : tuple of Placed
        All bags that the words of their days are about.
    spoken : tuple
        The word of each, None where none counts.
    proofs : mapping
        Of each word that its own bags speak of.
    """

    placed: tuple[Placed, ...]
    spoken: tuple[Spoken | None, ...]
    proofs: Mapping[Spoken, Proof]


def heard_of(placed: Sequence[Placed], tunables: Tunables) -> Heard:
    """Hear the words of some bags.

    Parameters
    ----------
    placed : sequence of Placed
        All bags that one phone's presses tell of one picker, by their tracks and fixes.
    tunables : Tunables
        From which chance on a place is beyond doubt.
    """
    spoken = tuple(spoken_of(one) for one in placed)
    proofs = _proofs(zip(spoken, placed, strict=True), tunables.beyond_doubt)
    return Heard(tuple(placed), spoken, proofs)


@dataclasses.dataclass(frozen=True)
class Heeded:
    """Bags with what the words moved: `words` are those of their days, by phone and so on."""

    heard: Heard
    words: Mapping[Spoken, Word]
    placed: tuple[Placed, ...]


def with_words(placed: Sequence[Placed], tunables: Tunables) -> tuple[Placed, ...]:
    """Let the pickers' words count beside their tracks.

    Parameters
    ----------
    placed : sequence of Placed
        All bags of a block, by their tracks and fixes.
    tunables : Tunables
        From which chance on a place is beyond doubt.

    Returns
    -------
    tuple of Placed
        In the order given. Only bags of their own carrier, with a cell confirmed and placed by a
        track that leaves it open are other than before, in `chances`, `moved` and `word`.

    Notes
    -----
    With f the part right of each of n words of days before, the chance of a word is the mean of a
    beta distribution that was even before any was heard, p = (Σf + 1)/(n + 2) (Laplace's rule of
    succession). The word's own day, with k of its m plain bags in the cell, may only lower it:
    p ≤ (k + 1)/(m + 1), own choice.
    """
    (found,) = heed([heard_of(placed, tunables)], [None])
    return found.placed


def heed(
    parts: Sequence[Heard], before: Sequence[Heeded | None]
) -> list[Heeded]:
    """Let the words of a block count, as `with_words` does.

    Parameters
    ----------
    parts : sequence of Heard
        All bags of the block; the bags of one word are in one part.
    before : sequence of Heeded or None
        Of each part what came of it for a register built before, if anything.

    Returns
    -------
    list of Heeded
        In the order given; bags that are the same, with words that weigh the same, come again.
    """
    trust = _Trust({word: proof for each in parts for word, proof in each.proofs.items()})
    return [_heeded(each, trust, known) for each, known in zip(parts, before, strict=True)]


def _heeded(heard: Heard, trust: "_Trust", before: Heeded | None) -> Heeded:
    words = {said: trust.word(said) for said in dict.fromkeys(heard.spoken) if said is not None}
    if before is not None and before.heard is heard and before.words == words:
        return before
    known: dict[str, tuple[Placed, Placed]] = {}
    if before is not None:
        known = {plain.bag.name: (plain, moved) for plain, moved in zip(
            before.heard.placed, before.placed, strict=True)}
    found = []
    for said, one in zip(heard.spoken, heard.placed, strict=True):
        plain, moved = known.get(one.bag.name, (None, one))
        word = None if said is None else words[said]
        same = plain is one and before is not None and (
            said is None or before.words.get(said) == word)
        found.append(moved if same else one if word is None else _heeding(one, word))
    return Heeded(heard, words, tuple(found))


def spoken_of(one: Placed) -> Spoken | None:
    """Give the word that counts beside the track of a press; None where none does."""
    bag = one.bag
    if one.drift is None or not bag.own or bag.confirmed is None:
        return None
    return bag.device, bag.day, bag.picker, bag.confirmed


def _proofs(
    said: Iterable[tuple[Spoken | None, Placed]], beyond_doubt: float
) -> dict[Spoken, Proof]:
    """Prove each word by its plain bags; one without any, or with none in them, is not there."""
    found: dict[Spoken, list[float]] = defaultdict(lambda: [0.0, 0.0])
    for word, one in said:
        # A paper count of none, put in a press's place, stands where its phone was.
        if word is None or one.drift is None or one.bag.bags <= 0.0:
            continue
        chances = one.flagged
        if max(*chances.values(), one.drift.mean_outside, 0.0) >= beyond_doubt:
            bags = found[word]
            bags[0] += one.bag.bags
            if chances.get(word[3], 0.0) >= beyond_doubt:
                bags[1] += one.bag.bags
    return {word: Proof(bags, right) for word, (bags, right) in found.items()}


class _Trust:
    """How often words proved right before a day."""

    def __init__(self, proofs: Mapping[Spoken, Proof]) -> None:
        self._proofs = proofs
        in_order = sorted((word[1], word, one.right / one.bags) for word, one in proofs.items())
        self._days = [day for day, _, _ in in_order]
        self._right = list(itertools.accumulate((part for _, _, part in in_order), initial=0.0))

    def word(self, said: Spoken) -> Word:
        """Weigh a word by those of the days before, and by its own day's plain bags."""
        _, day, _, cell = said
        words = bisect.bisect_left(self._days, day)
        right = self._right[words]
        own = self._proofs.get(said, Proof(0.0, 0.0))
        chance = min((right + 1.0) / (words + 2.0), (own.right + 1.0) / (own.bags + 1.0))
        return Word(cell, right, words, chance)


def _heeding(one: Placed, word: Word) -> Placed:
    """Weigh the errors that a track may have by the word; give the bag as they leave it.

    Of all errors equally likely by the track, one that puts the part s of a bag's time into the
    word's cell is 1 + (o − 1)·s times as likely, o = p/(1 − p) being the word's odds against any
    one other cell. The part of the time that lies elsewhere shrinks from 1 − s, by the mean of all
    errors, to its weighted mean; each share elsewhere shrinks by the same part. A track that goes
    through two cells whatever its error keeps its shares. Bayes' rule; derived.
    """
    drift = one.drift
    if drift is None or word.odds <= 1.0 or word.cell not in drift.cells:
        return one
    here = drift.cells[word.cell]
    elsewhere = 1.0 - drift.mean_cells[word.cell]
    if elsewhere <= 0.0:
        return one
    weights = 1.0 + (word.odds - 1.0) * here
    weights /= np.add.reduce(weights)  # a third of the time of its own `sum`
    left = 1.0 - float(weights @ here)
    if not 0.0 <= left < elsewhere:
        return one
    stays = left / elsewhere
    shares = {cell: stays * share for cell, share in one.chances.items()}
    shares[word.cell] = 1.0 - stays * (1.0 - one.chances.get(word.cell, 0.0))
    shares = {cell: shares[cell] for cell in sorted(shares, key=cell_index)}
    return one._replace(chances=shares, word=word, moved={
        cell: _open_by(drift, weights, cell, share, 1.0 if cell == word.cell else -1.0)
        for cell, share in shares.items()})


def _open_by(drift: Drift, weights: Floats, cell: str, share: float, way: float) -> Moved:
    """Spread a share by what the weighed errors leave open: one deviation up, one down."""
    parts = drift.cells.get(cell)
    if parts is None:
        return share, share, share, share
    mean = float(weights @ parts)
    spread = way * math.sqrt(max(0.0, float(weights @ (parts - mean)**2)))
    return share + spread, share - spread, share, share

