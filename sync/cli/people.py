"""`fallow waypoints` and `mine`: what goes out to one person."""

from pathlib import Path
from typing import Annotated

import typer

import fieldapp
from sync.cli.intake import Folder
from sync.cli.registers import On, built
from sync.cli.shown import day_of, result, say
from sync.geometry.gpx import write_gpx
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
