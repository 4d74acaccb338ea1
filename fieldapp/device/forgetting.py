"""Letting go of where people walked: the points of old tracks that the shed holds.

Rule 1: a track keeps its name, time and person, and the sum of what it was: no number changes and
there is no hole.
Rule 2: it must be old, and below the first number that the shed is not known to hold: such a
number is never handed over again, so no second content ever goes out under its name.
Rule 3: what is let go of is gone from the file's bytes too; until it is, a table says so.
"""

import sqlite3
from collections.abc import Mapping
from typing import Any

from fieldapp.device.journal_file import NOT_CHANGED
from fieldapp.record import FileError, LineError, canonical, parse_line, sum_of

#: What stays of a track beside the sum.
_STAYS = ("device", "seq", "kind", "at", "person", "note", "instead_of")
#: In a canonical line. No text can hold them: there the quotes are escaped.
_POINTS, _AT = b'"lat_e7":[', b'"at":"'
_INSTANT = 24
#: Of a track's line `at` is the first key but for a list of radii.
_OLD = """SELECT seq, CAST(line AS BLOB) FROM records WHERE seq < ? AND instr(line, ?) > 0
          AND substr(line, instr(line, ?) + ?, ?) < ? ORDER BY seq"""


def old_tracks(connection: sqlite3.Connection, *, device: str, below: int,
               before: str) -> list[tuple[bytes, int]]:
    """Find the tracks to let go of.

    Parameters
    ----------
    connection : sqlite3.Connection
        A journal's.
    device : str
        Whose.
    below : int
        First number that the shed is not known to hold.
    before : str
        Instant as `stamp` writes it; what was written down before it is old.

    Returns
    -------
    list of (bytes, int)
        The line that is to stand for each, and its number; damaged rows are left alone.
    """
    asked = (below, _POINTS, _AT, len(_AT), _INSTANT, before.encode())
    found: list[tuple[bytes, int]] = []
    for seq, line in connection.execute(_OLD, asked):
        record = _record(line)
        whole = (record.get("device"), record.get("seq"), record.get("kind")) == (
            device, seq, "track")
        if whole and record["at"] < before:
            found.append((canonical(without_points(record)), seq))
    return found


def without_points(track: Mapping[str, Any]) -> dict[str, Any]:
    """Give what stays of a track: no place, and the sum of the original.

    It breaks the limits of a record on purpose: should it ever reach a shed, it is set aside there
    and does not stand for the track.
    """
    kept = {name: track[name] for name in _STAYS if name in track}
    return {**kept, "let_go": {"sum": sum_of(track)}}


def let_go(connection: sqlite3.Connection, lines: list[tuple[bytes, int]]) -> None:
    """Put what stays in the place of each track; within a transaction."""
    # SQLite keeps a statement about triggers within the transaction like any other: a kill
    # leaves the journal with its tracks and its trigger.
    connection.execute("DROP TRIGGER IF EXISTS records_stand")
    connection.executemany("UPDATE records SET line = ? WHERE seq = ?", lines)
    connection.execute(NOT_CHANGED)
    connection.execute("CREATE TABLE IF NOT EXISTS to_compact (why TEXT)")


def compact(connection: sqlite3.Connection) -> bool:
    """Rewrite the file without what was let go of, if that is still to be done.

    Parameters
    ----------
    connection : sqlite3.Connection
        A journal's, outside a transaction.

    Returns
    -------
    bool
        False if another program looked into the file, and it is to be tried again.
    """
    if not connection.execute(
            "SELECT count(*) FROM sqlite_master WHERE name = 'to_compact'").fetchone()[0]:
        return True
    connection.execute("VACUUM")
    if _still_in_wal(connection):
        return False
    connection.execute("DROP TABLE IF EXISTS to_compact")
    return not _still_in_wal(connection)


def _still_in_wal(connection: sqlite3.Connection) -> bool:
    return bool(connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0])


def _record(line: bytes) -> dict[str, Any]:
    try:
        return parse_line(line)
    except (LineError, FileError):
        return {}
