"""The pairs of a trial: cells alike, and a coin that says which of two is treated.

Rule 1: pairs are of one ground class and as near in their index as all pairs together can be.
Rule 2: the coin is a sum of the seed and the pair's names: whoever has the draw can toss it again.
Rule 3: a cell that is in a draw already is in no other.
"""

import hashlib
import itertools
import math
from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from sync.block import TrialDraw, TrialPair
from sync.errors import SurveyError
from sync.register.build import Register


@dataclass(frozen=True)
class Candidate:
    """A cell that may be in a trial: its class, and the index of its rested crop. [L/m²]."""

    cell: str
    ground_class: str
    index_l_m2: float


@dataclass(frozen=True)
class Wish:
    """What the owner asks for: cells and classes, empty for all, and how many pairs."""

    trial: str
    treatment: str
    pairs: int
    cells: tuple[str, ...] = ()
    classes: tuple[str, ...] = ()


def candidates_of(register: Register, wish: Wish) -> tuple[Candidate, ...]:
    """Give the cells that may be in a trial.

    Parameters
    ----------
    register : Register
        Of the day of the draw.
    wish : Wish
        Cells and classes asked for.

    Returns
    -------
    tuple of Candidate
        Measured at rest by drawn quadrats, partly open, and in no draw yet; by class and cell.

    Raises
    ------
    SurveyError
        If a cell or class asked for is none of the block's, or a cell asked for cannot be in it.
    """
    crop = register.crop
    unknown = sorted(set(wish.cells) - set(crop.cells)) + sorted(
        set(wish.classes) - set(crop.classes))
    if unknown:
        raise SurveyError(f"{unknown[0]!r}: no cell or ground class of this block on "
                          f"{register.on.isoformat()}")
    drawn = {cell: draw.trial for draw in register.block.trials
             for pair in draw.pairs for cell in (pair.treated, pair.other)}
    found = []
    for name, one in sorted(crop.classes.items()):
        known = one.prediction
        if known is None or (wish.classes and name not in wish.classes):
            continue
        found += [
            Candidate(cell, name, float(index))
            for cell, index, own in zip(known.cells, known.index_l_m2, known.weight, strict=True)
            if own > 0.0 and crop.cells[cell].open_m2 > 0.0 and cell not in drawn
            and (not wish.cells or cell in wish.cells)
        ]
    for cell in wish.cells:
        if cell not in {one.cell for one in found}:
            why = (f"is in trial {drawn[cell]!r} already" if cell in drawn else
                   "has no drawn quadrats from before a pick, no open ground, or another class")
            raise SurveyError(f"{cell}: {why}")
    return tuple(sorted(found, key=lambda one: (one.ground_class, one.cell)))


def nearest_pairs(
    candidates: Sequence[Candidate], pairs: int
) -> tuple[tuple[Candidate, Candidate], ...]:
    """Choose pairs of cells of one class, the differences of their indices least in all.

    Parameters
    ----------
    candidates : sequence of Candidate
        Of any classes.
    pairs : int
        How many.

    Returns
    -------
    tuple of (Candidate, Candidate)
        By class and index; no cell twice.

    Raises
    ------
    SurveyError
        If the cells do not make so many pairs.

    Notes
    -----
    On a line the least sum is reached by neighbours: where two pairs cross, lie in each other or
    leave a cell between, changing partners is no farther (derived). So it is a choice among
    neighbours, made by dynamic programming.
    """
    order = sorted(candidates, key=lambda one: (one.ground_class, one.index_l_m2, one.cell))
    # best[k]: least sum of k pairs among the cells seen so far, and those pairs.
    best: list[tuple[float, tuple[int, ...]]] = [(0.0, ()), *[(math.inf, ())] * pairs]
    before = list(best)
    for i in range(1, len(order)):
        left, right = order[i - 1], order[i]
        now = list(best)
        if left.ground_class == right.ground_class:
            apart = right.index_l_m2 - left.index_l_m2
            for k in range(1, pairs + 1):
                total, chosen = before[k - 1]
                if total + apart < now[k][0]:
                    now[k] = (total + apart, (*chosen, i))
        before, best = best, now
    if math.isinf(best[pairs][0]):
        most = sum(len(list(group)) // 2 for _, group in itertools.groupby(
            order, key=lambda one: one.ground_class))
        raise SurveyError(f"pairs={pairs}: {len(order)} cells can be in this trial and make "
                          f"{most} pairs; ask for fewer, or name other cells or classes")
    return tuple((order[i - 1], order[i]) for i in best[pairs][1])


def is_heads(seed: int, trial: str, pair: Collection[str]) -> bool:
    """Toss the coin of a pair.

    Parameters
    ----------
    seed : int
        Of the draw.
    trial : str
        Its name.
    pair : collection of str
        The two cells, in any order.

    Returns
    -------
    bool
        The last bit of the SHA-256 of `seed:trial:first:second`, cells by name: true treats the
        first. Own choice; as fair as the sum, and no program is needed to check it.
    """
    text = ":".join([str(seed), trial, *sorted(pair)])
    return bool(hashlib.sha256(text.encode()).digest()[-1] & 1)


def draw_trial(register: Register, wish: Wish, *, seed: int) -> TrialDraw:
    """Draw a trial.

    Parameters
    ----------
    register : Register
        Of the day of the draw.
    wish : Wish
        What is asked for.
    seed : int
        Of the coins.

    Returns
    -------
    TrialDraw
        For `trials.json`.

    Raises
    ------
    SurveyError
        If the block has no such cells, or too few, or the trial is of another treatment.
    """
    other = next((draw.treatment for draw in register.block.trials
                  if draw.trial == wish.trial and draw.treatment != wish.treatment), None)
    if other is not None:
        raise SurveyError(f"trial {wish.trial!r} is of {other}, not {wish.treatment}: one trial "
                          "tells of one treatment")
    made = []
    for pair in nearest_pairs(candidates_of(register, wish), wish.pairs):
        first, second = sorted(pair, key=lambda one: one.cell)
        if not is_heads(seed, wish.trial, (first.cell, second.cell)):
            first, second = second, first
        made.append(TrialPair(first.cell, second.cell, first.ground_class, first.index_l_m2,
                              second.index_l_m2))
    return TrialDraw(wish.trial, wish.treatment, register.on, seed, tuple(made))


def by_trial(draws: Sequence[TrialDraw]) -> dict[str, tuple[TrialDraw, ...]]:
    """Put the draws of each trial together, oldest first."""
    found: dict[str, list[TrialDraw]] = defaultdict(list)
    for draw in sorted(draws, key=lambda one: (one.trial, one.drawn_on)):
        found[draw.trial].append(draw)
    return {name: tuple(each) for name, each in found.items()}

