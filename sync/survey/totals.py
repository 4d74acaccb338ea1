"""From index and density to kg: the CV of a cell, and the sum over a block.

Rule 1: what is shared (class mean, density) is added as shared; cell variances are never summed.
Rule 2: a class without a figure is left out by the caller and its ground reported as such.
"""

import dataclasses
import math
from collections.abc import Mapping, Sequence

import numpy as np

from sync.errors import SurveyError
from sync.survey.cells import ClassPrediction
from sync.survey.density import Densities, delta2
from sync.survey.ranges import (
    Spread,
    counted_on,
    lognormal_range,
    lognormal_spread,
    t_quantile,
)

__all__ = [
    "ClassVolume",
    "Spread",
    "Total",
    "TotalParts",
    "block_total",
    "cell_cv2",
    "class_volume",
    "counted_on",
    "crop_kg",
    "delta2",
    "lognormal_range",
    "lognormal_spread",
    "t_quantile",
]


def crop_kg(area_m2: float, density_kg_m3: float, index_l_m2: float) -> float:
    """Give the standing crop of a cell in kg.

    Parameters
    ----------
    area_m2 : float
        Open ground of the cell. [m²]
    density_kg_m3 : float
        Density of its class. [kg m⁻³, the same as g L⁻¹]
    index_l_m2 : float
        Volume index. [L m⁻²]
    """
    return area_m2 * density_kg_m3 * index_l_m2 / 1000.0


def cell_cv2(
    index_l_m2: float, m_cc: float, density: float, density_var: float, between_cv2: float
) -> float:
    """Give the squared coefficient of variation of a cell's crop.

    Parameters
    ----------
    index_l_m2 : float
        X̂. [L m⁻²]
    m_cc : float
        Variance of its error. [L² m⁻⁴]
    density, density_var : float
        ρ of its class [kg m⁻³] and its variance [kg² m⁻⁶].
    between_cv2 : float
        Relative variance of density between cells, θη². [-]

    Returns
    -------
    float
        CV² [-]; 0 where there is no moss, for a crop of 0 has no relative spread.

    Notes
    -----
    M/X̂² + C/ρ² + their product + θη²: the variance of a product of two independent estimates
    (Goodman 1960, On the exact variance of products, *JASA* 55:708-713, from memory).
    """
    if index_l_m2 <= 0.0:
        return 0.0
    of_index = m_cc / index_l_m2**2
    of_density = density_var / density**2
    return of_index + of_density + of_index * of_density + between_cv2


@dataclasses.dataclass(frozen=True)
class ClassVolume:
    """The solid moss of a class over the open ground of its cells.

    Attributes
    ----------
    ground_class : str
        The class.
    volume_m3 : float
        S = Σ A X̂/1000. [m³]
    variance_m6 : float
        aᵀMa, a = A/1000. [m⁶]
    squares_m6 : float
        Σ(A X̂/1000)², for what differs from cell to cell. [m⁶]
    df : float
        Degrees of freedom that the variance is known by.
    """

    ground_class: str
    volume_m3: float
    variance_m6: float
    squares_m6: float
    df: float = math.inf


def class_volume(
    ground_class: str, prediction: ClassPrediction, areas_m2: Mapping[str, float]
) -> ClassVolume:
    """Add up a class's index over its open ground.

    Parameters
    ----------
    ground_class : str
        The class.
    prediction : ClassPrediction
        Of all its cells.
    areas_m2 : mapping of str to float
        Open ground of each of those cells; 0 leaves a cell out of the sum. [m²]

    Returns
    -------
    ClassVolume
        Volume [m³] and its variance [m⁶].

    Raises
    ------
    SurveyError
        If a cell has no area.
    """
    missing = [cell for cell in prediction.cells if cell not in areas_m2]
    if missing:
        raise SurveyError(f"cells {missing!r} of class {ground_class!r}: open ground not given")
    area = np.array([areas_m2[cell] for cell in prediction.cells]) / 1000.0
    volumes = area * prediction.index_l_m2
    return ClassVolume(
        ground_class=ground_class,
        volume_m3=float(volumes.sum()),
        variance_m6=float(area @ prediction.error @ area),
        squares_m6=float(volumes @ volumes),
        df=prediction.sum_df,
    )


@dataclasses.dataclass(frozen=True)
class TotalParts:
    """Where the variance of a total comes from, in kg².

    Attributes
    ----------
    survey : float
        Index of the cells, Σρ²aᵀMa.
    density : float
        Densities and what they share, SᵀC_ρS.
    product : float
        Both at once, ΣC_ρ,hh aᵀMa.
    between_cells : float
        Density from cell to cell, Σθη²ΣB².
    readers : float
        Readers of cover, FᵀVF.
    """

    survey: float
    density: float
    product: float
    between_cells: float
    readers: float


@dataclasses.dataclass(frozen=True)
class Total:
    """A sum over cells: its kg, its variance [kg²], the parts of that, and what it is known by.

    Attributes
    ----------
    df : float
        Satterthwaite's degrees of freedom; infinite where nothing was learned from few cells.
    """

    kg: float
    variance: float
    parts: TotalParts
    df: float = math.inf

    @property
    def cv(self) -> float:
        """SD over kg; 0 for a total of 0."""
        return math.sqrt(self.variance) / self.kg if self.kg > 0.0 else 0.0


def block_total(
    volumes: Sequence[ClassVolume], densities: Densities, *, readers_kg2: float = 0.0
) -> Total:
    """Add up the standing crop of the classes that have a figure.

    Parameters
    ----------
    volumes : sequence of ClassVolume
        One of each class. [m³]
    densities : Densities
        Of at least these classes. [kg m⁻³]
    readers_kg2 : float
        What the readers' errors add, FᵀVF with F_o = Σ f_co·B_c. [kg²]

    Returns
    -------
    Total
        T [kg] and Var T [kg²].

    Raises
    ------
    SurveyError
        If a class has no density, or stands twice.

    Notes
    -----
    Var T = SᵀC_ρS + Σ(ρ² + C_ρ,hh)aᵀMa + Σθη²ΣB² + FᵀVF. Errors of the class mean, of density
    and of a reader are the same in every cell and do not average out. Derived. Only the survey's
    part of each class was learned from its few cells; the rest counts as known in the degrees of
    freedom (Satterthwaite 1946, *Biometrics Bulletin* 2:110-114, from memory).
    """
    names = [volume.ground_class for volume in volumes]
    unknown = [name for name in names if name not in densities.classes]
    if unknown or len(set(names)) < len(names):
        raise SurveyError(f"classes {names!r}: each once, of {list(densities.classes)!r}")
    rows = [densities.classes.index(name) for name in names]
    density = densities.mean_kg_m3[rows]
    covariance = densities.covariance[np.ix_(rows, rows)]
    volume = np.array([one.volume_m3 for one in volumes])
    variance = np.array([one.variance_m6 for one in volumes])
    squares = np.array([one.squares_m6 for one in volumes])
    between_cv2 = densities.between * densities.clip_cv2[rows]
    parts = TotalParts(
        survey=float(density**2 @ variance),
        density=float(volume @ covariance @ volume),
        product=float(np.diag(covariance) @ variance),
        between_cells=float(between_cv2 @ (density**2 * squares)),
        readers=readers_kg2,
    )
    whole = math.fsum(dataclasses.astuple(parts))
    unsure = sum(
        (float(known) * one.variance_m6) ** 2 / one.df
        for known, one in zip(density**2 + np.diag(covariance), volumes, strict=True)
    )
    df = whole**2 / unsure if unsure > 0.0 else math.inf
    return Total(float(density @ volume), whole, parts, df)
