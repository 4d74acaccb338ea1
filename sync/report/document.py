"""The register as one JSON document: stable, read by machines, the same bytes each time.

Rule 1: keys stand in the contract's order and none is left out.
Rule 2: cells by column and row, flags by name.
"""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from fieldapp.record import stamp
from sync.flags.flag import Flag
from sync.geometry.grid import cell_index
from sync.register.build import Register
from sync.report.block_rows import block_part, class_rows, permit_row
from sync.report.cell_rows import cell_row
from sync.report.flag_rows import flag_row
from sync.settings import RANGE_LEVEL

_FORM = 1


def register_document(register: Register, flags: Sequence[Flag]) -> dict[str, Any]:
    """Write the whole register.

    Parameters
    ----------
    register : Register
        Of the day asked about.
    flags : sequence of Flag
        Raised on it.

    Returns
    -------
    dict
        The document.
    """
    return {
        "register": _FORM,
        "range_level": RANGE_LEVEL,
        "made_of": dict(register.sums),
        "on": register.on.isoformat(),
        "known_by": None if register.known_by is None else stamp(register.known_by),
        "block": block_part(register),
        "classes": class_rows(register),
        "cells": [cell_row(register, cell) for cell in sorted(register.cells, key=cell_index)],
        "flags": [flag_row(flag) for flag in sorted(flags, key=lambda flag: flag.name)],
        "permits": [permit_row(permit) for permit in register.permits],
    }


def register_json(document: Mapping[str, Any]) -> str:
    """Write a document as text: UTF-8, indented, with an end of line at its end."""
    return json.dumps(document, ensure_ascii=False, indent=1, allow_nan=False) + "\n"
