"""Cells that teach how fast moss comes back: rested, picked once of known kg, measured again.

Rule 1: the mark is by quadrats from before the pick, the second figure by those after it alone.
Rule 2: only drawn quadrats teach; whoever chooses the place finds what he expects.
"""

from collections.abc import Sequence
from datetime import date

from sync.crop.classes import ClassCrop, JudgedPick, ReadingIndex, rested_readings
from sync.crop.learn import Regrown
from sync.crop.takings import CellFacts
from sync.picks.joining import mean_day
from sync.settings import DAYS_PER_YEAR, Tunables
from sync.survey.cells import ClassPrediction, OwnIndex, class_unsurveyed, own_index
from sync.survey.density import ClassDensity
from sync.survey.readings import Survey
from sync.survey.totals import crop_kg


def index_by(prediction: ClassPrediction, read: Sequence[ReadingIndex]) -> OwnIndex:
    """Give a cell's index by some of its quadrats.

    Parameters
    ----------
    prediction : ClassPrediction
        Of its class.
    read : sequence of ReadingIndex
        All drawn, or all by eye; none gives the unsurveyed cell. [L m⁻²]

    Returns
    -------
    OwnIndex
        X̂, M_cc and γ.
    """
    volumes = [r.index.volume_l_m2 for r in read if r.index is not None]
    mean = sum(volumes) / len(volumes) if volumes else 0.0
    by_eye = bool(read) and not read[0].reading.drawn
    return own_index(prediction, mean, len(volumes), by_eye=by_eye)


def regrown_cell(
    cell: str,
    facts: CellFacts,
    surveys: Sequence[Survey],
    of_class: ClassCrop,
    density: ClassDensity,
    tunables: Tunables,
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

    Returns
    -------
    Regrown or None
        Of its first pick; None without a rested survey before it, without its kg, or without a
        survey after it and before the next.
    """
    picks = [p for p in facts.picks if not p.touch]
    if of_class.prediction is None or not picks or picks[0].made.whole is None:
        return None
    pick = picks[0]
    before = [r for r in rested_readings(facts.readings, picks)
              if r.reading.drawn and r.reading.day <= pick.made.first]
    after = _survey_after(picks, surveys)
    if not before or after is None:
        return None
    named = {r.reading.name: r for r in facts.readings}
    again = [r for one in after.readings if (r := named[one.name]).index is not None]
    mark = _mark_kg(before, facts, of_class.prediction, density, tunables)
    if mark <= 0.0 or not again:
        return None
    scale = crop_kg(facts.open_m2, density.mean_kg_m3, 1.0)
    volumes = [r.index.volume_l_m2 for r in again if r.index is not None]
    taken = _taken_kg(pick, facts, before[-1].reading.day, after.day)
    at = mean_day({day: kg.kg for day, kg in pick.made.by_day.items()})
    return Regrown(
        cell=cell,
        mark_kg=mark,
        left_kg=max(mark - taken, tunables.crop_floor * mark),
        years=(after.day.toordinal() - at) / DAYS_PER_YEAR,
        measured_kg=scale * sum(volumes) / len(volumes),
        measured_var=scale**2 * of_class.prediction.within_variance / len(volumes),
        records=tuple(r.reading.name for r in again),
    )


def _survey_after(picks: Sequence[JudgedPick], surveys: Sequence[Survey]) -> Survey | None:
    """Give the last survey by drawn quadrats after the first pick and before the second."""
    until = picks[1].made.first if len(picks) > 1 else date.max
    found = [s for s in surveys if not s.by_eye and picks[0].made.last < s.day <= until]
    return found[-1] if found else None


def _mark_kg(
    before: Sequence[ReadingIndex], facts: CellFacts, prediction: ClassPrediction,
    density: ClassDensity, tunables: Tunables,
) -> float:
    own = index_by(prediction, before).index_l_m2
    least = tunables.mark_floor * class_unsurveyed(prediction).index_l_m2
    return crop_kg(facts.open_m2, density.mean_kg_m3, max(own, least))


def _taken_kg(pick: JudgedPick, facts: CellFacts, since: date, until: date) -> float:
    """Give the pick's kg, and what was taken beside it between the two surveys."""
    whole = pick.made.whole
    touches = [p.made.whole.kg for p in facts.picks
               if p.touch and p.made.whole is not None and since <= p.made.first < until]
    strays = [kg.kg for day, kg in facts.stray.items() if since <= day < until]
    return (0.0 if whole is None else whole.kg) + sum(touches) + sum(strays)
