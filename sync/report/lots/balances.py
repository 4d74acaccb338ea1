"""A season's balance of bags as a table: a line a pile, or a line a day of tallying.

Rule 1: the last line is the season's, and the lines above it add up to it.
Rule 2: of bags on no pile, and of more bags counted than there were, no pile tells: they have a
line of their own.
"""

from collections.abc import Iterator
from typing import Literal

from sync.picks.ledger.balance import (
    Balance,
    balance_of_days,
    balance_of_piles,
    balance_of_surplus,
)
from sync.plan.lots.season import LotsOfSeason
from sync.report.lots.rows import count
from sync.report.lots.text import balance_lines
from sync.report.plots_table import Rows, folded, plain_table

By = Literal["pile", "day"]
#: Heads and what stands under them; the second part only where some line has any.
_ALWAYS = (("tallied", "tallied"), ("lifted", "lifted"), ("arrived", "arrived"),
           ("dried", "dried"), ("on piles", "on_piles"), ("on way", "on_the_way"),
           ("at shed", "at_the_shed"), ("short", "short"))
_SELDOM = (("no pile", "no_pile"), ("surplus", "surplus"))
_HOW = ("Bags. Lifted, arrived and dried are counted, or told by a later count; the others say "
        "where the bags are now.")
_PARTED = (" Bags of one pile cannot be told apart: what was taken of it is shared among the days "
           "on which bags were laid there.")


def balances_text(told: LotsOfSeason, by: By) -> str:
    """Write a season's balance by pile or by day.

    Parameters
    ----------
    told : LotsOfSeason
        Whole.
    by : {"pile", "day"}
        What has a line: a pile, or a day on which bags were tallied.

    Returns
    -------
    str
        Lines of 100 characters at most, but for names that people gave. [bags]
    """
    return "\n".join(_lines(told, by)) + "\n"


def _lines(told: LotsOfSeason, by: By) -> Iterator[str]:
    for line in balance_lines(told):
        yield from folded(line)
    lines = list(_by_pile(told) if by == "pile" else _by_day(told))
    if lines:
        yield ""
        yield from plain_table(_rows(by, [*lines, ("all", told.balance)]))
        yield ""
        yield from folded(_HOW + (_PARTED if by == "day" else ""))


def _rows(by: By, lines: list[tuple[str, Balance]]) -> Rows:
    columns = [*_ALWAYS, *((head, field) for head, field in _SELDOM
                           if any(getattr(one, field) for _, one in lines))]
    return Rows((by, *(head for head, _ in columns)), 1, tuple(
        (name, *(count(getattr(one, field)) for _, field in columns)) for name, one in lines))


def _by_pile(told: LotsOfSeason) -> Iterator[tuple[str, Balance]]:
    for (label, season), one in sorted(balance_of_piles(told.ledger).items()):
        if season == told.season:
            yield label, one
    if loose := told.balance.no_pile:
        yield "on no pile", Balance(tallied=loose, no_pile=loose)
    if (more := balance_of_surplus(told.ledger, told.season)) is not None:
        yield "surplus", more


def _by_day(told: LotsOfSeason) -> Iterator[tuple[str, Balance]]:
    for day, one in sorted(balance_of_days(told.ledger, told.season).items()):
        yield day.isoformat(), one
