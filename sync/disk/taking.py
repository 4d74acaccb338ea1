"""Taking files in: hand-overs, receivers' GPX and forms, each whole or not at all.

Rule 1: a refused file leaves one line in the intake log and nothing else.
Rule 2: sound records are taken even where others of the same file wait.
Rule 3: the log holds no names of people, no positions and no keys.
"""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from fieldapp.handover import HandoverError, unpack
from fieldapp.record import FileError
from sync.block import Block
from sync.disk.forms import take_form
from sync.disk.handovers import take_handover
from sync.disk.intake_log import log_file
from sync.disk.journal import ShedJournal
from sync.disk.outcome import FileTaken, Options
from sync.disk.receivers import take_gpx
from sync.errors import IntakeError
from sync.intake.check import Aside, Held, check_line

__all__ = ["FileTaken", "Options", "take_again", "take_files"]

#: Larger than any hand-over a phone makes; more is not even read. [bytes]
_LARGEST = 512 * 1024 * 1024


def take_files(
    folder: Path, block: Block, paths: Sequence[Path], options: Options, *, now: datetime
) -> tuple[FileTaken, ...]:
    """Take files into a block folder, one after the other.

    Parameters
    ----------
    folder : Path
        The block folder.
    block : Block
        Its block.
    paths : sequence of Path
        Hand-overs, GPX files and forms.
    options : Options
        What the owner said.
    now : datetime
        Time of arrival, UTC.

    Returns
    -------
    tuple of FileTaken
        In the order given.

    Raises
    ------
    DiskError
        If the block folder cannot be written.
    """
    taken = []
    for path in paths:
        try:
            one = _take_file(folder, block, path, options, now)
        except (IntakeError, HandoverError, FileError) as refusal:
            one = FileTaken(path.name, refused=_one_line(str(refusal)))
        log_file(folder, one, now)
        taken.append(one)
    return tuple(taken)


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _take_file(
    folder: Path, block: Block, path: Path, options: Options, now: datetime
) -> FileTaken:
    data = _read(path)
    suffix = path.suffix.lower()
    if suffix == ".gpx":
        return take_gpx(folder, block, path.name, data, options, now)
    if suffix == ".csv":
        return take_form(folder, block, path.name, data, options, now)
    return take_handover(folder, block, path.name, unpack(data), options, now)


def _read(path: Path) -> bytes:
    try:
        if path.stat().st_size > _LARGEST:
            raise IntakeError(f"it is larger than {_LARGEST // 1024 // 1024} MB; no phone makes "
                              "such a file")
        return path.read_bytes()
    except OSError as wrong:
        raise IntakeError(f"it cannot be read: {wrong.strerror}") from wrong


def take_again(folder: Path, *, now: datetime) -> tuple[int, tuple[Aside, ...]]:
    """Check again what was set aside.

    Parameters
    ----------
    folder : Path
        The block folder.
    now : datetime
        UTC, for the log.

    Returns
    -------
    passed : int
        Lines that pass now and are taken in.
    waiting : tuple of Aside
        Lines that still wait.
    """
    passed = 0
    with ShedJournal(folder) as journal:
        for one in journal.waiting():
            again = check_line(one.raw.encode(), file=one.file, number=one.line,
                               sealed=one.sealed, promised=one.name)
            if isinstance(again, Held):
                journal.let_pass(one.raw, again)
                passed += 1
        waiting = journal.waiting()
    log_file(folder, FileTaken("set aside", new=passed, aside=waiting), now)
    return passed, waiting
