"""Tables of lots, of ground classes and of cells.

Rule 1: a table of a terminal fits 100 columns, but for names that people gave.
Rule 2: what is not known is a dash, never 0.
"""

from collections.abc import Iterable
from datetime import date

from sync.picks.ledger.trace import LotTold
from sync.plan.lots.clean import Estimate, GroundTold
from sync.plan.lots.season import LotsOfSeason, kg_a_bag_of
from sync.report.plots_table import Rows
from sync.report.rounding import BAG_KG, BAGS, KG, PCT, rounded

_NONE = "–"
#: Cells named in a row; a smaller share is not.
_CELLS, _LEAST_SHARE = 2, 0.05


def lot_rows(told: LotsOfSeason) -> Rows:
    """Give a row a lot: first day of each stage, bags, kg, quality, main cells."""
    head = ("lot", "picked", "lifted", "arrived", "dried", "bags", "dry kg", "kg a bag",
            "moist %", "pure %", "cells %")
    return Rows(head, 2, tuple(_lot(told, lot) for lot in told.lots))


def _lot(told: LotsOfSeason, lot: LotTold) -> tuple[str, ...]:
    stages = ("tallied", "lifted", "arrived", "dried")
    return (
        lot.label, *(_day(lot.days[stage][0]) if stage in lot.days else _NONE
                     for stage in stages),
        count(lot.bags), _NONE if lot.dry_kg is None else f"{rounded(lot.dry_kg, KG):,}",
        estimate_words(kg_a_bag_of(lot, told.register), BAG_KG), pct(lot.moist_pct),
        pct(lot.pure_pct), cells_words(lot))


def _day(day: date) -> str:
    return f"{day.day} {day:%b}"


def count(bags: float) -> str:
    """Write a number of bags to a tenth at most."""
    return f"{rounded(bags, BAGS):,}"


def pct(value: float | None) -> str:
    """Write a percentage to a tenth."""
    return _NONE if value is None else f"{value:.1f}"


def estimate_words(one: Estimate | None, step: float) -> str:
    """Write a figure with its range."""
    if one is None:
        return _NONE
    value, low, high = (f"{rounded(each, step):.1f}" for each in (one.value, one.low, one.high))
    return f"{value} ({low}–{high})"


def cells_words(lot: LotTold) -> str:
    """Name the cell that a lot came from, or the two that most of it did, with their %.

    Of more cells `+2` says how many are not named; `?` stands for no known cell.
    """
    shares = {**lot.shares.cells, "?": lot.shares.unknown + lot.shares.in_no_cell}
    main = [(cell, share) for cell, share in shares.items() if share >= _LEAST_SHARE]
    if len(main) == 1 and main[0][1] > 1.0 - _LEAST_SHARE:
        return main[0][0]
    shown = main if len(main) <= _CELLS else main[:1]
    named = [f"{cell} {100.0 * share:.0f}" for cell, share in shown]
    more = [f"+{len(main) - 1}"] if len(main) > _CELLS else []
    return " ".join([*named, *more]) or _NONE


def ground_rows(grounds: Iterable[GroundTold], pure_pct: float, *, cells: bool) -> Rows:
    """Give a row a ground class, or a cell: lots, purity, chance of the purity, kg a bag.

    Parameters
    ----------
    grounds : iterable of GroundTold
        In order.
    pure_pct : float
        The purity asked for. [%]
    cells : bool
        Whether they are cells.

    Returns
    -------
    Rows
        Ranges are of 90 %.
    """
    head = ("lots", "purity %", f"chance of {pure_pct:g} %", "kg a bag")
    names = ("cell", "class") if cells else ("ground class",)
    return Rows((*names, *head), len(names), tuple(
        (*((one.name, one.ground_class) if cells else (one.name,)),
         f"{rounded(one.lots, BAGS):.1f}", estimate_words(one.pure_pct, PCT),
         _NONE if one.chance is None else f"{one.chance:.2f}",
         estimate_words(one.kg_a_bag, BAG_KG))
        for one in grounds))
