"""The plots of a ground sheet: those still to be read.

Rule 1: a plot is done by a quadrat or a bare skip; one asked for again needs a second person's.
Rule 2: where a plot could not be seen, the cell's next spare is walked to in its place.
Rule 3: where a cell was drawn anew, only that draw is walked; a plot walked again is to be read
again.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from sync.block import Plot
from sync.register.build import Register
from sync.report.sheet_places import place_m

_BARE = frozenset({"pool", "scrub"})


def sheet_plots(register: Register) -> list[dict[str, Any]]:
    """Write the plots still to be read.

    Parameters
    ----------
    register : Register
        Of the sheet's day.

    Returns
    -------
    list of dict
        In the order of the draw, `at` in metres from the grid's origin. A spare that stands in is
        no spare any more; other spares go along while the cell has plots to be read.
    """
    cells = register.crop.ground.cells
    plots = _asked([plot for plot in register.block.plots if plot.cell in cells])
    draws: dict[tuple[str, str], list[Plot]] = defaultdict(list)
    for plot in plots:
        draws[plot.cell, plot.when].append(plot)
    read, begun, missed = _read(register), _begun(register), _missed(register)
    spare = {
        plot.name: is_spare
        for drawn in draws.values() for plot, is_spare in _to_read(drawn, read, begun, missed)
    }
    return [
        {
            "plot": plot.name, "cell": plot.cell, "at": place_m(register, plot.lat, plot.lon),
            "when": plot.when, "spare": spare[plot.name], "again": plot.again,
            "ground_class": cells[plot.cell].ground_class,
        }
        for plot in plots if plot.name in spare
    ]


def _asked(plots: Sequence[Plot]) -> list[Plot]:
    """Leave out withdrawn plots, and those of cells that a later draw asks for."""
    latest: dict[tuple[str, str], date] = {}
    for plot in plots:
        if plot.asked_on is not None and not plot.withdrawn:
            key = plot.cell, plot.when
            latest[key] = max(plot.asked_on, latest.get(key, plot.asked_on))
    return [plot for plot in plots
            if not plot.withdrawn and plot.asked_on == latest.get((plot.cell, plot.when))]


def _to_read(
    drawn: Sequence[Plot], read: frozenset[str], begun: frozenset[str], missed: frozenset[str]
) -> Iterable[tuple[Plot, bool]]:
    """Give the plots of one cell and occasion that are left, and whether each is a spare."""
    planned = [plot for plot in drawn if not plot.spare]
    not_seen = [plot for plot in planned if plot.name in missed - begun]
    spares = [plot for plot in drawn if plot.spare and plot.name not in missed | begun]
    stood_in = sum(plot.spare and plot.name in begun for plot in drawn)
    called = spares[:max(0, len(not_seen) - stood_in)]
    replaced = not_seen[:len(called) + stood_in]
    left = [plot for plot in planned if plot.name not in read and plot not in replaced]
    rest = [plot for plot in spares if plot not in called] if left or called else []
    return [*((plot, False) for plot in [*left, *called]), *((plot, True) for plot in rest)]


def _begun(register: Register) -> frozenset[str]:
    """Name the plots with a reading since they were asked for."""
    since = _since(register)
    return frozenset(
        one.plot for one in register.known.readings
        if one.plot is not None and since.get(one.plot, date.min) <= one.day <= register.on
    )


def _read(register: Register) -> frozenset[str]:
    """Name the plots with all the readings that were asked for."""
    asked_again = {plot.name for plot in register.block.plots if plot.again}
    seconds = {one.plot for one in register.known.readings if one.again}
    return frozenset(
        name for name in _begun(register) if name not in asked_again or name in seconds
    )


def _missed(register: Register) -> frozenset[str]:
    since = _since(register)
    return frozenset(
        one.record["plot"] for one in register.merged.by_kind["skip"]
        if one.record["why"] not in _BARE
        and since.get(one.record["plot"], date.min) <= one.day <= register.on
    )


def _since(register: Register) -> dict[str, date]:
    """Give the day from which a reading of a plot is what was asked for."""
    return {plot.name: plot.asked_on or date.min for plot in register.block.plots}
