"""The plots there are: which of them are walked again, and which number is free.

Rule 1: only plots drawn by chance stand in for new ones.
"""

from collections import defaultdict
from collections.abc import Collection
from datetime import date

from sync.block import Plot
from sync.register.build import Register

#: Kinds of records that name a plot somebody came to.
_OF_PLOTS = ("quadrat", "skip")


def walked_again(
    register: Register, withdrawn: Collection[str]
) -> dict[str, list[tuple[Plot, bool]]]:
    """Give the plots that are walked again if their cell is drawn.

    Parameters
    ----------
    register : Register
        Of the day of the draw.
    withdrawn : collection of str
        Plots of the draw that is replaced.

    Returns
    -------
    dict of str to list of (Plot, bool)
        By cell: pegged ones first (true), then those drawn before and never read. A peg is one
        that the file says, or a counting mark of that plot's name.
    """
    pegs = {_bare_name(one.record["name"]) for one in register.events.marks
            if one.record["what"] == "peg" and one.day <= register.on}
    gone = set(withdrawn)
    met = seen_plots(register)
    found: dict[str, list[tuple[Plot, bool]]] = defaultdict(list)
    for plot in register.block.plots:
        pegged = plot.pegged or plot.name in pegs
        unread = not plot.spare and not plot.withdrawn and plot.name not in met | gone
        if plot.drawn and plot.when == "survey" and (pegged or unread):
            found[plot.cell].append((plot, pegged))
    return {cell: sorted(each, key=lambda one: not one[1]) for cell, each in found.items()}


def seen_plots(register: Register) -> frozenset[str]:
    """Name the plots that any record names, of whatever day."""
    return frozenset(
        str(one.record["plot"]) for kind in _OF_PLOTS for one in register.merged.by_kind[kind]
        if one.record.get("plot") is not None
    )


def next_number(register: Register) -> int:
    """Give the first number that no plot of the file or of any record has."""
    names = {plot.name for plot in register.block.plots} | seen_plots(register)
    return 1 + max((int(name) for name in names if name.isascii() and name.isdigit()), default=0)


def _bare_name(name: str) -> str:
    return name.removeprefix("peg ").removeprefix("plot ").strip()


def walked_since(
    register: Register, plots: Collection[str], since: str, *, until: date = date.max
) -> frozenset[str]:
    """Name those of some plots that were read or skipped from a day on.

    Parameters
    ----------
    register : Register
        Of any day.
    plots : collection of str
        Of a draw.
    since : str
        Its day, as in plots.json.
    until : date
        Last day that counts.
    """
    asked = set(plots)
    return frozenset(
        str(one.record["plot"]) for kind in _OF_PLOTS for one in register.merged.by_kind[kind]
        if one.record.get("plot") in asked
        and since <= one.day.isoformat() and one.day <= until
    )
