"""An estimate with its variance and degrees of freedom, and the interval they make."""

import dataclasses
import math

from scipy.special import ndtri, stdtrit

from sync.errors import SurveyError


@dataclasses.dataclass(frozen=True)
class Estimate:
    """A figure and how sure it is.

    Attributes
    ----------
    value : float
        The figure.
    variance : float
        Of the value, 0 or more. [unit²]
    df : float
        Degrees of freedom of that variance; infinite where it is known. [-]
    """

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

        Raises
        ------
        SurveyError
            If `level` is not between 0 and 1, or `df` is not above 0.

        Notes
        -----
        value ∓ t·SE, t the (1 + level)/2 quantile on `df`: textbook.
        """
        if not (0.0 < level < 1.0 and self.df > 0.0):
            raise SurveyError(f"level={level!r}, df={self.df!r}: an interval needs a level "
                              "between 0 and 1 and degrees of freedom above 0")
        upper = 0.5 + level / 2.0
        t = float(ndtri(upper)) if math.isinf(self.df) else float(stdtrit(self.df, upper))
        return self.value - t * self.se, self.value + t * self.se
