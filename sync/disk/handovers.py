"""Taking one hand-over: seal, records, photos.

Rule 1: who sealed it is settled before any record is looked at.
Rule 2: records are on disk before photos, and the phone is bound to its key last.
"""

import hashlib
import json
from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from fieldapp.device.files import write_safely
from fieldapp.handover import Handover, Manifest, expected_seqs
from fieldapp.record import instant, is_known_kind, stamp, where_of
from sync.block import Block
from sync.disk.journal import ShedJournal
from sync.disk.keys import PairedPhone, bind, check_seal
from sync.disk.outcome import FileTaken, Options
from sync.errors import IntakeError
from sync.intake.check import check_lines

ASIDE_FOLDER = "set_aside"
PHOTOS_FOLDER = "photos"


def take_handover(
    folder: Path, block: Block, file: str, found: Handover, options: Options, now: datetime
) -> FileTaken:
    """Take a hand-over whose file is sound.

    Parameters
    ----------
    folder, block : Path, Block
        The block folder and its block.
    file : str
        Name of the file.
    found : Handover
        What it holds.
    options : Options
        Whether a seal is needed.
    now : datetime
        Time of arrival, UTC.

    Returns
    -------
    FileTaken
        What came of it.

    Raises
    ------
    IntakeError
        If it is of another block or its seal is not that of a phone of this one.
    """
    manifest = found.manifest
    used = _sealed_by(folder, block, manifest, options)
    checked = check_lines(
        found.lines, file=file, sealed=used is not None,
        expected=_promised(manifest),
    )
    with ShedJournal(folder) as journal:
        taken = journal.take(checked.sound, checked.aside, file=file, arrived=now)
    _keep_photos(folder, file, found, now)
    if used is not None:
        bind(folder, used, manifest.device)
    told = [f"photo {name} is set aside: {reason}" for name, reason in found.bad_photos]
    if checked.unknown:
        told.append(f"{len(checked.unknown)} records are of kinds this program does not know; "
                    "they are kept and count for nothing")
    ahead = sum(_ahead(one.record, now) for one in checked.sound)
    if ahead:
        told.append(f"{ahead} records are dated after tomorrow: the phone's clock was ahead and "
                    "no satellite time says by how much; mend their days, or they count then")
    if manifest.missing:
        spans = ", ".join(f"{a}-{b}" for a, b in manifest.missing)
        told.append(f"the phone says that its records {spans} are missing")
    return FileTaken(file, taken.new, taken.known, checked.aside, None, tuple(told),
                     len(found.bad_photos))


def _sealed_by(
    folder: Path, block: Block, manifest: Manifest, options: Options
) -> PairedPhone | None:
    """Find who sealed a file; a seal that fits is believed though unsealed ones are let in."""
    try:
        if manifest.block != block.block_id:
            raise IntakeError(
                f"it is of another block ({str(manifest.block)[:40]!r}, this one is "
                f"{block.block_id!r})"
            )
        return check_seal(folder, manifest)
    except IntakeError:
        if options.unsealed:
            return None
        raise


def _ahead(record: Mapping[str, Any], now: datetime) -> bool:
    """Say whether a record of a known kind is dated more than a day after its arrival."""
    if not is_known_kind(record):
        return False
    where = where_of(record)
    lag_s = record.get("lag_s") if record["kind"] == "track" else where and where.lag_s
    return not lag_s and instant(record["at"]) > now + timedelta(days=1)


def _promised(manifest: Manifest) -> tuple[str, ...]:
    """Name the records that a manifest promises, where it promises as many as it says it holds."""
    spans = expected_seqs(manifest)
    if sum(len(span) for span in spans) != manifest.count:
        return ()
    return tuple(f"{manifest.device}:{seq}" for span in spans for seq in span)


def _keep_photos(folder: Path, file: str, found: Handover, now: datetime) -> None:
    for name, content in found.photos.items():
        mine = folder / PHOTOS_FOLDER / found.manifest.device
        mine.mkdir(parents=True, exist_ok=True)
        target = mine / name
        if target.exists() and target.read_bytes() != content:
            other = hashlib.sha256(content).hexdigest()[:8]
            target = mine / f"{name.removesuffix('.jpg')}-{other}.jpg"
        if not target.exists():
            write_safely(target, content)
    if found.bad_photos:
        waiting = folder / ASIDE_FOLDER
        waiting.mkdir(exist_ok=True)
        with (waiting / "photos.ndjson").open("a", encoding="utf-8") as lines:
            for name, reason in found.bad_photos:
                lines.write(json.dumps({
                    "file": file, "photo": name, "reason": reason, "arrived": stamp(now)
                }) + "\n")


def photos_aside(folder: Path) -> list[dict[str, str]]:
    """List the photos that were set aside and have not come whole: file, photo, reason, arrived.

    One that came broken more than once in a file is listed as it came first.
    """
    path = folder / ASIDE_FOLDER / "photos.ndjson"
    if not path.is_file():
        return []
    waiting: dict[tuple[str, str, str], dict[str, str]] = {}
    for line in path.read_text(encoding="utf-8").splitlines():
        one = json.loads(line)
        if not any((folder / PHOTOS_FOLDER).glob(f"*/{one['photo']}")):
            waiting.setdefault((one["file"], one["photo"], one["reason"]), one)
    return list(waiting.values())
