"""Bags that wait on piles: tallied there and not carried off yet, by the ledger."""

from sync.block import season_of
from sync.picks.sources import Label
from sync.register.build import Register
from sync.register.followed import follow_bags


def waiting_bags(register: Register) -> dict[Label, float]:
    """Count the bags that wait on each pile on the day asked about.

    Parameters
    ----------
    register : Register
        Of that day.

    Returns
    -------
    dict of Label to float
        Bags by label and season, of this season and the one before; piles without any left out.
        A batch of unknown number takes all that its piles hold.
    """
    since = season_of(register.on, register.block.season_start) - 1
    piles = follow_bags(register).piles
    return {pile: held.bags for pile, held in piles.items() if pile[1] >= since and held.bags}
