"""A flag's case with the ground sheets of its phones, made again from the block folder."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from sync.disk.sheets_again import sheet_made_again
from sync.flags.evidence import case_of
from sync.flags.evidence.shown import times_of
from sync.flags.flag import Flag
from sync.register.build import Register
from sync.report.flag_case.parts import Dossier, SheetSeen
from sync.report.flag_case.phones_told import worst_start

#: Each costs a register; a flag of one pick has one or two.
_MOST_SHEETS = 5


def dossier_of(
    folder: Path, register: Register, document: Mapping[str, Any], flag: Flag, *, now: datetime
) -> Dossier:
    """Put together what a flag's page is told from.

    Parameters
    ----------
    folder : Path
        The block folder.
    register, document
        Of the day asked about.
    flag : Flag
        One of its flags.
    now : datetime
        UTC.

    Returns
    -------
    Dossier
        With the sheets of most of its bags; of `stale_sheet` also the one that a phone would have
        had, made at the START with the oldest sheet.
    """
    case = case_of(register, flag)
    row = next(one for one in document["flags"] if one["name"] == flag.name)
    wanted = list(times_of(case.carried, most=_MOST_SHEETS))
    fresh: list[datetime] = []
    if flag.rule == "stale_sheet" and (worst := worst_start(case.carried)) is not None:
        fresh = [worst]
        wanted = [one.made_at for one in case.carried
                  if one.began == worst and one.made_at is not None]
    return Dossier(register, document, case, row, _again(folder, wanted, now),
                   _again(folder, fresh, now))


def _again(
    folder: Path, times: Iterable[datetime], now: datetime
) -> dict[datetime, SheetSeen]:
    return {at: sheet_made_again(folder, at, now=now) for at in times}
