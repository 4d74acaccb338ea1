"""Returns of some permits, each worked out on its own day."""

import dataclasses
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from sync.block import Permit
from sync.flags.flag import Flag
from sync.flags.raised import flags_of
from sync.register.build import Inputs, Register, build
from sync.register.permit_return import permit_return
from sync.register.return_years import return_day
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
        made.append(return_in(*registers[day], permit, asked=asked))
    return made


def return_in(
    register: Register, flags: tuple[Flag, ...], permit: Permit, *, asked: date
) -> Made:
    """Make a return out of the register of its day.

    Parameters
    ----------
    register : Register
        Of `return_day`.
    flags : tuple of Flag
        Of that register.
    permit : Permit
        The permit.
    asked : date
        The day asked about.

    Returns
    -------
    Made
        The return.
    """
    found = permit_return(register, permit, asked=asked)
    return Made(return_document(register, found, flags), register, flags)
