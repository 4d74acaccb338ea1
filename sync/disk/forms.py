"""Ids of hand-filled forms: made up here, so that no two forms name the same record."""

import secrets
from pathlib import Path

from sync.disk.journal import ShedJournal

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
