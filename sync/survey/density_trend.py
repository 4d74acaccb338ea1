"""Whether moss is lighter or heavier where the strand is deep, which the densities do not know.

Rule 1: this is a question put to the clips, never a correction of a figure.
"""

import dataclasses
import math
from collections.abc import Sequence

import numpy as np
from scipy.special import stdtrit

#: Fewer clips than this cannot tell a trend from chance; own choice.
CLIPS_TO_TELL = 8
#: A trend less sure than this is chance, 95 % on two sides.
_TWO_SIDED = 0.975


@dataclasses.dataclass(frozen=True)
class DepthClip:
    """A clip's density [kg m⁻³], its layer volume [L m⁻²], its quadrat's mean depth [mm]."""

    ground_class: str
    density_kg_m3: float
    volume_l_m2: float
    depth_mm: float


@dataclasses.dataclass(frozen=True)
class DepthTrend:
    """How density changes with the depth of the strand.

    Attributes
    ----------
    per_100_mm : float
        Change over mean density for 100 mm of depth. [-]
    t : float
        Slope over its standard error. [-]
    clips : int
        How many could be asked.
    sure : bool
        Whether |t| is beyond its 0.975 quantile.
    """

    per_100_mm: float
    t: float
    clips: int
    sure: bool


def depth_trend(clips: Sequence[DepthClip]) -> DepthTrend | None:
    """Ask the clips whether density changes with depth within the classes.

    Parameters
    ----------
    clips : sequence of DepthClip
        Of all classes; each class has its own level.

    Returns
    -------
    DepthTrend or None
        None under `CLIPS_TO_TELL` clips, or where depth does not vary within a class.

    Notes
    -----
    Weighted least squares of y/z on the depth less its class mean, weights z, for Var(y/z) is
    σ²/z; s² on n − H − 1 degrees of freedom, H classes. Textbook regression.
    """
    classes = sorted({clip.ground_class for clip in clips})
    left = len(clips) - len(classes) - 1
    if len(clips) < CLIPS_TO_TELL or left < 1:
        return None
    weight = np.array([clip.volume_l_m2 for clip in clips])
    density = np.array([clip.density_kg_m3 for clip in clips])
    depth = np.array([clip.depth_mm for clip in clips])
    mean = float(weight @ density) / float(weight.sum())
    off_density, off_depth = density.copy(), depth.copy()
    for name in classes:
        mine = np.array([clip.ground_class == name for clip in clips])
        for values in (off_density, off_depth):
            values[mine] -= np.average(values[mine], weights=weight[mine])
    squares = float(weight @ off_depth**2)
    if squares <= 1e-9 * float(weight.sum()):
        return None
    slope = float(weight @ (off_depth * off_density)) / squares
    residual = float(weight @ (off_density - slope * off_depth) ** 2) / left
    t = slope * math.sqrt(squares / residual) if residual > 0.0 else math.copysign(math.inf, slope)
    sure = slope != 0.0 and abs(t) > float(stdtrit(left, _TWO_SIDED))
    return DepthTrend(100.0 * slope / mean, t, len(clips), sure)
