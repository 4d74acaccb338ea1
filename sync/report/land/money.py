"""What a block may earn, at the owner's own price and cost, and nothing else.

Rule 1: a rate that the owner did not write down is asked for, never guessed.
Rule 2: price and cost are taken as sure; the range is that of the moss alone, and says so.
"""

import dataclasses

Triple = tuple[float, float, float]


@dataclasses.dataclass(frozen=True)
class Rates:
    """The owner's own figures, from block.toml.

    Attributes
    ----------
    currency : str
        Such as NZD; may be empty.
    sell_per_kg, picking_per_kg : float or None
        A shed-dry kg sold, and picked. [currency/kg]
    """

    currency: str
    sell_per_kg: float | None
    picking_per_kg: float | None


@dataclasses.dataclass(frozen=True)
class Earning:
    """Sales a year, and what is left after picking: value, low, high. [currency/yr]."""

    sales: Triple
    after_picking: Triple | None


def earning(yearly_kg: Triple, rates: Rates) -> Earning | None:
    """Say what a year's moss may earn.

    Parameters
    ----------
    yearly_kg : (float, float, float)
        Value, low and high of a year's moss. [kg yr⁻¹]
    rates : Rates
        The owner's.

    Returns
    -------
    Earning or None
        None without a price; without a cost of picking sales alone. A kg that costs more than it
        brings turns the ends round, so that low stays below high.
    """
    if rates.sell_per_kg is None:
        return None
    price, cost = rates.sell_per_kg, rates.picking_per_kg
    sales = _times(yearly_kg, price)
    return Earning(sales, None if cost is None else _times(yearly_kg, price - cost))


def _times(yearly_kg: Triple, each: float) -> Triple:
    value, low, high = (kg * each for kg in yearly_kg)
    return value, min(low, high), max(low, high)


def missing(rates: Rates) -> list[str]:
    """Name the rates that are not written down."""
    said = {"sell_per_kg": rates.sell_per_kg, "picking_per_kg": rates.picking_per_kg}
    return [name for name, value in said.items() if value is None]
