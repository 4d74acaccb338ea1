"""What lifting, driving, picking and selling cost, as the owner wrote it into block.toml.

Rule 1: every rate may be left out; what needs it then says so, and no other takes its place.
"""

import dataclasses

from sync.block import MOST_HOOK_KG, Costs
from sync.disk.tables import Table

#: No rate of a moss block is higher; more is a slip of the keys.
_MOST = 1e6
_RATES = tuple(field.name for field in dataclasses.fields(Costs) if field.name != "currency")
#: What a rate is shared out by cannot be 0.
_ABOVE_0 = frozenset({"machine_bags"})


def costs_in(table: Table) -> Costs:
    """Read the owner's rates.

    Parameters
    ----------
    table : Table
        `[costs]` of block.toml; mistakes gather in it.

    Returns
    -------
    Costs
        None for each rate that is not there.
    """
    table.only("currency", *_RATES)
    currency = table.text("currency") if "currency" in table.values else ""
    return Costs(currency, **{key: _rate(table, key) for key in _RATES})


def hook_limit_in(table: Table) -> float | None:
    """Read what a hook may carry from `[lifts]` of block.toml. [kg]."""
    table.only("hook_limit_kg")
    if "hook_limit_kg" not in table.values:
        return None
    return table.number("hook_limit_kg", low=0, high=MOST_HOOK_KG, above=True)


def _rate(table: Table, key: str) -> float | None:
    if key not in table.values:
        return None
    return table.number(key, low=0, high=_MOST, above=key in _ABOVE_0)
