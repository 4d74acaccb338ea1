"""A press placed by the picking time of its spell."""

from collections.abc import Mapping

from sync.geometry.placed import NO_CHANCES, Drift, Moved, Placed
from sync.geometry.traces import OnGround
from sync.intake.seen import BagSeen


def placed_by_track(
    bag: BagSeen, place: OnGround, shares: Mapping[str, float], moved: Mapping[str, Moved],
    drift: Drift,
) -> Placed:
    """Place a press by what a track told of its spell.

    Parameters
    ----------
    bag : BagSeen
        The press.
    place : (float, float, float)
        Its fix, and the standard deviation of each coordinate. [m]
    shares, moved : mapping
        As of `Placed.chances` and `Placed.moved`. [-]
    drift : Drift
        What the error of the track leaves open.
    """
    e, n, sigma_m = place
    return Placed(
        bag, e, n, sigma_m, shares, drift.mean_closed if drift.closed else NO_CHANCES,
        drift.mean_outside, "track", drift=drift, moved=moved,
        held=drift.mean_held if drift.held else NO_CHANCES)
