"""The sum of what of the owner's files bears on a return of some day.

Rule 1: what begins later, plots that nobody had read, people but for their letters and dots,
trials, prices, words and watches move no figure of that day, so they move no sum; a draw of plots
next winter, or a new picker, leaves last year's return the same bytes.
"""

import dataclasses
from collections.abc import Sequence
from datetime import date
from typing import Any

from sync.block import Block
from sync.register.build import Register, sum_of_value


def bearing_sum(register: Register) -> str:
    """Sum up what of the block's files bears on a day's figures.

    Parameters
    ----------
    register : Register
        Of that day; also who had read which plot by what was known then.

    Returns
    -------
    str
        SHA-256, hex.
    """
    read = {one.plot for one in register.known.quadrats if one.day <= register.on}
    return sum_of_value(_bears(register.block, register.on, read))


def _bears(block: Block, on: date, read: set[str | None]) -> dict[str, Any]:
    return {
        "block": [block.block_id, block.name, block.zone, block.epsg, block.season_start],
        "grid": dataclasses.asdict(block.grid),
        "rules": _begun(block.rules, on),
        "bags": _begun(block.bags, on),
        "people": [(p.code, p.also, p.counts_dots) for p in block.people
                   if p.also or p.counts_dots],
        "permits": _begun(block.permits, on),
        "plots": [(p.name, p.cell, p.lat, p.lon, p.drawn) for p in block.plots if p.name in read],
        "outline": _begun(block.outline, on),
        "classes": _begun(block.classes, on),
        "closures": _begun(block.closures, on),
        "frame_m": block.frame_m,
        "holidays": [span for span in block.holidays if span[0] <= on],
    }


def _begun(parts: Sequence[Any], on: date) -> list[dict[str, Any]]:
    return [dataclasses.asdict(one) for one in parts if one.since is None or one.since <= on]
