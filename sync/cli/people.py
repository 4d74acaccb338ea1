"""`fallow waypoints` and `mine`: what goes out to one person."""

from pathlib import Path
from typing import Annotated

import typer

import fieldapp
from fieldapp.device.files import write_safely
from fieldapp.record import canonical
from sync.cli.intake import Folder
from sync.cli.registers import On, built
from sync.cli.shown import day_of, now, result, say
from sync.disk.journal import ShedJournal
from sync.errors import IntakeError
from sync.geometry.gpx import write_gpx
from sync.report.mine import Holdings, own_lines
from sync.report.waypoints import waypoints as waypoints_of


def waypoints(
    folder: Folder,
    on: On = None,
    out: Annotated[Path | None, typer.Option(help="Write to a file, such as today.gpx.")] = None,
) -> None:
    """Give plots to read, piles with bags, pegs and hazards as GPX, for a handheld receiver."""
    found, _, _ = built(folder, day_of(on), None)
    points = waypoints_of(found)
    result(write_gpx((), points, creator=f"Fallow {fieldapp.__version__}"), out)
    say(f"{len(points)} waypoints of {found.on}; a receiver's track comes back with "
        "`fallow take --person`")


def mine(
    folder: Folder,
    person: Annotated[str, typer.Argument(help="Person code, such as MT.")],
    out: Annotated[Path | None, typer.Option(
        help="Write to a file that only you may read, such as MT.ndjson."
    )] = None,
) -> None:
    """Give a person all that the shed holds of them, and nothing of anybody else."""
    found, flags, _ = built(folder, None, None)
    with ShedJournal(folder) as journal:
        holdings = Holdings(journal.held(), journal.waiting(), journal.arrivals())
    lines = own_lines(found, flags, holdings, person, made_at=now())
    people = sorted(one.code for one in found.block.people)
    if len(lines) == 1 and person not in people:
        raise IntakeError(f"person {person!r}: nobody of that code noted anything; people.toml "
                          f"names {', '.join(people) or 'nobody'}")
    text = "".join(canonical(one).decode("ascii") + "\n" for one in lines)
    if out is None:
        result(text, None)
    else:
        write_safely(out, text.encode("ascii"), private=True)
        say(f"written to {out}")
    say(f"{len(lines) - 1} records of {person}")
