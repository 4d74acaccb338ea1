"""A pile fetched by machine: trips, cost, and the ground that would be driven over.

Rule 1: no way crosses closed ground.
Rule 2: every trip goes there and back on the same way, the shortest.
"""

import math
from collections.abc import Mapping, Sequence

from sync.block import Costs
from sync.geometry.lines import metres_in_cells
from sync.geometry.ways import ways_between
from sync.plan.lifts.values import ByMachine, Drive, Pile, to_m
from sync.plan.plots.frame import closed_ground
from sync.register.build import Register

#: The way to each pile, by label and season; None where there is none.
Drives = Mapping[tuple[str, int], Drive | None]


def drives_of(register: Register, piles: Sequence[Pile]) -> dict[tuple[str, int], Drive | None]:
    """Find the way of a machine to each pile.

    Parameters
    ----------
    register : Register
        Of the day asked about: its closures are those of that day.
    piles : sequence of Pile
        Those without a place have no way.

    Returns
    -------
    dict
        Empty without a gate.
    """
    gate = register.block.gate
    placed = [(pile, pile.place) for pile in piles if pile.place is not None]
    if gate is None or not placed:
        return {}
    places = [to_m(register, place) for place in (gate, *(place for _, place in placed))]
    ways = ways_between(register.crop.ground.outline, closed_ground(register), places)
    found: dict[tuple[str, int], Drive | None] = {}
    for i, (pile, _) in enumerate(placed, start=1):
        length = float(ways.length_m[0, i])
        bends = ways.bends(0, i) if math.isfinite(length) else ()
        found[pile.label, pile.season] = None if not math.isfinite(length) else Drive(
            length, metres_in_cells(register.crop.ground, (places[0], *bends, places[i])), bends)
    return found


def by_machine(costs: Costs, pile: Pile, drives: Drives) -> ByMachine:
    """Say what fetching a pile by machine takes, by the owner's rates.

    Parameters
    ----------
    costs : Costs
        Bags a trip and a rate a trip; either may be missing.
    pile : Pile
        Its bags.
    drives : mapping
        The ways found.
    """
    trips = None if costs.machine_bags is None else math.ceil(pile.bags / costs.machine_bags)
    cost = None if trips is None or costs.machine_trip_each is None else (
        trips * costs.machine_trip_each)
    return ByMachine(trips, cost, drives.get((pile.label, pile.season)))


def under_wheels_ha(machine: ByMachine, wide_m: float) -> float | None:
    """Give the ground under the wheels, every trip on the same way; None without a way. [ha]."""
    return None if machine.drive is None else machine.drive.length_m * wide_m / 1e4


def driven_m(machine: ByMachine) -> float | None:
    """Give the metres that a machine drives for a pile, there and back; None if unknown."""
    if machine.trips is None or machine.drive is None:
        return None
    return 2.0 * machine.trips * machine.drive.length_m
