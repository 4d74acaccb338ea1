"""odd_bag_weight: a dried lot whose bags weigh much more or less than those of the other lots."""

import functools
import math
from collections.abc import Iterator

from sync.block import bag_kg_on
from sync.flags.flag import Flag
from sync.intake.seen import LotSeen
from sync.picks.kilos import Lot, kg_per_bag, sds_off
from sync.picks.sources import WeighedLot, lots_alike
from sync.register.build import Register


def odd_bag_weight(register: Register) -> Iterator[Flag]:
    """Flag lots that are out of line with the other lots of their season and bag type.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One a lot; where there is no other lot, nothing can be said.
    """
    known = [lot for lot in register.known.lots if lot.first_day <= register.on]
    types = {one.name for one in register.block.bags}

    @functools.cache
    def alike(season: int, name: str) -> list[LotSeen]:
        return lots_alike(known, season, name, register.block.bags)

    for weighed in known:
        name = weighed.bag_type if weighed.bag_type in types else register.block.bags[0].name
        for lot in weighed.members:
            flag = _judged(register, alike(weighed.season, name), name, weighed, lot)
            if flag is not None:
                yield flag


def _judged(
    register: Register, alike: list[LotSeen], name: str, weighed: WeighedLot, lot: LotSeen
) -> Flag | None:
    bags, tunables = register.block.bags, register.tunables
    others = [Lot(one.bags, one.dry_kg) for one in alike if one.name != lot.name]
    if not others:
        return None
    usual = kg_per_bag(
        others, owners_kg=bag_kg_on(bags, name, register.on).dry_kg, tunables=tunables
    )
    off = sds_off(Lot(lot.bags, lot.dry_kg), usual)
    if abs(off) <= tunables.odd_lot_sds:
        return None
    weighs = lot.dry_kg / lot.bags
    spread = math.sqrt(usual.variance + usual.bag_variance / lot.bags)
    why = (
        f"lot {lot.label} of {lot.day} gave {weighs:.1f} kg a bag ({lot.dry_kg:.0f} kg from "
        f"{lot.bags:g} bags), where {len(others)} other lots of {name} bags make {usual.kg:.1f} ± "
        f"{spread:.1f} kg likely; count its bags and read the scale again, or note why it is so"
    )
    return Flag(
        "odd_bag_weight", lot.label, weighed.season, None, why, None, "sure", (lot.name,),
        {"kg_per_bag": weighs, "usual_kg": usual.kg},
    )
