"""The intake log read again: which file came when, and what came of it.

Rule 1: a line that is no line of the log is passed over.
Rule 2: a file's name stays escaped as it was written, so that it can play no trick on a terminal.
"""

import re
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from fieldapp.record import INSTANT, instant, stamp
from sync.disk.outcome import FileTaken
from sync.errors import DiskError
from sync.report.arrivals import FileIn

LOG_FILE = "intake.log"
_LAST_BYTES = 64_000
_LINE = re.compile(r"(?P<at>\S+) (?P<file>'(?:[^'\\]|\\.)*'|\"(?:[^\"\\]|\\.)*\") (?P<said>.*)")
_TAKEN = re.compile(r"taken: (\d+) new, (\d+) known, (\d+) set aside")
_REFUSED = "refused: "


def log_file(folder: Path, one: FileTaken, now: datetime) -> None:
    """Add a file's line to the intake log."""
    said = f"{_REFUSED}{one.refused}" if one.refused else (
        f"taken: {one.new} new, {one.known} known, {len(one.aside)} set aside"
    )
    with (folder / LOG_FILE).open("a", encoding="utf-8") as log:
        log.write(f"{stamp(now)} {one.file!a} {said}\n")


def files_in(folder: Path, *, last: int | None = None) -> list[FileIn]:
    """Read which files came in, as they came.

    Parameters
    ----------
    folder : Path
        The block folder; one that took nothing yet has no log.
    last : int or None
        So many lines from the end at most, and no more read than they need; None is all.

    Returns
    -------
    list of FileIn
        As they came.

    Raises
    ------
    DiskError
        If the log cannot be read.
    """
    path = folder / LOG_FILE
    try:
        if not path.is_file():
            return []
        with path.open("rb") as source:
            if last is not None:
                source.seek(max(0, path.stat().st_size - _LAST_BYTES))
            lines = source.read().decode("utf-8", "replace").splitlines()
    except OSError as wrong:
        raise DiskError(f"{LOG_FILE}: {wrong.strerror}") from wrong
    found = list(_read(lines))
    return found if last is None else found[-last:]


def _read(lines: list[str]) -> Iterator[FileIn]:
    for line in lines:
        parts = _LINE.fullmatch(line)
        if parts is None or not INSTANT.match(parts["at"]):
            continue
        said = parts["said"]
        taken = _TAKEN.fullmatch(said)
        new, known, aside = (int(one) for one in taken.groups()) if taken else (0, 0, 0)
        yield FileIn(
            instant(parts["at"]).astimezone(UTC), parts["file"][1:-1], said, new,
            known, aside, said.removeprefix(_REFUSED) if said.startswith(_REFUSED) else None)
