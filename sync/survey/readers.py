"""On whose readings a figure rests: shares of the class mean, of a cell, of a density, of a total.

Rule 1: a share is a relative change: by how much the figure moves when all of a person's readings
of cover do.
Rule 2: clips of whole frames are divided by the cover of their reader, so his error cancels there.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from sync.survey.arrays import Array
from sync.survey.cells import ClassPrediction
from sync.survey.clips import Clip
from sync.survey.density import Densities
from sync.survey.observers import Observers

#: Mean index of a cell in parts, by who read the quadrats; the parts add up to the mean. [L m⁻²]
Parts = Mapping[str, float]


def parts_of(read: Sequence[tuple[str, float]]) -> dict[str, float]:
    """Part a mean over quadrats by who read them.

    Parameters
    ----------
    read : sequence of (str, float)
        Person code and volume index of each quadrat. [L m⁻²]

    Returns
    -------
    dict of str to float
        Adds up to the mean. [L m⁻²]
    """
    parts: dict[str, float] = {}
    for person, volume in read:
        parts[person] = parts.get(person, 0.0) + volume / len(read)
    return parts


def class_readers(
    prediction: ClassPrediction, drawn: Mapping[str, Parts], observers: Observers
) -> Array:
    """Give the share of a class's mean that rests on each person.

    Parameters
    ----------
    prediction : ClassPrediction
        Of the class.
    drawn : mapping of str to mapping
        Parts of the mean of each cell with drawn quadrats, by cell. [L m⁻²]
    observers : Observers
        For their order, P of them.

    Returns
    -------
    ndarray, shape (P,)
        w_o = Σγ·x̄_co/Σγ·x̄_c; adds up to 1, or is 0 where the class has no moss. [-] Derived.
    """
    found = observers.nobody()
    for cell, parts in drawn.items():
        found += prediction.weight[prediction.cells.index(cell)] * _vector(parts, observers)
    whole = float(found.sum())
    return found / whole if whole > 0.0 else found


def cell_readers(
    parts: Parts, own_weight: float, index_l_m2: float, class_mean_l_m2: float,
    of_class: Array, observers: Observers,
) -> Array:
    """Give the share of a cell's index that rests on each person.

    Parameters
    ----------
    parts : mapping of str to float
        Parts of the cell's own mean; empty for a cell nobody measured. [L m⁻²]
    own_weight : float
        γ, the weight of that mean; 0 without quadrats. [-]
    index_l_m2, class_mean_l_m2 : float
        X̂ of the cell and μ̂ of its class. [L m⁻²]
    of_class : ndarray, shape (P,)
        `class_readers`. [-]
    observers : Observers
        For their order.

    Returns
    -------
    ndarray, shape (P,)
        f_co = (γ·x̄_co + (1 − γ)·μ̂·w_o)/X̂; 0 where there is no moss. [-] Derived.
    """
    if index_l_m2 <= 0.0:
        return observers.nobody()
    lent = (1.0 - own_weight) * class_mean_l_m2 * of_class
    return (own_weight * _vector(parts, observers) + lent) / index_l_m2


def density_readers(
    densities: Densities, clips: Sequence[Clip], observers: Observers
) -> dict[str, Array]:
    """Give by how much each class's density falls when a person's readings of cover rise.

    Parameters
    ----------
    densities : Densities
        Learned from these clips. [kg m⁻³]
    clips : sequence of Clip
        Those of whole frames name their reader. [L m⁻²]
    observers : Observers
        For their order, P of them.

    Returns
    -------
    dict of str to ndarray, shape (P,)
        k_ho by class: −∂ln ρ_h/∂ln cover of o. [-] Derived.
    """
    count = len(densities.classes)
    through = np.zeros((count, len(observers.people)))
    for row, name in enumerate(densities.classes):
        whole = sum(c.volume_l_m2 for c in clips if c.ground_class == name)
        for clip in clips:
            if clip.ground_class == name and clip.reader in observers.people:
                column = observers.people.index(clip.reader)
                through[row, column] += clip.volume_l_m2 / whole * (densities.raw[row] or 0.0)
    moved = densities.learned @ through / densities.mean_kg_m3[:, None]
    return dict(zip(densities.classes, moved, strict=True))


def _vector(parts: Parts, observers: Observers) -> Array:
    return np.array([parts.get(person, 0.0) for person in observers.people])
