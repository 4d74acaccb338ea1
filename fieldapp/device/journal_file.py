"""The journal's SQLite file: its tables, how it is opened, what its errors mean.

Rule 1: a record's row is never changed, replaced or deleted, but for the points of an old track
(`forgetting`); triggers hold everybody to it.
Rule 2: what is committed is on disk (WAL, synchronous FULL), and no temp folder is used.
Rule 3: two processes share one file and wait for each other.
"""

import sqlite3
import time
from pathlib import Path

#: How long one process waits for the other before it says so; a commit takes well under 1 s. [s]
WAIT_S = 5.0
_RETRY_S = 0.02
#: "FALJ": told from other SQLite files by it.
APPLICATION_ID = 0x46414C4A
FORM = 1

NOT_CHANGED = """CREATE TRIGGER records_stand BEFORE UPDATE ON records
BEGIN SELECT RAISE(ABORT, 'a record is never changed'); END;
"""
_TABLES = """
CREATE TABLE about (device TEXT NOT NULL);
CREATE TABLE records (seq INTEGER PRIMARY KEY CHECK (seq >= 1), line BLOB NOT NULL);
CREATE TABLE drafts (name TEXT PRIMARY KEY, draft BLOB NOT NULL);
CREATE TABLE held (first INTEGER PRIMARY KEY CHECK (first >= 1),
                   last INTEGER NOT NULL CHECK (last >= first));
CREATE TRIGGER records_rise BEFORE INSERT ON records
WHEN NEW.seq <= (SELECT ifnull(max(seq), 0) FROM records)
BEGIN SELECT RAISE(ABORT, 'numbers only rise'); END;
CREATE TRIGGER records_stay BEFORE DELETE ON records
BEGIN SELECT RAISE(ABORT, 'a record is never deleted'); END;
""" + NOT_CHANGED

_CAUSES = {
    sqlite3.SQLITE_FULL: (
        "full", "no room on the phone: hand over and free some space"),
    sqlite3.SQLITE_BUSY: (
        "locked", "another program holds the journal: try again"),
    sqlite3.SQLITE_LOCKED: (
        "locked", "another program holds the journal: try again"),
    sqlite3.SQLITE_CORRUPT: (
        "damaged", "the journal is damaged: hand over what it still gives and keep the file"),
    sqlite3.SQLITE_NOTADB: (
        "damaged", "the file is no journal, or its head is damaged: keep it"),
    sqlite3.SQLITE_READONLY: (
        "read_only", "the journal may not be written to: look at its folder's rights"),
    sqlite3.SQLITE_CANTOPEN: (
        "no_file", "the journal cannot be opened: look at its folder"),
    sqlite3.SQLITE_IOERR: (
        "disk", "the phone's storage failed: try again, then write on paper"),
}


class JournalError(Exception):
    """The journal could not do it, and nothing was half done.

    Parameters
    ----------
    cause : str
        full, locked, damaged, read_only, no_file, disk, another_device, or other.
    message : str
        One line that says what is wrong and what to do.
    """

    def __init__(self, cause: str, message: str) -> None:
        super().__init__(message)
        self.cause = cause


#: What a call of SQLite raises; where its message quotes damaged bytes, it fails at decoding them.
FAILURES = (sqlite3.Error, UnicodeDecodeError)


def journal_error(error: Exception) -> JournalError:
    """Say in words of the trade what SQLite meant by one of `FAILURES`."""
    code = _code(error)
    cause, message = _CAUSES.get(code, ("other", "the journal failed: try again"))
    return JournalError(cause, f"{message} ({error})")


def _code(error: Exception) -> int:
    if isinstance(error, UnicodeDecodeError):
        return sqlite3.SQLITE_CORRUPT
    return getattr(error, "sqlite_errorcode", 0) & 0xFF


def open_file(path: Path, *, device: str) -> sqlite3.Connection:
    """Open a journal's file, or make it.

    Parameters
    ----------
    path : Path
        On the phone's own storage; its folder exists.
    device : str
        Whose journal it must be.

    Returns
    -------
    sqlite3.Connection
        In autocommit, for any thread, one at a time.

    Raises
    ------
    JournalError
        If the file is of another device, of a later program, damaged or out of reach.
    """
    try:
        connection = sqlite3.connect(path, timeout=WAIT_S, isolation_level=None,
                                     check_same_thread=False)
    except sqlite3.Error as error:
        raise journal_error(error) from error
    try:
        _patiently(connection, device)
    except FAILURES as error:
        connection.close()
        raise journal_error(error) from error
    except JournalError:
        connection.close()
        raise
    return connection


def _patiently(connection: sqlite3.Connection, device: str) -> None:
    """Set up; the change to WAL and its recovery may answer "busy" without waiting."""
    until = time.monotonic() + WAIT_S
    while True:
        try:
            _set_up(connection, device)
        except sqlite3.OperationalError as error:
            busy = _code(error) == sqlite3.SQLITE_BUSY
            if not busy or time.monotonic() > until:
                raise
            time.sleep(_RETRY_S)
        else:
            return


def _set_up(connection: sqlite3.Connection, device: str) -> None:
    connection.execute("PRAGMA temp_store = MEMORY")
    if _one(connection, "PRAGMA journal_mode") != "wal":
        connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("BEGIN IMMEDIATE")
    try:
        if _one(connection, "PRAGMA application_id") == 0:
            _make_tables(connection, device)
        _check(connection, device)
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def _make_tables(connection: sqlite3.Connection, device: str) -> None:
    if _one(connection, "SELECT count(*) FROM sqlite_master"):
        raise JournalError("other", "the file is a database of another program: choose another")
    statement = ""
    for line in _TABLES.splitlines():
        statement += line + "\n"
        if sqlite3.complete_statement(statement):
            connection.execute(statement)
            statement = ""
    connection.execute("INSERT INTO about (device) VALUES (?)", (device,))
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {FORM}")


def _check(connection: sqlite3.Connection, device: str) -> None:
    if _one(connection, "PRAGMA application_id") != APPLICATION_ID:
        raise JournalError("other", "the file is a database of another program: choose another")
    if _one(connection, "PRAGMA user_version") != FORM:
        raise JournalError("other", "the journal is of a later program: bring this one up to date")
    owner = _one(connection, "SELECT device FROM about")
    if owner != device:
        raise JournalError("another_device", f"the journal is of {owner} and this is {device}: "
                                             "open it by its own name, or make a new one")


def _one(connection: sqlite3.Connection, question: str) -> object:
    row = connection.execute(question).fetchone()
    return None if row is None else row[0]
