"""The chance of each unit to be drawn.

Rule 1: chances add up to the number of units drawn, so that the sample has a known size.
Rule 2: no unit that has a size has no chance.
"""

from collections.abc import Sequence

from sync.errors import SurveyError

_FULL = 1.0 - 1e-12


def chances_by_size(sizes: Sequence[float], count: int) -> list[float]:
    """Give each unit a chance in proportion to its size.

    Parameters
    ----------
    sizes : sequence of float
        Above 0; of the unknown in a unit, its SD makes the variance of a total least.
    count : int
        Units to be drawn, 0 to all of them.

    Returns
    -------
    list of float
        π, adding up to `count`; who would get more than 1 gets 1, and the others the rest.

    Raises
    ------
    SurveyError
        If a size is not above 0 or there are not so many units.

    Notes
    -----
    π ∝ the SD of what is unknown: Isaki & Fuller 1982, Survey design under the regression
    superpopulation model, *JASA* 77:89-96 (from memory).
    """
    if not all(0.0 < size < float("inf") for size in sizes) or not 0 <= count <= len(sizes):
        raise SurveyError(f"count={count!r} of sizes={list(sizes)!r}: sizes must be above 0, and "
                          "no more drawn than there are")
    chances = [0.0] * len(sizes)
    sure: set[int] = set()
    while count > len(sure):
        rest = [i for i in range(len(sizes)) if i not in sure]
        whole = sum(sizes[i] for i in rest)
        for i in rest:
            chances[i] = (count - len(sure)) * sizes[i] / whole
        over = {i for i in rest if chances[i] >= _FULL}
        if not over:
            break
        sure |= over
    return [1.0 if i in sure else (0.0 if count == len(sure) else chances[i])
            for i in range(len(sizes))]
