"""What the quadrats of a class say on a day: its cells' indices and its pickable share.

Rule 1: only quadrats made while the cell was rested lend to the class or make a mark.
Rule 2: a pick is judged by what was known before it, so nothing here looks ahead.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from sync.picks.made import PickMade
from sync.settings import Tunables
from sync.survey.cells import CellSample, ClassPrediction, OwnIndex, own_index, predict_class
from sync.survey.observers import Observers
from sync.survey.quadrats import BARE, Index, class_mean_index, index_of, pickable_share
from sync.survey.readings import Reading


@dataclasses.dataclass(frozen=True)
class JudgedPick:
    """A pick that is known to be one, or a touch.

    Attributes
    ----------
    touch : bool
        True if too little was taken to start a rest.
    rest_ends : date or None
        First day on which the cell may be picked again; None for a touch.
    pickable_at_mark_kg : float or None
        qC as known before the pick. [kg]
    swept_share : float or None
        Part of the open ground that hands went over; None where no track tells. [-]
    """

    made: PickMade
    touch: bool
    rest_ends: date | None
    pickable_at_mark_kg: float | None
    swept_share: float | None = None


@dataclasses.dataclass(frozen=True)
class ReadingIndex:
    """A reading and its indices; None where it says nothing."""

    reading: Reading
    index: Index | None


@dataclasses.dataclass(frozen=True)
class ClassCrop:
    """A ground class on a day.

    Attributes
    ----------
    prediction : ClassPrediction or None
        None if no cell of the class has a drawn, rested quadrat.
    mean : Index
        Mean over the rested drawn quadrats of the class. [L m⁻²]
    """

    ground_class: str
    prediction: ClassPrediction | None
    mean: Index

    def share_of(self, own: Sequence[Index]) -> float:
        """Pickable share at the mark, q, of a cell with these rested quadrats. [-]."""
        return pickable_share(own, self.mean)


def indexed(
    readings: Iterable[Reading], living_layer_mm: Mapping[str, float], tunables: Tunables,
    observers: Observers,
) -> dict[str, tuple[ReadingIndex, ...]]:
    """Give the indices of all readings, by cell.

    Parameters
    ----------
    readings : iterable of Reading
        Of any cells.
    living_layer_mm : mapping
        Strand that must stay, by cell; a cell that is not in it is left out. [mm]
    tunables : Tunables
        For the longest strand. [mm]
    observers : Observers
        By what each reader's cover is multiplied. [-]

    Returns
    -------
    dict of str to tuple of ReadingIndex
        By cell, in day order.
    """
    by_cell: dict[str, list[ReadingIndex]] = defaultdict(list)
    for one in sorted(readings, key=lambda r: (r.day, r.name)):
        if one.cell not in living_layer_mm:
            continue
        index: Index | None = BARE
        if not one.bare:
            index = index_of(
                one.cover_pct,
                one.depth_mm,
                living_layer_mm=living_layer_mm[one.cell],
                longest_strand_mm=tunables.longest_strand_mm,
                observer_factor=observers.factor_of(one.person),
            )
        by_cell[one.cell].append(ReadingIndex(one, index))
    return {cell: tuple(each) for cell, each in by_cell.items()}


def is_rested(day: date, picks: Sequence[JudgedPick]) -> bool:
    """Say whether a cell was rested on a day: never picked before, or its rest over.

    Parameters
    ----------
    day : date
        Of a quadrat; one noted on the first day of a pick is of before that day's bags.
    picks : sequence of JudgedPick
        The cell's, oldest first; touches start no rest.

    Returns
    -------
    bool
        True on the day on which a rest ends.
    """
    before = [p for p in picks if not p.touch and p.made.first < day]
    return not before or (before[-1].rest_ends is not None and day >= before[-1].rest_ends)


def rested_readings(
    readings: Sequence[ReadingIndex], picks: Sequence[JudgedPick]
) -> list[ReadingIndex]:
    """Keep the readings that say something of the rested cell.

    Parameters
    ----------
    readings : sequence of ReadingIndex
        Of one cell.
    picks : sequence of JudgedPick
        Its picks, oldest first.

    Returns
    -------
    list of ReadingIndex
        With an index, not noted right after a pick, and made at rest.
    """
    return [
        r for r in readings
        if r.index is not None
        and r.reading.when != "after_pick"
        and is_rested(r.reading.day, picks)
    ]


def drawn_readings(
    readings: Sequence[ReadingIndex], picks: Sequence[JudgedPick]
) -> list[ReadingIndex]:
    """Keep of `rested_readings` those on plots drawn by chance."""
    return [r for r in rested_readings(readings, picks) if r.reading.drawn]


def own_readings(
    readings: Sequence[ReadingIndex], picks: Sequence[JudgedPick]
) -> list[ReadingIndex]:
    """Give what a cell's own index rests on: `drawn_readings`, or by eye where there are none."""
    return drawn_readings(readings, picks) or rested_readings(readings, picks)


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


def class_crop(
    ground_class: str,
    cells: Sequence[str],
    readings: Mapping[str, Sequence[ReadingIndex]],
    picks: Mapping[str, Sequence[JudgedPick]],
    tunables: Tunables,
    *,
    until: date,
) -> ClassCrop:
    """Say what is known of a class on a day.

    Parameters
    ----------
    ground_class : str
        Its name.
    cells : sequence of str
        Its cells, in the order of the result's arrays.
    readings, picks : mapping
        Readings and judged picks by cell.
    tunables : Tunables
        Priors.
    until : date
        Last day whose readings are used.

    Returns
    -------
    ClassCrop
        With no prediction where no cell was measured rested by drawn quadrats.
    """
    samples: list[CellSample] = []
    drawn_indices: list[Index] = []
    for cell in cells:
        known = [r for r in readings.get(cell, ()) if r.reading.day <= until]
        rested = rested_readings(known, picks.get(cell, ()))
        drawn = [r.index for r in rested if r.reading.drawn and r.index is not None]
        eye = [r.index for r in rested if not r.reading.drawn and r.index is not None]
        drawn_indices += drawn
        samples.append(CellSample(
            cell, tuple(i.volume_l_m2 for i in drawn), tuple(i.volume_l_m2 for i in eye)
        ))
    mean = class_mean_index(drawn_indices) if drawn_indices else BARE
    return ClassCrop(ground_class, predict_class(samples, tunables=tunables), mean)
