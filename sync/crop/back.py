"""How a cell stood once the rest after a pick was over."""

import dataclasses
from datetime import date

from sync.crop.classes import JudgedPick
from sync.crop.walk import Stand


@dataclasses.dataclass(frozen=True)
class Back:
    """How a cell stood once the rest after a pick was over.

    Attributes
    ----------
    on : date
        The day its rest ended, or that of the latest survey after it and before the next pick.
    measured : bool
        Whether that was a survey.
    chance_short : float
        That its crop was under its mark. [-]
    records : tuple of str
        Of that survey, or of the pick.
    """

    cell: str
    pick: JudgedPick
    on: date
    measured: bool
    stand: Stand
    chance_short: float
    records: tuple[str, ...]
