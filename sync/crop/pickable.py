"""How much of the crop stands above the living layer.

Rule 1: the living layer does not shrink with the crop: what is missing under the mark is missing
above it.
Rule 2: where the cell was measured since its last pick, that measurement is believed instead.
"""

import dataclasses


@dataclasses.dataclass(frozen=True)
class Measured:
    """A survey since the last pick: its crop [kg] and the pickable share of that crop [-]."""

    crop_kg: float
    share: float


def pickable_kg(
    crop_kg: float, mark_kg: float, share: float, *, measured: Measured | None = None
) -> float:
    """Give the pickable part of a crop.

    Parameters
    ----------
    crop_kg, mark_kg : float
        What stands, and what stands when rested. [kg]
    share : float
        Pickable share at the mark, q, 0 to 1. [-]
    measured : Measured or None
        The survey since the last pick, if there is one. Its share counts up to q.

    Returns
    -------
    float
        0 to `crop_kg`. [kg]

    Notes
    -----
    P = qB at the mark and over it; under it max(0, B − (1−q)C), or, measured, straight from
    q_s·B at the survey to q·C at the mark (q_s·B under the survey's crop). Derived.
    """
    if crop_kg >= mark_kg:
        return share * crop_kg
    if measured is None:
        return max(0.0, crop_kg - (1.0 - share) * mark_kg)
    own = min(share, measured.share)
    if crop_kg <= measured.crop_kg:
        return own * crop_kg
    at_survey = own * measured.crop_kg
    way = (crop_kg - measured.crop_kg) / (mark_kg - measured.crop_kg)
    return at_survey + way * (share * mark_kg - at_survey)
