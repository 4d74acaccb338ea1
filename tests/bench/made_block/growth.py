"""Growth of made-up moss that is not the logistic that the estimates assume."""

import math


def saturating_share(rate_times_years: float) -> float:
    """Give the share of full that bare ground grows to.

    Parameters
    ----------
    rate_times_years : float
        Rate times time, rt. [-]

    Returns
    -------
    float
        1 − e^{−rt}: fastest at the start, where the logistic hardly begins (Mitscherlich; from
        memory). [-]
    """
    return -math.expm1(-rate_times_years)
