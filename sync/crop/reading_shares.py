"""Whose readings the crop of a day rests on, class by class and cell by cell.

Rule 1: an error of a reader is the same in all that rests on him, so it is carried as a share of
each figure and never averaged away.
"""

import dataclasses
from collections.abc import Mapping, Sequence

import numpy as np

from sync.crop.classes import ClassCrop, JudgedPick, ReadingIndex, drawn_readings
from sync.survey.arrays import Array
from sync.survey.cells import ClassPrediction
from sync.survey.observers import Observers, ReadTwice
from sync.survey.readers import cell_readers, class_readers, parts_of
from sync.survey.readings import Reading


@dataclasses.dataclass(frozen=True, eq=False)
class Readers:
    """What a class's figures owe to each reader of cover.

    Attributes
    ----------
    observers : Observers
        P of them.
    of_mean : ndarray, shape (P,)
        Shares of the class mean. [-]
    of_density : ndarray, shape (P,)
        By how much its density falls when a person's readings rise: only whole-frame clips. [-]
    """

    observers: Observers
    of_mean: Array
    of_density: Array

    def of_crop(
        self, read: Sequence[ReadingIndex], own_weight: float, index_l_m2: float,
        prediction: ClassPrediction,
    ) -> Array:
        """Give the shares of a cell's crop by some of its quadrats.

        Parameters
        ----------
        read : sequence of ReadingIndex
            The quadrats that its own mean is of.
        own_weight : float
            γ of that mean; 0 for a cell nobody measured. [-]
        index_l_m2 : float
            The cell's index X̂. [L m⁻²]
        prediction : ClassPrediction
            Of its class.

        Returns
        -------
        ndarray, shape (P,)
            f − k. [-]
        """
        ratio = 1.0 if not read or read[0].reading.drawn else prediction.by_eye.ratio
        parts = {who: ratio * part for who, part in parts_of(_volumes(read)).items()}
        return cell_readers(
            parts, own_weight, index_l_m2, prediction.mean_l_m2, self.of_mean, self.observers
        ) - self.of_density

    def of_survey(self, read: Sequence[ReadingIndex]) -> Array:
        """Give the shares of a crop by one survey's quadrats alone, shape (P,). [-]."""
        parts = parts_of(_volumes(read))
        whole = sum(parts.values())
        people = self.observers.people
        own = np.array([parts.get(person, 0.0) for person in people])
        return (own / whole if whole > 0.0 else own) - self.of_density


def read_twice(readings: Sequence[Reading], dots: frozenset[str]) -> list[ReadTwice]:
    """Give the quadrats that two persons read.

    Parameters
    ----------
    readings : sequence of Reading
        Each with its second readings.
    dots : frozenset of str
        Persons whose second readings are counted by dots.

    Returns
    -------
    list of ReadTwice
        One a second reading.
    """
    return [
        ReadTwice(one.person, None if again.person in dots else again.person,
                  one.cover_pct, again.cover_pct, again.name)
        for one in readings for again in one.again
    ]


def readers_of(
    of_class: ClassCrop,
    cells: Sequence[str],
    readings: Mapping[str, Sequence[ReadingIndex]],
    picks: Mapping[str, Sequence[JudgedPick]],
    observers: Observers,
    of_density: Array,
) -> Readers:
    """Say on whose readings a class rests.

    Parameters
    ----------
    of_class : ClassCrop
        The class on the day.
    cells : sequence of str
        Its cells.
    readings, picks : mapping
        By cell, none after the day.
    observers : Observers
        Everybody who read, P of them.
    of_density : ndarray, shape (P,)
        What its density owes to each. [-]

    Returns
    -------
    Readers
        With no share of a mean where the class has none.
    """
    if of_class.prediction is None:
        return Readers(observers, observers.nobody(), of_density)
    drawn = {}
    for cell in cells:
        mine = drawn_readings(readings.get(cell, ()), picks.get(cell, ()))
        if mine:
            drawn[cell] = parts_of(_volumes(mine))
    return Readers(observers, class_readers(of_class.prediction, drawn, observers), of_density)


def _volumes(read: Sequence[ReadingIndex]) -> list[tuple[str, float]]:
    return [(r.reading.person, r.index.volume_l_m2) for r in read if r.index is not None]
