"""Taking one receiver's GPX: whose it is, and what of it lies on the block.

Rule 1: fixes beyond the block and its margin are dropped before anything is written.
"""

import hashlib
from datetime import datetime
from pathlib import Path

from fieldapp.record import PERSON, canonical
from sync.block import Block
from sync.disk.folder import load_block
from sync.disk.journal import ShedJournal
from sync.disk.outcome import FileTaken, Options
from sync.errors import IntakeError
from sync.geometry.crs import projection
from sync.geometry.gpx import GpxRead, read_gpx
from sync.geometry.receiver import own_waypoints, receiver_records
from sync.geometry.shapes import distance_m, shape_of, union_of
from sync.geometry.track import Fix, fixes_by_cell
from sync.intake.check import check_lines

#: Fixes farther from the block than this are dropped. [m]
_BEYOND_M = 100.0


def take_gpx(
    folder: Path, block: Block, file: str, data: bytes, options: Options, now: datetime
) -> FileTaken:
    """Take a receiver's GPX as an outing, its tracks and marks.

    Parameters
    ----------
    folder, block : Path, Block
        The block folder and its block.
    file : str
        Name of the file.
    data : bytes
        The file.
    options : Options
        Whose it is, and in which role.
    now : datetime
        Time of arrival, UTC.

    Returns
    -------
    FileTaken
        What came of it.

    Raises
    ------
    IntakeError
        If nobody is named, it is no GPX, or nothing of it is near the block.
    """
    if options.person is None:
        raise IntakeError("a receiver's GPX does not say whose it is; say --person CODE")
    if not PERSON.match(options.person):
        raise IntakeError(f"--person {options.person!r}: a person code is a capital letter and up "
                          "to seven capitals or digits")
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
    if fixes:
        told.append(_accuracy(folder))
    told += _given_out(read)
    return FileTaken(file, taken.new, taken.known, checked.aside, None, tuple(told))


def _accuracy(folder: Path) -> str:
    """Say how far a fix of a receiver that states none is believed; the owner may set it."""
    metres = load_block(folder)[1].unknown_accuracy_m
    return (f"GPX states no accuracy: each fix is read as within {metres:g} m, 68 times in 100 "
            "(unknown_accuracy_m in block.toml, [settings])")


def _given_out(read: GpxRead) -> list[str]:
    given = len(read.waypoints) - len(own_waypoints(read))
    return [f"waypoints that the shed gave out are left out: {given}"] if given else []
