"""The bags of a register, followed from their piles to their lots."""

from sync.picks.ledger.follow import ledger_of
from sync.picks.ledger.kept import Ledger
from sync.register.build import Register


def follow_bags(register: Register) -> Ledger:
    """Follow the bags of a register to its day.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Returns
    -------
    Ledger
        Where every bag is.
    """
    return ledger_of(register.events.bags, register.events.batches, on=register.on,
                     season_start=register.block.season_start,
                     same_pile_days=register.tunables.same_pick_days)
