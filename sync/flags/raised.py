"""All flags of a register, with their rulings."""

from collections.abc import Callable, Iterator

from sync.flags.assumed import density_assumed, growth_assumed
from sync.flags.condition import drying, scrub_spreading
from sync.flags.early_pick import early_pick
from sync.flags.flag import Flag, with_rulings
from sync.flags.label_twice import label_twice
from sync.flags.more_picked import more_picked_than_stood
from sync.flags.not_regrown import not_regrown
from sync.flags.odd_bag_weight import odd_bag_weight
from sync.flags.off_ground import closed_ground, outside_block, sprayed_hold
from sync.flags.over_pick import over_pick
from sync.flags.permit import late_notice, permit_cap
from sync.flags.phones import clock_wrong, missing_records, number_twice
from sync.flags.sheets import stale_sheet
from sync.flags.short_bags import short_bags
from sync.flags.silent import silent_phone
from sync.flags.weak_position import weak_position
from sync.register.build import Register

#: One rule a function; a new rule is one more line here.
RULES: tuple[Callable[[Register], Iterator[Flag]], ...] = (
    early_pick,
    over_pick,
    closed_ground,
    sprayed_hold,
    outside_block,
    more_picked_than_stood,
    not_regrown,
    permit_cap,
    late_notice,
    weak_position,
    silent_phone,
    missing_records,
    number_twice,
    clock_wrong,
    stale_sheet,
    short_bags,
    label_twice,
    odd_bag_weight,
    scrub_spreading,
    drying,
    density_assumed,
    growth_assumed,
)


def flags_of(register: Register) -> tuple[Flag, ...]:
    """Raise every flag.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Returns
    -------
    tuple of Flag
        By name, each with its last ruling.
    """
    raised = [flag for rule in RULES for flag in rule(register)]
    return with_rulings(raised, register.events.rulings)
