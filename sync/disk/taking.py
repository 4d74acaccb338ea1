"""Taking files in: hand-overs, receivers' GPX and forms, each whole or not at all.

Rule 1: a refused file leaves one line in the intake log and nothing else.
Rule 2: sound records are taken even where others of the same file wait.
Rule 3: the log holds no names of people, no positions and no keys.
"""

import dataclasses
import hashlib
import json
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from fieldapp.device.files import write_safely
from fieldapp.handover import Handover, HandoverError, Manifest, expected_seqs, unpack
from fieldapp.record import FileError, canonical, stamp
from sync.block import Block
from sync.disk.journal import ShedJournal
from sync.disk.keys import bind, check_seal
from sync.errors import IntakeError
from sync.geometry.crs import projection
from sync.geometry.gpx import read_gpx
from sync.geometry.receiver import receiver_records
from sync.geometry.shapes import distance_m, shape_of, union_of
from sync.geometry.track import Fix, fixes_by_cell
from sync.intake.check import Aside, Held, check_line, check_lines
from sync.intake.form import changed_rows, read_form

LOG_FILE = "intake.log"
ASIDE_FOLDER = "set_aside"
PHOTOS_FOLDER = "photos"
#: Larger than any hand-over a phone makes; more is not even read. [bytes]
_LARGEST = 512 * 1024 * 1024
#: Fixes farther from the block than this are dropped from a receiver's file. [m]
_BEYOND_M = 100.0


@dataclasses.dataclass(frozen=True)
class Options:
    """How the owner wants files taken: whose a receiver's is, and what is let through."""

    person: str | None = None
    role: str = "picker"
    unsealed: bool = False
    mend: bool = False


@dataclasses.dataclass(frozen=True)
class FileTaken:
    """What came of one file.

    Attributes
    ----------
    refused : str or None
        Why it was refused; then nothing of it was taken.
    aside : tuple of Aside
        Its lines that wait.
    told : tuple of str
        What else the owner should know, one sentence each.
    """

    file: str
    new: int = 0
    known: int = 0
    aside: tuple[Aside, ...] = ()
    refused: str | None = None
    told: tuple[str, ...] = ()
    bad_photos: int = 0


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
        _log(folder, one, now)
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
        return _take_gpx(folder, block, path.name, data, options, now)
    if suffix == ".csv":
        return _take_form(folder, block, path.name, data, options, now)
    return _take_handover(folder, block, path.name, unpack(data), options, now)


def _read(path: Path) -> bytes:
    try:
        if path.stat().st_size > _LARGEST:
            raise IntakeError(f"it is larger than {_LARGEST // 1024 // 1024} MB; no phone makes "
                              "such a file")
        return path.read_bytes()
    except OSError as wrong:
        raise IntakeError(f"it cannot be read: {wrong.strerror}") from wrong


def _take_handover(
    folder: Path, block: Block, file: str, found: Handover, options: Options, now: datetime
) -> FileTaken:
    manifest = found.manifest
    used = None
    if not options.unsealed:
        if manifest.block != block.block_id:
            raise IntakeError(
                f"it is of another block ({str(manifest.block)[:40]!r}, this one is "
                f"{block.block_id!r})"
            )
        used = check_seal(folder, manifest)
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
    if manifest.missing:
        spans = ", ".join(f"{a}-{b}" for a, b in manifest.missing)
        told.append(f"the phone says that its records {spans} are missing")
    return FileTaken(file, taken.new, taken.known, checked.aside, None, tuple(told),
                     len(found.bad_photos))


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


def _take_gpx(
    folder: Path, block: Block, file: str, data: bytes, options: Options, now: datetime
) -> FileTaken:
    if options.person is None:
        raise IntakeError("a receiver's GPX does not say whose it is; say --person CODE")
    read = read_gpx(data)
    ground = projection(block.epsg)
    outline = union_of([shape_of(ground, one.geometry) for one in block.outline])

    def near(lat: float, lon: float) -> bool:
        e, n = ground.to_m(lat, lon)
        return distance_m(outline, float(e), float(n)) <= _BEYOND_M

    records, beyond = receiver_records(
        read, device=f"gpx-{hashlib.sha256(data).hexdigest()[:8]}", person=options.person,
        role=options.role, near=near,
    )
    checked = check_lines([canonical(r) for r in records], file=file, sealed=False)
    with ShedJournal(folder) as journal:
        taken = journal.take(checked.sound, checked.aside, file=file, arrived=now)
    fixes: list[Fix] = [f for track in read.tracks for segment in track for f in segment
                        if near(f.lat, f.lon)]
    cells = fixes_by_cell(block.grid, ground, fixes)
    told = [*read.problems]
    if beyond:
        told.append(f"{beyond} fixes more than {_BEYOND_M:.0f} m beyond the block are left out")
    told.append(f"{len(fixes)} fixes in {len(cells)} cells of the grid")
    return FileTaken(file, taken.new, taken.known, checked.aside, None, tuple(told))


def _take_form(
    folder: Path, block: Block, file: str, data: bytes, options: Options, now: datetime
) -> FileTaken:
    read = read_form(data, zone=block.zone)
    with ShedJournal(folder) as journal:
        sorted_rows = changed_rows(read.records, journal.held(), mend=options.mend)
        sound = [
            held for number, record in enumerate(sorted_rows.new, 1)
            if isinstance(
                held := check_line(canonical(record), file=file, number=number, sealed=True), Held
            )
        ]
        taken = journal.take(sound, (), file=file, arrived=now)
        names = journal.write_down(sorted_rows.for_shed, arrived=now)
    problems = (*read.problems, *sorted_rows.problems)
    rows = tuple(
        Aside(file, p.line, None, p.field, str(p.value), p.reason, "", sealed=True)
        for p in problems
    )
    told = (f"{len(names)} mends written down at the shed",) if names else ()
    return FileTaken(
        file, taken.new + len(names), taken.known + sorted_rows.known, rows, None, told
    )


def photos_aside(folder: Path) -> list[dict[str, str]]:
    """List the photos that were set aside: file, photo, reason, arrived."""
    path = folder / ASIDE_FOLDER / "photos.ndjson"
    if not path.is_file():
        return []
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


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
    _log(folder, FileTaken("set aside", new=passed, aside=waiting), now)
    return passed, waiting


def _log(folder: Path, one: FileTaken, now: datetime) -> None:
    """Add the file's line to the intake log."""
    said = f"refused: {one.refused}" if one.refused else (
        f"taken: {one.new} new, {one.known} known, {len(one.aside)} set aside"
    )
    with (folder / LOG_FILE).open("a", encoding="utf-8") as log:
        log.write(f"{stamp(now)} {one.file!a} {said}\n")
