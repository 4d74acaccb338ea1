"""An estimate with its variance and degrees of freedom, and the interval they make."""

import dataclasses
import math

from scipy.special import ndtri, stdtrit


@dataclasses.dataclass(frozen=True)
class Estimate:
    """A figure, its variance [unit²], and the degrees of freedom of that variance."""

    value: float
    variance: float
    df: float = math.inf

    @property
    def se(self) -> float:
        """Standard error, in the unit of the value."""
        return math.sqrt(self.variance)

    def interval(self, level: float = 0.90) -> tuple[float, float]:
        """Give the interval by Student's t, or the normal where df is infinite.

        Parameters
        ----------
        level : float
            Share of such intervals that hold the truth, 0 to 1. [-]

        Returns
        -------
        low, high : float
            In the unit of the value.
        """
        upper = 0.5 + level / 2.0
        t = float(ndtri(upper)) if math.isinf(self.df) else float(stdtrit(self.df, upper))
        return self.value - t * self.se, self.value + t * self.se
