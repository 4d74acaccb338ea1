"""Returns of some permits, each worked out on its own day."""

import dataclasses
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from sync.block import Permit
from sync.flags.flag import Flag
from sync.flags.raised import flags_of
from sync.register.build import Inputs, Register, build
from sync.register.permit_return import permit_return, return_day
from sync.report.permit.document import return_document


@dataclasses.dataclass(frozen=True)
class Made:
    """A return with the register and the flags of its day."""

    document: Mapping[str, Any]
    register: Register
    flags: tuple[Flag, ...]


def returns_of(
    inputs: Inputs, wanted: Sequence[tuple[Permit, int]], *, asked: date
) -> list[Made]:
    """Make returns.

    Parameters
    ----------
    inputs : Inputs
        Block, settings and records.
    wanted : sequence of (Permit, int)
        Each permit with the year in which its permit year starts.
    asked : date
        The day asked about.

    Returns
    -------
    list of Made
        In that order; days that several share are built once.
    """
    registers: dict[date, tuple[Register, tuple[Flag, ...]]] = {}
    made = []
    for permit, year in wanted:
        day = return_day(permit, year, asked)
        if day not in registers:
            register = build(inputs, on=day)
            registers[day] = register, flags_of(register)
        register, flags = registers[day]
        found = permit_return(register, permit, asked=asked)
        made.append(Made(return_document(register, found, flags), register, flags))
    return made
