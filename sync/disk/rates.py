"""What a kilo brings and costs to pick, as the owner wrote it into `[costs]` of block.toml.

Rule 1: a rate may be left out; nothing takes its place.
"""

from collections.abc import Mapping
from pathlib import Path

from sync.disk.folder import BLOCK_FILE
from sync.disk.tables import Table, read_toml
from sync.errors import SettingsError
from sync.report.land import Rates

#: No moss is dearer; more is a slip of the keys. [currency/kg]
_MOST = 1e6


def rates_in(folder: Path) -> Rates:
    """Read the owner's price and cost of a shed-dry kg.

    Parameters
    ----------
    folder : Path
        The block folder.

    Returns
    -------
    Rates
        None for each rate that is not there.

    Raises
    ------
    SettingsError
        If one is no number from 0 to a million, or `[costs]` is no table.
    """
    mistakes: list[str] = []
    said = read_toml(folder / BLOCK_FILE).get("costs", {})
    if not isinstance(said, Mapping):
        raise SettingsError([f"{BLOCK_FILE} [costs]: write a table"])
    table = Table(said, f"{BLOCK_FILE} [costs]", mistakes)
    currency = table.text("currency") if "currency" in table.values else ""
    rates = Rates(
        currency, table.optional_number("sell_per_kg", low=0, high=_MOST),
        table.optional_number("picking_per_kg", low=0, high=_MOST))
    if mistakes:
        raise SettingsError(mistakes)
    return rates
