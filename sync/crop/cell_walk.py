"""One cell's crop, walked from its first day to the day asked about.

Rule 1: events are taken in the order of their days; a survey comes before that day's bags.
Rule 2: a cell without a rested survey of its own begins with its class's mark.
"""

import math
from collections.abc import Sequence
from datetime import date

from sync.crop.classes import ClassCrop, ReadingIndex, index_by, is_rested, own_readings
from sync.crop.pickable import Measured, pickable_kg
from sync.crop.reading_shares import Readers
from sync.crop.remeasure import mark_floor, remeasure, with_mark
from sync.crop.takings import CellFacts, Taking, takings
from sync.crop.walk import Growth, Stand, grow, share_of_full, start, take
from sync.crop.walked import STRAY, During, Grew, Met, Step, Walked
from sync.picks.made import Kg
from sync.settings import DAYS_PER_YEAR, Tunables
from sync.survey.arrays import Array
from sync.survey.cells import ClassPrediction, OwnIndex, class_unsurveyed
from sync.survey.density import ClassDensity
from sync.survey.quadrats import Index
from sync.survey.readings import Survey, surveys_of
from sync.survey.totals import cell_cv2, crop_kg

#: Two crops this near are one crop, worked out in two ways. [-]
_ROUNDING = 1e-12


def walk_cell(
    facts: CellFacts,
    of_class: ClassCrop,
    density: ClassDensity,
    growth: Growth,
    tunables: Tunables,
    *,
    readers: Readers,
    until: date,
) -> Walked | None:
    """Walk one cell to a day.

    Parameters
    ----------
    facts : CellFacts
        Its ground, readings and picks.
    of_class : ClassCrop
        Its class on that day. [L m⁻²]
    density : ClassDensity
        Of its class. [kg m⁻³]
    growth : Growth
        Rate of regrowth. [yr⁻¹]
    tunables : Tunables
        Floors and the time of a survey.
    readers : Readers
        Whose readings its class rests on.
    until : date
        The last day.

    Returns
    -------
    Walked or None
        None where the class has no figure or the cell no open ground.
    """
    if of_class.prediction is None or facts.open_m2 <= 0.0:
        return None
    walker = _Walker(facts, of_class.prediction, of_class, density, growth, tunables, readers)
    surveys = cell_surveys(facts, tunables)
    return walker.walk(surveys, until)


def cell_surveys(facts: CellFacts, tunables: Tunables) -> tuple[Survey, ...]:
    """Part a cell's readings into surveys, oldest first.

    Parameters
    ----------
    facts : CellFacts
        Its readings and picks; only days of picks part surveys, not those of touches.
    tunables : Tunables
        How long a survey lasts. [days]
    """
    days = sorted({day for p in facts.picks if not p.touch for day in p.made.days})
    useful = [r.reading for r in facts.readings if r.index is not None]
    return surveys_of(useful, days, survey_days=tunables.survey_days)


class _Walker:
    """The state of one walk: the stand, and the day it is of."""

    def __init__(
        self,
        facts: CellFacts,
        prediction: ClassPrediction,
        of_class: ClassCrop,
        density: ClassDensity,
        growth: Growth,
        tunables: Tunables,
        readers: Readers,
    ) -> None:
        self.facts = facts
        self.prediction = prediction
        self.density = density
        self.growth = growth
        self.tunables = tunables
        self.readers = readers
        self.by_name = {r.reading.name: r for r in facts.readings}
        self.own = own_readings(facts.readings, facts.picks)
        self.share = of_class.share_of([r.index for r in self.own if r.index is not None])
        self.class_stand, self.class_by = self._start(class_unsurveyed(prediction), [])
        self.stand = self.class_stand
        self.crop_by = self.mark_by = self.class_by
        self.at: float | None = None
        self.marked = False
        self.measured: Measured | None = None
        self.since: list[Kg] = []
        self.picked_since = False
        self.grown = False
        self.taken_kg: dict[int, Kg] = {}
        self.during: During | None = None
        self.over: list[date] = []
        self.steps: list[Step] = []
        self.grew: Grew | None = None
        self.met: Met | None = None

    def walk(self, surveys: Sequence[Survey], until: date) -> Walked:
        days = [float(s.day.toordinal()) for s in surveys]
        taken = takings(self.facts, days)
        events: list[tuple[float, int, Survey | Taking]] = [
            (at, 0, survey) for at, survey in zip(days, surveys, strict=True)
        ]
        events += [(taking.at, 1, taking) for taking in taken]
        for at, _, event in sorted(events, key=lambda e: (e[0], e[1])):
            self._grow_to(at)
            if isinstance(event, Survey):
                self._survey(event)
            else:
                self._take(event)
        self._grow_to(float(until.toordinal()))
        return Walked(
            stand=self.stand,
            share=self.share,
            pickable_kg=self._pickable(),
            measured=self.measured,
            surveys=tuple(surveys),
            forecast=self.grown or self.picked_since,
            since_survey=tuple(self.since),
            during=self.during,
            more_than_stood=tuple(self.over),
            taken={self.facts.picks[n].made.first: kg for n, kg in self.taken_kg.items()},
            steps=tuple(self.steps),
            grew=self.grew,
        )

    def _start(self, own: OwnIndex, read: Sequence[ReadingIndex]) -> tuple[Stand, Array]:
        """Give crop and mark of an index, and the shares of it that rest on each reader."""
        density = self.density
        cv2 = cell_cv2(
            own.index_l_m2, own.error, density.mean_kg_m3, density.variance, density.between_cv2
        )
        by = self.readers.of_crop(read, own.weight, own.index_l_m2, self.prediction)
        cv2 += self.readers.observers.shared(by, by) if own.index_l_m2 > 0.0 else 0.0
        crop = crop_kg(self.facts.open_m2, density.mean_kg_m3, own.index_l_m2)
        return start(crop, cv=math.sqrt(cv2)), by

    def _shared(self, one: Array, other: Array) -> float:
        return self.density.unaveraged + self.readers.observers.shared(one, other)

    def _grow_to(self, at: float) -> None:
        if self.at is not None and at > self.at and self.stand.mark_kg > 0.0:
            before, years = self.stand, (at - self.at) / DAYS_PER_YEAR
            self.stand = grow(before, years, self.growth)
            # A last digit that rounding left under the mark is no growth.
            if not math.isclose(self.stand.crop_kg, before.crop_kg, rel_tol=_ROUNDING):
                self.grown = True
                full = self.growth.comeback
                self.grew = Grew(years, share_of_full(before, full),
                                 share_of_full(self.stand, full), self.stand.crop_kg)
        self.at = at

    def _survey(self, survey: Survey) -> None:
        read = [r for one in survey.readings if (r := self.by_name[one.name]).index is not None]
        if not read:
            return
        rested = is_rested(survey.day, self.facts.picks)
        if rested and not self.marked:
            self.stand, self.crop_by = self._rested_stand(survey.day)
            self.mark_by = self.crop_by
        else:
            self._combine(read, survey.by_eye)
            if rested:
                mark, self.mark_by = self._rested_stand(survey.day)
                self._mark(mark.mark_kg, mark.mark_var)
            else:
                self._mark(self.stand.mark_kg, self.stand.mark_var)
        if rested:
            self.marked = True
            self._hold_mark()
            self.since = []
        found = [r.index for r in read if r.index is not None]
        self.measured = Measured(self.stand.crop_kg, _share(found))
        self.picked_since = False
        self.grown = False
        self._note_during(survey)
        what = "survey" if rested else "survey while resting"
        self._step(survey.day, what, tuple(r.name for r in survey.readings))

    def _rested_stand(self, day: date) -> tuple[Stand, Array]:
        """Crop and mark by all rested readings up to a day, and whose readings they are."""
        pooled = [r for r in self.own if r.index is not None and r.reading.day <= day]
        return self._start(index_by(self.prediction, pooled), pooled)

    def _mark(self, mark_kg: float, mark_var: float) -> None:
        shared = self._shared(self.crop_by, self.mark_by)
        self.stand = with_mark(self.stand, mark_kg, mark_var, shared=shared)

    def _hold_mark(self) -> None:
        own = self.stand.mark_kg
        self.stand = mark_floor(
            self.stand, self.class_stand.mark_kg, self.class_stand.mark_var,
            floor=self.tunables.mark_floor, shared=self._shared(self.crop_by, self.class_by),
        )
        if self.stand.mark_kg != own:
            self.mark_by = self.class_by

    def _combine(self, read: Sequence[ReadingIndex], by_eye: bool) -> None:
        found = [r.index for r in read if r.index is not None]
        mean = sum(i.volume_l_m2 for i in found) / len(found)
        variance = self.prediction.within_variance / len(found)
        if by_eye:
            mean *= self.prediction.by_eye.ratio
            variance += (self.prediction.by_eye.cv * mean) ** 2
        scale = crop_kg(self.facts.open_m2, self.density.mean_kg_m3, 1.0)
        by = self.readers.of_survey(read)
        forecast = self.stand.crop_kg
        after = remeasure(
            self.stand, scale * mean, scale**2 * variance,
            shared=self._shared(self.crop_by, by), of_measured=self._shared(by, by),
        )
        self.met = Met(
            forecast, math.sqrt(self.stand.crop_var), mean, scale * mean,
            scale * math.sqrt(variance), after.weight, after.surprise,
        )
        self.stand = after.stand
        if self.stand.crop_kg > 0.0:
            kept = (1.0 - after.weight) * forecast * self.crop_by
            self.crop_by = (kept + after.weight * scale * mean * by) / self.stand.crop_kg

    def _note_during(self, survey: Survey) -> None:
        """Remember a survey made after a pick began, with what was taken before it."""
        begun = [n for n, p in enumerate(self.facts.picks) if p.made.first <= survey.day]
        if begun:
            first = self.facts.picks[begun[-1]].made.first
            taken = self.taken_kg.get(begun[-1], Kg(0.0, 0.0, 0.0, ()))
            self.during = During(first, self.stand, self._pickable(), taken)

    def _take(self, taking: Taking) -> None:
        kg = taking.kg
        if kg is None:
            pickable = self._pickable()
            spread = (self.tunables.unknown_kg_cv * pickable) ** 2
            kg = Kg(pickable, spread, 0.0, taking.records)
        self.stand, hit = take(
            self.stand, kg.kg, kg.variance, floor=self.tunables.crop_floor
        )
        if hit:
            self.over.append(taking.day)
        self.since.append(kg)
        if taking.pick is not None:
            self.picked_since = True
            number = list(self.facts.picks).index(taking.pick)
            before = self.taken_kg.get(number, Kg(0.0, 0.0, 0.0, ()))
            self.taken_kg[number] = Kg(
                before.kg + kg.kg, before.variance + kg.variance, before.bags + kg.bags,
                before.records + kg.records,
            )
            if not taking.pick.touch:
                self.measured = None
        self._step(taking.day, "pick" if taking.pick else STRAY, taking.records, kg.kg)

    def _pickable(self) -> float:
        if self.stand.mark_kg <= 0.0:
            return 0.0
        return pickable_kg(
            self.stand.crop_kg, self.stand.mark_kg, self.share, measured=self.measured
        )

    def _step(
        self, day: date, what: str, records: tuple[str, ...], kg: float | None = None
    ) -> None:
        self.steps.append(Step(
            day, what, self.stand.crop_kg, self.stand.mark_kg, records, kg, self.grew, self.met
        ))
        self.grew = self.met = None


def _share(found: Sequence[Index]) -> float:
    whole = sum(i.volume_l_m2 for i in found)
    return sum(i.pickable_l_m2 for i in found) / whole if whole > 0.0 else 0.0

