"""The hand-overs made on the phone, one or more for each install that has something to say.

Rule 1: a journal noted before the phone was paired is handed over too, by its own name, unsealed.
Rule 2: a journal that cannot be read holds up no other.
Rule 3: an old file of which the shed holds every number goes, with the tracks that are in it.
"""

import dataclasses
import re
from collections.abc import Iterator, Sequence
from datetime import datetime
from pathlib import Path

from fieldapp.device.files import hand_over, parts, save_hand_over
from fieldapp.device.identity import Install
from fieldapp.device.journal import Journal
from fieldapp.device.store import StoreError, keep_one, kept_one
from fieldapp.record import RecordError, instant, stamp


@dataclasses.dataclass(frozen=True)
class Made:
    """One hand-over file.

    Attributes
    ----------
    device : str
        Whose records.
    first, last : int
        Numbers it answers for.
    count : int
        Records in it.
    path_name : str
        Its file's name in `out/`; empty if none could be made.
    why : str
        Why none could be made and what to do; else empty.
    """

    device: str
    first: int
    last: int
    count: int
    path_name: str
    why: str = ""


#: When it was made, whose, its first and its last number.
LastMade = tuple[datetime, str, int, int]


def make_hand_over(out: Path, journal: Journal, photos: Path, install: Install, *, now: datetime,
                   program: str) -> Iterator[Made]:
    """Hand over what one journal holds and the shed is not known to.

    Parameters
    ----------
    out : Path
        Folder for the files; it exists.
    journal : Journal
        Open.
    photos : Path
        Folder of its photos.
    install : Install
        Whose block and key.
    now : datetime
        Aware.
    program : str
        The program's version.

    Yields
    ------
    Made
        Each file, once it is on disk; none if the shed holds all.

    Raises
    ------
    JournalError
        If the journal cannot be read.
    OSError
        If a file could not be written.
    """
    if not journal.unsent():
        return
    for span in parts(journal, photos):
        data = hand_over(journal, span, block=install.block, program=program, made_at=now,
                         key=install.key, photos=photos)
        path = save_hand_over(out, data, device=install.device, span=span)
        count = sum(1 for _ in journal.records(*span))
        yield Made(install.device, span[0], span[1], count, path.name)


def drop_held(out: Path, device: str, *, below: int, before: datetime) -> None:
    """Drop the old files of a device that hold nothing the shed may lack.

    Parameters
    ----------
    out : Path
        Folder of the files.
    device : str
        Whose.
    below : int
        First number that the shed is not known to hold.
    before : datetime
        Aware; a file written before it is old.

    Raises
    ------
    OSError
        If one could not be dropped.
    """
    own = re.compile(rf"{re.escape(device)}-[0-9]+-([0-9]+)(?:-[0-9]+)?\.handover\.zip")
    for path in out.iterdir():
        found = own.fullmatch(path.name)
        if found and int(found[1]) < below and path.stat().st_mtime < before.timestamp():
            path.unlink()


def keep_last(path: Path, made: Sequence[Made], now: datetime) -> None:
    """Keep when the last were made; of several devices it names the last one, with all its files.

    Parameters
    ----------
    path : Path
        The store's file.
    made : sequence of Made
        Files that were made, at least one.
    now : datetime
        Aware.
    """
    own = [one for one in made if one.device == made[-1].device]
    keep_one(path, {"at": stamp(now), "device": own[0].device, "first": own[0].first,
                    "last": own[-1].last})


def kept_last(path: Path) -> LastMade | None:
    """Read when the last was made; None if none was, or that cannot be read any more."""
    try:
        kept = kept_one(path)
        return None if kept is None else (instant(kept["at"]), str(kept["device"]),
                                          int(kept["first"]), int(kept["last"]))
    except (StoreError, RecordError, KeyError, TypeError, ValueError):
        return None
