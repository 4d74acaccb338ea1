"""Density of each ground class from its clips, however few.

Rule 1: always the ratio through the origin; an intercept would be mass on bare ground.
Rule 2: one formula for none, one or forty clips: a class without any borrows, and knows it.
Rule 3: part of a clip's spread lies between cells, and no number of quadrats takes that away.
"""

import dataclasses
import math
from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from sync.errors import SurveyError
from sync.settings import Tunables
from sync.survey.arrays import Array, read_only
from sync.survey.clip_cells import share_between_cells
from sync.survey.clips import Clip


@dataclasses.dataclass(frozen=True)
class DensityPrior:
    """What is assumed of densities before any clip is seen.

    Attributes
    ----------
    level_kg_m3 : float
        Density of the block. [kg m⁻³]
    cv_block, cv_class, cv_clip : float
        Spread of the block about that level, of a class about its block, of one clip about its
        class. [-]
    df : float
        Worth of `cv_clip` in degrees of freedom.
    between, between_df : float
        Share of a clip's variance that lies between cells [-], and its worth in degrees of
        freedom.
    scale_l_m2 : float
        Layer at which `cv_clip` is read when there is no clip. [L m⁻²]
    """

    level_kg_m3: float
    cv_block: float
    cv_class: float
    cv_clip: float
    df: float
    between: float
    between_df: float
    scale_l_m2: float


@dataclasses.dataclass(frozen=True, eq=False)
class Densities:
    """Density of every class, with the errors they share.

    Attributes
    ----------
    classes : tuple of str
        Order of everything below, H of them.
    mean_kg_m3 : ndarray, shape (H,)
        Density ρ. [kg m⁻³]
    covariance : ndarray, shape (H, H)
        C_ρ. [kg² m⁻⁶]
    raw : tuple of float or None
        Plain ratio Σy/Σz of a class; None without clips. [kg m⁻³]
    clips : tuple of int
        Clips of each class.
    z_mean : float
        Mean layer volume over all clips. [L m⁻²]
    sigma2_assumed, squares, sigma2 : float
        Variance of one clip per z: assumed, Σ(y − ρz)²/z as seen, and blended. [g² m⁻⁴ per L m⁻²]
    clip_cv2 : ndarray, shape (H,)
        Relative variance of one clip, η². [-]
    between : float
        Share θ of it that lies between cells. [-]
    unaveraged : ndarray, shape (H,)
        δ², the part of a cell's CV² that no quadrat removes. [-]
    learned : ndarray, shape (H, H)
        By how much each density moves with the plain ratio of each class. [-]
    """

    classes: tuple[str, ...]
    mean_kg_m3: Array
    covariance: Array
    raw: tuple[float | None, ...]
    clips: tuple[int, ...]
    z_mean: float
    sigma2_assumed: float
    squares: float
    sigma2: float
    clip_cv2: Array
    between: float
    unaveraged: Array
    learned: Array


@dataclasses.dataclass(frozen=True)
class ClassDensity:
    """The density of one class: mean [kg m⁻³], variance [kg² m⁻⁶], θη² and δ² [-], clips."""

    mean_kg_m3: float
    variance: float
    between_cv2: float
    unaveraged: float
    clips: int


def density_prior(tunables: Tunables) -> DensityPrior:
    """Take the prior out of the tunables."""
    return DensityPrior(
        level_kg_m3=tunables.density_prior_kg_m3,
        cv_block=tunables.cv_density_block,
        cv_class=tunables.cv_density_class,
        cv_clip=tunables.cv_clip,
        df=tunables.prior_df,
        between=tunables.density_between_cells,
        between_df=tunables.density_df,
        scale_l_m2=tunables.index_scale_l_m2,
    )


def density_of_classes(
    clips: Sequence[Clip], classes: Sequence[str], *, prior: DensityPrior
) -> Densities:
    """Estimate the dry density of each ground class from its clips.

    Parameters
    ----------
    clips : sequence of Clip
        Shed-dry mass y [g m⁻²] and volume of the layer cut z [L m⁻²]; may be empty.
    classes : sequence of str
        The block's ground classes, H of them; one without clips borrows from the others.
    prior : DensityPrior
        Level and spread assumed before any clip is seen. [kg m⁻³, -]

    Returns
    -------
    Densities
        Mean, shape (H,) [kg m⁻³], covariance, shape (H, H) [kg² m⁻⁶], and what they rest on.

    Raises
    ------
    SurveyError
        If a clip's class is not in `classes`, or its volume is not positive.

    Notes
    -----
    y = ρ_h z + e, Var e = σ²z, so that the best estimate is Σy/Σz: Royall 1970, On finite
    population sampling theory under certain linear regression models, *Biometrika* 57:377-387
    (from memory). It conditions on z, so clips may be cut where the picker likes.
    σ² = (ν0 s0² + Σ(y − ρ_raw z)²/z)/(ν0 + n − H_clipped), s0² = (cv_clip ρ0)² z̄; the prior
    covariance is (cv_block ρ0)²J + (cv_class ρ0)²I, and mean and covariance are those of a normal
    prior met by ρ_raw,h ~ N(ρ_h, σ²/Σz). Derived.
    """
    _check(clips, classes)
    mass = np.array([_total(clips, name, "mass_g_m2") for name in classes])
    volume = np.array([_total(clips, name, "volume_l_m2") for name in classes])
    seen = volume > 0.0
    raw = np.divide(mass, volume, out=np.zeros_like(mass), where=seen)
    residuals = _residuals(clips, dict(zip(classes, raw, strict=True)))
    z_mean = float(volume.sum()) / len(clips) if clips else prior.scale_l_m2
    assumed = (prior.cv_clip * prior.level_kg_m3) ** 2 * z_mean
    squares = math.fsum(residual * residual for residual in residuals)
    df = prior.df + len(clips) - int(seen.sum())
    sigma2 = (prior.df * assumed + squares) / df
    mean, covariance, learned = _meet(prior, raw, volume, seen, sigma2)
    clip_cv2 = sigma2 / (mean**2 * z_mean)
    between = share_between_cells(
        residuals, [clip.cell for clip in clips], assumed=prior.between, df=prior.between_df)
    return Densities(
        classes=tuple(classes),
        mean_kg_m3=read_only(mean),
        covariance=read_only(covariance),
        raw=tuple(
            float(ratio) if known else None for ratio, known in zip(raw, seen, strict=True)),
        clips=tuple(sum(clip.ground_class == name for clip in clips) for name in classes),
        z_mean=z_mean,
        sigma2_assumed=assumed,
        squares=squares,
        sigma2=sigma2,
        clip_cv2=read_only(clip_cv2),
        between=between,
        unaveraged=read_only(np.array([
            delta2(*of_one) for of_one in zip(
                mean, np.diag(covariance), between * clip_cv2, strict=True)])),
        learned=read_only(learned),
    )


def delta2(density: float, variance: float, between_cv2: float) -> float:
    """Give δ², the part of a cell's CV² that no quadrat removes.

    Parameters
    ----------
    density : float
        Density of its class, ρ. [kg m⁻³]
    variance : float
        Variance of that density, C_ρ,hh. [kg² m⁻⁶]
    between_cv2 : float
        Relative variance of density between cells, θη². [-]

    Returns
    -------
    float
        C_ρ,hh/ρ² + θη². Derived. [-]
    """
    return variance / density**2 + between_cv2


def of_class(densities: Densities, ground_class: str) -> ClassDensity:
    """Pick one class out of the densities.

    Raises
    ------
    SurveyError
        If there is no such class.
    """
    if ground_class not in densities.classes:
        raise SurveyError(f"ground_class={ground_class!r}: no density for it")
    row = densities.classes.index(ground_class)
    return ClassDensity(
        mean_kg_m3=float(densities.mean_kg_m3[row]),
        variance=float(densities.covariance[row, row]),
        between_cv2=densities.between * float(densities.clip_cv2[row]),
        unaveraged=float(densities.unaveraged[row]),
        clips=densities.clips[row],
    )


def _check(clips: Sequence[Clip], classes: Sequence[str]) -> None:
    for clip in clips:
        if clip.ground_class not in classes:
            raise SurveyError(
                f"clip with ground_class={clip.ground_class!r}: not one of {list(classes)}")
        if clip.volume_l_m2 <= 0.0:
            raise SurveyError(f"clip with volume_l_m2={clip.volume_l_m2!r}: must be above 0")


def _total(clips: Sequence[Clip], ground_class: str, field: str) -> float:
    return math.fsum(getattr(clip, field) for clip in clips if clip.ground_class == ground_class)


def _residuals(clips: Sequence[Clip], raw: Mapping[str, float]) -> list[float]:
    """Give (y − ρ_raw z)/√z of every clip: of one variance, σ², under the model."""
    return [
        (clip.mass_g_m2 - raw[clip.ground_class] * clip.volume_l_m2) / math.sqrt(clip.volume_l_m2)
        for clip in clips
    ]


def _meet(
    prior: DensityPrior, raw: Array, volume: Array, seen: npt.NDArray[np.bool_], sigma2: float
) -> tuple[Array, Array, Array]:
    """Meet the prior with the raw ratios; the same as adding precisions, without inverting any."""
    level = prior.level_kg_m3
    count = len(raw)
    covariance = (prior.cv_block * level) ** 2 * np.ones((count, count))
    covariance += (prior.cv_class * level) ** 2 * np.eye(count)
    mean, learned = np.full(count, level), np.zeros((count, count))
    if not seen.any():
        return mean, covariance, learned
    observed = covariance[np.ix_(seen, seen)] + np.diag(sigma2 / volume[seen])
    gain = np.linalg.solve(observed, covariance[seen]).T
    left = covariance - gain @ covariance[seen]
    learned[:, seen] = gain
    return mean + gain @ (raw[seen] - level), (left + left.T) / 2.0, learned
