"""`fallow thin`: where people walked is let go of after its season."""

from pathlib import Path
from typing import Annotated

import typer

from sync.cli.shown import DONE, REFUSED, end, now, progress_console, say
from sync.disk.folder import load_block
from sync.disk.load import load_inputs
from sync.disk.thin import Thinned, is_due
from sync.disk.thin import thin as let_go

Folder = Annotated[Path, typer.Argument(metavar="DIR", help="The block folder.")]


def thin(folder: Folder) -> None:
    """Let go of tracks whose season is over and whose flags are ruled; no figure moves."""
    with progress_console().status("working out what the tracks told"):
        done = let_go(folder, load_inputs(folder), now=now())
    _tell(done)
    if not done.records and not done.moved:
        typer.echo("nothing to let go of" if not done.kept else "nothing let go of")
    end(REFUSED if done.moved else DONE)


def thin_if_due(folder: Path) -> None:
    """Let go of what is due, and say so; where nothing is due, say nothing."""
    block, tunables = load_block(folder)
    if is_due(folder, block, tunables, now=now()):
        _tell(let_go(folder, load_inputs(folder), now=now()))


def _tell(done: Thinned) -> None:
    seasons = ", ".join(map(str, done.seasons))
    if done.records:
        typer.echo(f"tracks of season {seasons}: {done.points:,} fixes in {done.records:,} "
                   "records let go of; what they told stands, and no figure moved")
    if done.moved:
        say(f"tracks of season {seasons} stay: without them the register would move; nothing was "
            "let go of")
    for season, names in done.kept:
        say(f"tracks of season {season} stay until ruled: {', '.join(names)}")
