"""A figure whose spread is not known for sure: a mixture of Student's t, with mean and range."""

import dataclasses

import numpy as np
import numpy.typing as npt
from scipy.special import stdtr, stdtrit

from sync.settings import RANGE_LEVEL

Array = npt.NDArray[np.float64]
_HALVINGS = 60


@dataclasses.dataclass(frozen=True, eq=False)
class Marginal:
    """A mixture of t on `df` degrees of freedom.

    Attributes
    ----------
    means, scales, weights : array, shape (K,)
        Centre and scale of each, and how much it counts; weights add up to 1. [unit]
    """

    means: Array
    scales: Array
    weights: Array
    df: float

    @property
    def mean(self) -> float:
        """Its middle: the mean of the centres. [unit]."""
        return float(self.weights @ self.means)

    def chance_from(self, least: float) -> float:
        """Give the chance of a value at or above one. [-]."""
        return float(self.weights @ stdtr(self.df, (self.means - least) / self.scales))

    def quantile(self, chance: float) -> float:
        """Give the value that is not passed with a chance, by bisection. [unit]."""
        ends = self.means + self.scales * stdtrit(self.df, chance)
        low, high = float(ends.min()), float(ends.max())
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            if 1.0 - self.chance_from(middle) < chance:
                low = middle
            else:
                high = middle
        return (low + high) / 2.0

    def range(self) -> tuple[float, float]:
        """Give the 90 % range. [unit]."""
        return self.quantile((1.0 - RANGE_LEVEL) / 2.0), self.quantile((1.0 + RANGE_LEVEL) / 2.0)
