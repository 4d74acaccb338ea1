"""From a block folder to what a register is made of."""

from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import fieldapp
from sync.block import Block
from sync.disk.folder import load_block
from sync.disk.journal import ShedJournal
from sync.disk.memo import DiskMemo
from sync.register.build import Inputs


def load_inputs(folder: Path, *, known_by: datetime | None = None) -> Inputs:
    """Read all that a register is made of.

    Parameters
    ----------
    folder : Path
        The block folder.
    known_by : datetime, optional
        Leave out what arrived later, UTC.

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
        return Inputs(
            block, tunables, journal.held(known_by), journal.waiting(known_by),
            fieldapp.__version__, known_by, DiskMemo(folder),
        )


def today_in(block: Block, now: datetime) -> date:
    """Give the local day of an instant in the block's zone."""
    return now.astimezone(ZoneInfo(block.zone)).date()
