"""What may be taken from a cell, and which rule says so.

Rule 1: the least of three answers holds: what comes back, what must be kept, what the permit
allows.
Rule 2: caution enters once in each of them, through one quantile.
Rule 3: percentage × crop at the start of the pick = may take, exactly, so that a person can check.
"""

import dataclasses
import math
from typing import Literal

from sync.crop.walk import Growth, Stand
from sync.survey.ranges import counted_on

Binds = Literal["regrowth", "living_layer", "share_kept", "permit"]


@dataclasses.dataclass(frozen=True)
class Allowance:
    """What may be taken at the start of a pick.

    Attributes
    ----------
    regrowth_kg, kept_kg : float
        What comes back in time, and what the share kept leaves; the first may be under 0. [kg]
    permit_kg : float or None
        What the permit allows; None where it states no share. [kg]
    may_take_kg : float
        The least of them, not under 0. [kg]
    sustainable_pct : float
        May take over standing crop. [%]
    binds : {"regrowth", "living_layer", "share_kept", "permit"}
        Whose answer it is.
    must_stay_kg, counted_on_kg : float
        Standing crop less may take; the crop that is exceeded with the wanted chance. [kg]
    crop_kg, mark_kg, pickable_kg : float
        What it was worked out from: crop, rested crop and pickable crop. [kg]
    left_share : float
        Share of full from which the rest brings the cell back, e. [-]
    """

    regrowth_kg: float
    kept_kg: float
    permit_kg: float | None
    may_take_kg: float
    sustainable_pct: float
    binds: Binds
    must_stay_kg: float
    counted_on_kg: float
    crop_kg: float
    mark_kg: float
    pickable_kg: float
    left_share: float


def left_after_rest_share(rate: float, rest_years: float, comeback: float) -> float:
    """Give the share of full from which a rest brings a cell back to its mark.

    Parameters
    ----------
    rate : float
        Growth rate of the logistic. [1/yr]
    rest_years : float
        Rest period, months/12. [yr]
    comeback : float
        Share of full at the mark, φ. [-]

    Returns
    -------
    float
        e = φ/(φ + (1−φ)e^{rT}); φ itself where nothing grows. [-]

    Notes
    -----
    Derived: the logistic run backwards from φ.
    """
    fade = math.exp(-rate * rest_years)
    return comeback * fade / (comeback * fade + 1.0 - comeback)


def allowance(
    stand: Stand,
    pickable_kg: float,
    *,
    area_m2: float,
    growth: Growth,
    rest_years: float,
    keep: float,
    max_share: float | None,
    max_kg_m2: float | None,
    z: float,
) -> Allowance:
    """Work out what may be taken from a cell that is ready.

    Parameters
    ----------
    stand : Stand
        At the start of the pick. [kg], [kg²]
    pickable_kg : float
        Part of the crop above the living layer, P. [kg]
    area_m2 : float
        Open ground. [m²]
    growth : Growth
        Rate, its variance and the comeback level.
    rest_years : float
        Rest period, months/12, above 0. [yr]
    keep : float
        Share of the pickable crop that stays, 0 to 1.
    max_share : float or None
        The permit's largest share of the standing crop, 0 to 1.
    max_kg_m2 : float or None
        The permit's largest take by area. [kg/m²]
    z : float
        Standard normal quantile of the chance wanted. [-]

    Returns
    -------
    Allowance
        All zero where nothing stands.

    Raises
    ------
    ValueError
        If the comeback level, the rest or the share kept is out of its range.

    Notes
    -----
    With e of `left_after_rest_share` and B_q the crop counted on,
    M1 = B − (e/φ)C − z·√(V_B + (e/φ)²V_C − 2(e/φ)Cov + (C·T·e(1−e)/φ)²·v_r),
    M2 = (1 − keep)·P·B_q/B, M3 = min(max_share·B_q, max_kg_m2·A). Derived: first-order error of
    what stands above the crop that comes back in time; held to its chance by simulation.
    """
    _refuse_rules(growth.comeback, rest_years, keep)
    crop = stand.crop_kg
    if crop <= 0.0:
        none = None if max_share is None and max_kg_m2 is None else 0.0
        return Allowance(
            0.0, 0.0, none, 0.0, 0.0, "regrowth", 0.0, 0.0, 0.0, stand.mark_kg, 0.0,
            left_after_rest_share(growth.rate, rest_years, growth.comeback),
        )
    sure = counted_on(crop, math.sqrt(stand.crop_var) / crop, z=z)
    regrowth = _comes_back_kg(stand, growth, rest_years, z)
    kept = (1.0 - keep) * pickable_kg * sure / crop
    permit = _permit_kg(sure, area_m2, max_share, max_kg_m2)
    layer: Binds = "living_layer" if crop - pickable_kg >= keep * pickable_kg else "share_kept"
    answers: list[tuple[float, Binds]] = [(regrowth, "regrowth"), (kept, layer)]
    if permit is not None:
        answers.append((permit, "permit"))
    least, binds = min(answers, key=lambda answer: answer[0])  # the first of equals
    may = max(0.0, least)
    return Allowance(
        regrowth, kept, permit, may, 100.0 * may / crop, binds, crop - may, sure, crop,
        stand.mark_kg, pickable_kg,
        left_after_rest_share(growth.rate, rest_years, growth.comeback),
    )


def left_kg(may_take_kg: float, taken_kg: float) -> float:
    """Give what is left of may take after what this pick has taken.

    Parameters
    ----------
    may_take_kg, taken_kg : float
        At the start of the pick, and since. [kg]

    Returns
    -------
    float
        Not under 0. [kg]
    """
    return max(0.0, may_take_kg - taken_kg)


def bags_left(left: float, kg_per_bag: float) -> int:
    """Give the whole bags that are left.

    Parameters
    ----------
    left : float
        What may still be taken. [kg]
    kg_per_bag : float
        Shed-dry weight of a bag, above 0. [kg]

    Returns
    -------
    int
        Rounded down.

    Raises
    ------
    ValueError
        If a bag weighs nothing.
    """
    if not kg_per_bag > 0.0:
        raise ValueError(f"kg_per_bag={kg_per_bag!r}: must be above 0")
    # Three bags of 6.7 kg are 20.1 kg and not two bags and a rounding error.
    return max(0, math.floor(left / kg_per_bag + 1e-9))


def _comes_back_kg(stand: Stand, growth: Growth, rest_years: float, z: float) -> float:
    e = left_after_rest_share(growth.rate, rest_years, growth.comeback)
    part = e / growth.comeback
    by_rate = stand.mark_kg * rest_years * e * (1.0 - e) / growth.comeback
    variance = (
        stand.crop_var
        + part**2 * stand.mark_var
        - 2.0 * part * stand.cov
        + by_rate**2 * growth.variance
    )
    # Crop and mark of one measurement nearly cancel; rounding may leave less than nothing.
    return stand.crop_kg - part * stand.mark_kg - z * math.sqrt(max(0.0, variance))


def _permit_kg(
    sure_kg: float, area_m2: float, max_share: float | None, max_kg_m2: float | None
) -> float | None:
    stated = []
    if max_share is not None:
        stated.append(max_share * sure_kg)
    if max_kg_m2 is not None:
        stated.append(max_kg_m2 * area_m2)
    return min(stated, default=None)


def _refuse_rules(comeback: float, rest_years: float, keep: float) -> None:
    if not 0.0 < comeback < 1.0:
        raise ValueError(f"comeback={comeback!r}: must lie between 0 and 1")
    if not rest_years > 0.0:
        raise ValueError(f"rest_years={rest_years!r}: must be above 0")
    if not 0.0 <= keep <= 1.0:
        raise ValueError(f"keep={keep!r}: must lie between 0 and 1")
