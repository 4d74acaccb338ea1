"""From a block folder to what a register is made of."""

from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import fieldapp
from sync.block import Block
from sync.disk.folder import load_block
from sync.disk.journal import ShedJournal
from sync.disk.kept import KeptMemo, KeptReads
from sync.disk.memo import DiskMemo
from sync.register.build import Inputs

_FIRST_YEAR, _LAST_YEAR = 1900, 2999


def load_inputs(
    folder: Path, *, known_by: datetime | None = None, tracks_apart: bool = True,
    kept: KeptReads | None = None,
) -> Inputs:
    """Read all that a register is made of.

    Parameters
    ----------
    folder : Path
        The block folder.
    known_by : datetime, optional
        Leave out what arrived later, UTC.
    tracks_apart : bool
        Whether tracks may stay unread until they are asked for; no figure changes by it. What
        arrived by a time is always read.
    kept : KeptReads, optional
        What was read for the register before, of all that is known; no figure changes by it.

    Returns
    -------
    Inputs
        Block, settings and records.

    Raises
    ------
    DiskError
        If the folder cannot be read.
    SettingsError
        If the owner's files are wrong.
    """
    block, tunables = load_block(folder)
    with ShedJournal(folder) as journal:
        disk = DiskMemo(folder, journal.thinnings())  # before a record is read: its rule 4
        if tracks_apart and known_by is None:
            reads = kept or KeptReads()
            memo = disk if kept is None else KeptMemo(disk, kept)
            apart = journal.held_apart(
                clock_off_s=tunables.clock_off_s, packs=reads.packs, devices=reads.devices)
            return Inputs(block, tunables, apart.held, journal.waiting(), fieldapp.__version__,
                          None, memo, apart.tracks, apart.records_sum,
                          None if kept is None else kept.again, apart.sums)
        return Inputs(
            block, tunables, journal.held(known_by), journal.waiting(known_by),
            fieldapp.__version__, known_by, disk,
        )


def today_in(block: Block, now: datetime) -> date:
    """Give the local day of an instant in the block's zone."""
    return now.astimezone(ZoneInfo(block.zone)).date()


def day_asked(text: str) -> date:
    """Read a day that somebody asks about.

    Raises
    ------
    ValueError
        If it is none, or of a year in which nobody picks: the calendar's ends are near there.
    """
    day = date.fromisoformat(text)
    if not _FIRST_YEAR <= day.year <= _LAST_YEAR:
        raise ValueError(f"a year from {_FIRST_YEAR} to {_LAST_YEAR}")
    return day
