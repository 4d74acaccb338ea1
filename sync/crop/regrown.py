"""Cells that teach how fast moss comes back: rested, picked once of known kg, measured again.

Rule 1: the mark is by quadrats from before the pick, the second figure by those after it alone.
Rule 2: only drawn quadrats teach; whoever chooses the place finds what he expects.
Rule 3: which survey teaches does not hang on what it found, or the rate drifts upwards.
"""

from collections.abc import Callable, Sequence
from datetime import date

from sync.crop.classes import (
    ClassCrop,
    JudgedPick,
    ReadingIndex,
    drawn_readings,
    index_by,
)
from sync.crop.learn import Regrown
from sync.crop.takings import CellFacts
from sync.picks.joining import mean_day
from sync.picks.made import Kg
from sync.settings import DAYS_PER_YEAR, Tunables
from sync.survey.cells import ClassPrediction, OwnIndex, class_unsurveyed
from sync.survey.density import ClassDensity
from sync.survey.readings import Survey
from sync.survey.totals import crop_kg


def teaching(facts: CellFacts) -> CellFacts | None:
    """Keep of a cell's facts those that `regrown_cell` looks at.

    Parameters
    ----------
    facts : CellFacts
        Its ground, readings and picks until the day.

    Returns
    -------
    CellFacts or None
        The readings until the first day of its second pick, and what was taken before the last
        of them; None without a pick, or without a reading between the two.
    """
    real = [pick for pick in facts.picks if not pick.touch]
    if not real:
        return None
    readings = facts.readings
    if len(real) > 1:
        # A reading of the first day of a pick is of before its bags.
        until = real[1].made.first
        while readings and readings[-1].reading.day > until:
            readings = readings[:-1]
    if not readings or (last := readings[-1].reading.day) <= real[0].made.last:
        return None
    return CellFacts(
        facts.open_m2, readings, tuple([pick for pick in facts.picks if pick.made.first < last]),
        {day: kg for day, kg in facts.stray.items() if day < last})


def regrown_cell(
    cell: str,
    facts: CellFacts,
    surveys: Sequence[Survey],
    of_class: ClassCrop,
    density: ClassDensity,
    tunables: Tunables,
    *,
    bag_cv2: Callable[[date], float],
    class_on: Callable[[date], ClassCrop],
) -> Regrown | None:
    """Give what a cell teaches of regrowth.

    Parameters
    ----------
    cell : str
        Its name.
    facts : CellFacts
        Its ground, readings and picks until the day.
    surveys : sequence of Survey
        Its surveys, oldest first.
    of_class : ClassCrop
        Its class on the day. [L m⁻²]
    density : ClassDensity
        Of its class. [kg m⁻³]
    tunables : Tunables
        Floors of mark and crop. [-]
    bag_cv2 : callable
        Squared CV of the mean bag of the season of a day, which all cells share. [-]
    class_on : callable
        The class by what was read up to a day.

    Returns
    -------
    Regrown or None
        Of its first pick; None without a rested survey before it, without its kg, or without a
        survey after it and before the next. The first survey once its rest is over teaches.
    """
    picks = [p for p in facts.picks if not p.touch]
    whole = picks[0].made.whole if picks else None
    if of_class.prediction is None or whole is None:
        return None
    pick = picks[0]
    before = [r for r in drawn_readings(facts.readings, picks) if r.reading.day <= pick.made.first]
    after = _survey_after(picks, surveys)
    if not before or after is None:
        return None
    named = {r.reading.name: r for r in facts.readings}
    again = [r for one in after.readings if (r := named[one.name]).index is not None]
    scale = crop_kg(facts.open_m2, density.mean_kg_m3, 1.0)
    # The class of today holds what has grown or was used up since, and a cell leans on its class.
    then = class_on(pick.made.first).prediction or of_class.prediction
    mark = _mark(before, then, tunables)
    if mark.index_l_m2 <= 0.0 or not again or scale <= 0.0:
        return None
    mark_kg = scale * mark.index_l_m2
    volumes = [r.index.volume_l_m2 for r in again if r.index is not None]
    taken = _taken(whole, facts, before[-1].reading.day, after.day)
    at = mean_day({day: kg.kg for day, kg in pick.made.by_day.items()})
    return Regrown(
        cell=cell,
        mark_kg=mark_kg,
        left_kg=max(mark_kg - taken.kg, tunables.crop_floor * mark_kg),
        years=(after.day.toordinal() - at) / DAYS_PER_YEAR,
        measured_kg=scale * sum(volumes) / len(volumes),
        measured_var=scale**2 * of_class.prediction.within_variance / len(volumes),
        records=tuple(r.reading.name for r in again),
        mark_var=scale**2 * mark.error,
        taken_var=taken.variance,
        shared_cv2=density.variance / density.mean_kg_m3**2 + bag_cv2(pick.made.first),
    )


def _survey_after(picks: Sequence[JudgedPick], surveys: Sequence[Survey]) -> Survey | None:
    """Give the first survey by drawn quadrats once the rest is over, else the last while resting.

    Not the last before the second pick: a survey that found much is followed by a pick, one that
    found little by another survey.
    """
    first = picks[0]
    until = picks[1].made.first if len(picks) > 1 else date.max
    found = [s for s in surveys if not s.by_eye and first.made.last < s.day <= until]
    rested = [s for s in found if first.rest_ends is not None and s.day >= first.rest_ends]
    return rested[0] if rested else found[-1] if found else None


def _mark(
    before: Sequence[ReadingIndex], prediction: ClassPrediction, tunables: Tunables
) -> OwnIndex:
    """Give the index at the mark, held at a part of the class's like any mark."""
    own, unsurveyed = index_by(prediction, before), class_unsurveyed(prediction)
    least = tunables.mark_floor * unsurveyed.index_l_m2
    if own.index_l_m2 >= least:
        return own
    return OwnIndex(least, tunables.mark_floor**2 * unsurveyed.error, 0.0)


def _taken(whole: Kg, facts: CellFacts, since: date, until: date) -> Kg:
    """Give the pick, and what was taken beside it between the two surveys."""
    beside = [p.made.whole for p in facts.picks
              if p.touch and p.made.whole is not None and since <= p.made.first < until]
    beside += [kg for day, kg in facts.stray.items() if since <= day < until]
    return Kg(
        whole.kg + sum(one.kg for one in beside),
        whole.variance + sum(one.variance for one in beside), 0.0, (),
    )
