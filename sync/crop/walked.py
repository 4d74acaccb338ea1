"""What a walk of one cell gives: where it stands at the end, and every step on the way.

Rule 1: a step holds the figures that made it, so that a person can check it by hand.
"""

import dataclasses
from collections.abc import Mapping
from datetime import date

from sync.crop.pickable import Measured
from sync.crop.walk import Stand
from sync.picks.made import Kg
from sync.survey.readings import Survey

#: Bags too few to make a picking day.
STRAY = "stray bags"


@dataclasses.dataclass(frozen=True)
class Grew:
    """Growth credited to a cell: in how many years, from and to which share of full. [yr], [-]."""

    years: float
    share_before: float
    share_after: float
    crop_kg: float


@dataclasses.dataclass(frozen=True)
class Met:
    """A survey that met a forecast: crop and SD of both [kg], weight of the survey, surprise."""

    forecast_kg: float
    forecast_sd: float
    index_l_m2: float
    measured_kg: float
    measured_sd: float
    weight: float
    surprise: float


@dataclasses.dataclass(frozen=True)
class Step:
    """One thing that moved a cell's crop: when, what, the crop after it, and its records.

    Attributes
    ----------
    kg : float or None
        What a pick took. [kg]
    grew : Grew or None
        What had grown since the step before.
    met : Met or None
        How a survey was weighed against the forecast.
    """

    day: date
    what: str
    crop_kg: float
    mark_kg: float
    records: tuple[str, ...]
    kg: float | None = None
    grew: Grew | None = None
    met: Met | None = None


@dataclasses.dataclass(frozen=True)
class During:
    """A survey made after a pick began: the crop it found, and what was taken before it.

    Attributes
    ----------
    first : date
        First day of that pick. It matters while the pick is open.
    """

    first: date
    stand: Stand
    pickable_kg: float
    taken: Kg


@dataclasses.dataclass(frozen=True)
class Walked:
    """Where a cell stands at the end of the walk.

    Attributes
    ----------
    stand : Stand
        Crop and mark on the last day. [kg]
    share : float
        Pickable share at the mark, q. [-]
    pickable_kg : float
        P on the last day. [kg]
    measured : Measured or None
        The survey since the last pick.
    surveys : tuple of Survey
        Oldest first.
    forecast : bool
        Whether the crop carries growth or a pick since the last quadrat; stray bags are none.
    since_survey : tuple of Kg
        What was taken since the latest rested survey, which the cell's index rests on.
    during : During or None
        The last survey made after a pick began.
    more_than_stood : tuple of date
        Picks that took more than stood there.
    taken : mapping of date to Kg
        What each pick took, by its first day; where nobody knows the kg, the pickable crop of its
        day, give or take half.
    grew : Grew or None
        Since the last step.
    """

    stand: Stand
    share: float
    pickable_kg: float
    measured: Measured | None
    surveys: tuple[Survey, ...]
    forecast: bool
    since_survey: tuple[Kg, ...]
    during: During | None
    more_than_stood: tuple[date, ...]
    taken: Mapping[date, Kg]
    steps: tuple[Step, ...]
    grew: Grew | None
