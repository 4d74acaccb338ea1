"""Hand-filled forms: their ids are made up here, and filled ones are taken in.

Rule 1: no two forms have the same id, so no two rows name the same record.
Rule 2: a row is taken or told with its line; the others are taken all the same.
"""

import secrets
from datetime import datetime
from pathlib import Path

from fieldapp.record import canonical
from sync.block import Block
from sync.disk.journal import ShedJournal
from sync.disk.outcome import FileTaken, Options
from sync.intake.check import Aside, check_lines
from sync.intake.form import changed_rows, read_form

_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
_LENGTH = 5


def new_form_id(folder: Path) -> str:
    """Make up an id that no form taken before has.

    Parameters
    ----------
    folder : Path
        The block folder.

    Returns
    -------
    str
        Letters and digits that are not easily mistaken for one another.
    """
    with ShedJournal(folder) as journal:
        used = {held.name.partition(":")[0] for held in journal.held()}
    while True:
        made = "".join(secrets.choice(_LETTERS) for _ in range(_LENGTH))
        if f"form-{made}" not in used:
            return made


def take_form(
    folder: Path, block: Block, file: str, data: bytes, options: Options, now: datetime
) -> FileTaken:
    """Take a filled form.

    Parameters
    ----------
    folder, block : Path, Block
        The block folder and its block.
    file : str
        Name of the file.
    data : bytes
        CSV.
    options : Options
        Whether a changed row may stand in for the one taken before.
    now : datetime
        Time of arrival, UTC.

    Returns
    -------
    FileTaken
        What came of it.

    Raises
    ------
    IntakeError
        If it is no form.
    """
    read = read_form(data, zone=block.zone)
    with ShedJournal(folder) as journal:
        sorted_rows = changed_rows(read.records, journal.held(), mend=options.mend)
        checked = check_lines(
            [canonical(record) for record in sorted_rows.new], file=file, sealed=True
        )
        taken = journal.take(checked.sound, checked.aside, file=file, arrived=now)
        names = journal.write_down(sorted_rows.for_shed, arrived=now)
    problems = (*read.problems, *sorted_rows.problems)
    rows = tuple(
        Aside(file, p.line, None, p.field, str(p.value), p.reason, "", sealed=True)
        for p in problems
    )
    told = (f"{len(names)} mends written down at the shed",) if names else ()
    return FileTaken(
        file, taken.new + len(names), taken.known + sorted_rows.known, (*rows, *checked.aside),
        None, told, from_form=True,
    )
