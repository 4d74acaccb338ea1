"""Piles that wait and hazards, as the sheets of the phones have them."""

from sync.block import season_of
from sync.plan.lifts.values import Hazard, Pile
from sync.register.build import Register
from sync.report.piles import waiting_bags
from sync.report.sheet_places import marks_standing


def piles_waiting(register: Register) -> tuple[Pile, ...]:
    """Give the piles with bags on the register's day; one nobody marked has no place."""
    places = {
        (one.record["name"], season_of(one.day, register.block.season_start)):
            (one.where.lat, one.where.lon)
        for one, _ in marks_standing(register)
        if one.record["what"] == "pile" and one.where is not None
    }
    return tuple(Pile(label, season, bags, places.get((label, season)))
                 for (label, season), bags in sorted(waiting_bags(register).items()))


def hazards_marked(register: Register) -> tuple[Hazard, ...]:
    """Give the hazards marked until the register's day."""
    return tuple(Hazard(one.record["name"], (one.where.lat, one.where.lon))
                 for one, _ in marks_standing(register)
                 if one.record["what"] == "hazard" and one.where is not None)
