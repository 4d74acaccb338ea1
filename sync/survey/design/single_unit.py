"""A stratum, or a cell, with one unit: it says nothing of its own spread, so a policy is named.

Rule 1: nobody guesses in silence; the caller says what is to be done.
"""

from collections.abc import Sequence
from typing import Literal

from sync.errors import SurveyError

#: "refuse": an error; "grand_mean": its unit against the mean of all; "average": the mean
#: contribution of the others; "nothing": as if it were known for certain.
SingleUnit = Literal["refuse", "grand_mean", "average", "nothing"]


def filled(
    parts: Sequence[float | None], names: Sequence[str], off_mean: Sequence[float],
    policy: SingleUnit,
) -> list[float]:
    """Fill in what strata of one unit add to a variance.

    Parameters
    ----------
    parts : sequence of float or None
        Contribution of each stratum; None for one of a single unit. [unit²]
    names : sequence of str
        What to call each in an error.
    off_mean : sequence of float
        Contribution of each if its unit were set against the mean of all. [unit²]
    policy : SingleUnit
        What to do.

    Returns
    -------
    list of float
        All contributions. [unit²]

    Raises
    ------
    SurveyError
        With "refuse"; or with "average" where no stratum has two units.

    Notes
    -----
    Common practice, no source; the four are those that survey software offers.
    """
    alone = [name for name, part in zip(names, parts, strict=True) if part is None]
    known = [part for part in parts if part is not None]
    if not alone:
        return known
    if policy == "refuse":
        raise SurveyError(f"strata {alone!r} have one unit each: lay a second, or name a policy")
    if policy == "average" and not known:
        raise SurveyError(f"strata {alone!r} have one unit each, and no other has two")
    mean = sum(known) / len(known) if known else 0.0
    instead = {"grand_mean": off_mean, "average": [mean] * len(parts),
               "nothing": [0.0] * len(parts)}[policy]
    return [instead[i] if part is None else part for i, part in enumerate(parts)]
