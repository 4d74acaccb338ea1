"""How the command speaks: exit codes, errors in plain words, results to stdout or a file."""

import os
import sys
from collections.abc import Iterable
from datetime import UTC, date, datetime
from pathlib import Path

import typer
from rich.console import Console

from fieldapp.device.files import write_safely
from fieldapp.device.journal_file import JournalError
from fieldapp.record import INSTANT, instant
from sync.disk.load import day_asked
from sync.errors import DiskError, FallowError, GeometryError, SettingsError

DONE, REFUSED, USAGE, COULD_NOT = 0, 1, 2, 3
WIDE = 200


def run(app: typer.Typer) -> int:
    """Run the command.

    Parameters
    ----------
    app : typer.Typer
        The command.

    Returns
    -------
    int
        The exit code.
    """
    try:
        app()
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else DONE
    except KeyboardInterrupt:
        say("stopped")
        return COULD_NOT
    except SettingsError as wrong:
        for mistake in wrong.mistakes:
            say(mistake)
        return USAGE
    except GeometryError as wrong:
        say(str(wrong))
        return USAGE
    except (DiskError, JournalError) as wrong:
        say(str(wrong))
        return COULD_NOT
    except FallowError as wrong:
        say(str(wrong))
        return REFUSED
    except BrokenPipeError:
        # Whoever read us has gone; the interpreter must not complain about it at its end.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except OSError as wrong:
        say(f"{wrong.filename or 'disk'}: {wrong.strerror}")
        return COULD_NOT
    return DONE


def end(code: int) -> None:
    """End a command with an exit code."""
    if code != DONE:
        raise typer.Exit(code)


def say(text: str) -> None:
    """Say something to the person; never a result."""
    typer.echo(text, err=True)


def say_unknown(by: str | None, people: Iterable[str]) -> None:
    """Say of a person code that was typed that nobody has it; it is written down all the same."""
    if by is not None and by not in set(people):
        say(f"--by {by}: people.toml has nobody of that code; it is written down as typed")


def result(text: str, out: Path | None) -> None:
    """Give a result: to stdout as it is, or to a file.

    Parameters
    ----------
    text : str
        UTF-8 text.
    out : Path or None
        The file; None is stdout.
    """
    if out is None:
        # Bytes, so that a result is UTF-8 whatever the terminal's own encoding is.
        typer.echo((text if text.endswith("\n") else text + "\n").encode(), nl=False)
    else:
        write_safely(out, text.encode())
        say(f"written to {out}")


def console() -> Console:
    """Give the terminal that results are drawn on; a file or pipe is as wide as it takes."""
    width = None if sys.stdout.isatty() else WIDE
    return Console(file=sys.stdout, highlight=False, width=width)


def progress_console() -> Console:
    """Give the terminal that progress is drawn on; quiet where it is no terminal."""
    return Console(file=sys.stderr, highlight=False, quiet=not sys.stderr.isatty())


def now() -> datetime:
    """Give the time."""
    return datetime.now(UTC)


def day_of(text: str | None) -> date | None:
    """Read a day that was typed.

    Raises
    ------
    typer.BadParameter
        If it is none, or of a year that nobody can mean.
    """
    if text is None:
        return None
    try:
        return day_asked(text)
    except ValueError:
        raise typer.BadParameter(f"{text!r} is no day such as 2026-02-20, of a year from 1900 to "
                                 "2999") from None


def time_of(text: str | None) -> datetime | None:
    """Read a time that was typed, UTC.

    Raises
    ------
    typer.BadParameter
        If it is none, or has no zone.
    """
    if text is None:
        return None
    if INSTANT.match(text):
        return instant(text)
    try:
        read = datetime.fromisoformat(text)
    except ValueError:
        read = None
    if read is None or read.tzinfo is None:
        raise typer.BadParameter(f"{text!r} is no time such as 2026-02-20T08:00:00Z")
    return read.astimezone(UTC)
