"""`fallow take`, `aside` and `form`: what comes in."""

from pathlib import Path
from typing import Annotated

import typer
from rich.progress import Progress

from sync.cli.shown import DONE, REFUSED, end, now, progress_console, result, say
from sync.cli.thinning import thin_if_due
from sync.disk.folder import load_block
from sync.disk.forms import new_form_id
from sync.disk.handovers import photos_aside
from sync.disk.journal import ShedJournal
from sync.disk.taking import FileTaken, Options, take_again, take_files
from sync.intake.check import Aside
from sync.intake.form import empty_form

Folder = Annotated[Path, typer.Argument(metavar="DIR", help="The block folder.")]


def take(
    folder: Folder,
    files: Annotated[list[Path] | None, typer.Argument(
        metavar="FILE…", help="Hand-overs (*.handover.zip), receivers' GPX, forms (CSV)."
    )] = None,
    person: Annotated[str | None, typer.Option(
        help="Person code of whoever carried the receiver (GPX)."
    )] = None,
    role: Annotated[str, typer.Option(help="picker or surveyor (GPX).")] = "picker",
    unsealed: Annotated[bool, typer.Option(
        "--unsealed", help="Take hand-overs that no paired phone of this block sealed."
    )] = False,
    mend: Annotated[bool, typer.Option(
        "--mend", help="Let changed rows of a form stand in for those taken before."
    )] = False,
    again: Annotated[bool, typer.Option(
        "--again", help="Check again what was set aside."
    )] = False,
) -> None:
    """Take in hand-overs, receivers' tracks and forms; nothing counts twice."""
    if not files and not again:
        raise typer.BadParameter("name at least one file, or say --again")
    if role not in {"picker", "surveyor"}:
        raise typer.BadParameter(f"--role {role!r}: say picker or surveyor")
    block, _ = load_block(folder)
    bad = 0
    if again:
        passed, waiting = take_again(folder, now=now())
        typer.echo(f"set aside: {passed} pass now, {len(waiting)} still wait")
        _list(waiting)
        bad += len(waiting)
    options = Options(person, role, unsealed, mend)
    taken: list[FileTaken] = []
    with Progress(console=progress_console(), transient=True) as progress:
        for path in progress.track(files or [], description="taking"):
            taken += take_files(folder, block, [path], options, now=now())
    for one in taken:
        _tell(one)
        bad += len(one.aside) + one.bad_photos + (one.refused is not None)
    if len(taken) > 1:
        _sum_up(taken)
    thin_if_due(folder)
    end(REFUSED if bad else DONE)


def _tell(one: FileTaken) -> None:
    if one.refused is not None:
        say(f"{one.file}: refused: {one.refused}")
        return
    waits = "rows not taken, mend them in the form" if one.from_form else "set aside"
    typer.echo(
        f"{one.file}: {one.new} new records, {one.known} already there, {len(one.aside)} {waits}"
    )
    for sentence in one.told:
        say(f"  {sentence}")
    _list(one.aside)


def _sum_up(taken: list[FileTaken]) -> None:
    refused = sum(one.refused is not None for one in taken)
    typer.echo(
        f"{len(taken) - refused} files taken, {refused} refused: "
        f"{sum(one.new for one in taken)} new records, "
        f"{sum(one.known for one in taken)} already there, "
        f"{sum(len(one.aside) for one in taken)} set aside or not taken"
    )


def _list(waiting: tuple[Aside, ...]) -> None:
    for one in waiting:
        name = f" ({one.name})" if one.name else ""
        say(f"  {one.file} line {one.line}{name}: {one.field} = {one.value}: {one.reason}")


def aside(folder: Folder) -> None:
    """List what was set aside: file, line, field, value and reason."""
    load_block(folder)
    with ShedJournal(folder) as journal:
        waiting = journal.waiting()
        mended = journal.mended()
    open_lines = [one for one in waiting if one.name not in mended]
    for one in open_lines:
        name = one.name or "-"
        typer.echo(f"{one.file}:{one.line}\t{name}\t{one.field}\t{one.value}\t{one.reason}")
    photos = photos_aside(folder)
    for photo in photos:
        typer.echo(f"{photo['file']}\t{photo['photo']}\tphoto\t-\t{photo['reason']}")
    say(f"{len(open_lines)} records and {len(photos)} photos wait; mend one by a form with "
        "instead_of, or `fallow take --again` after a new version")
    end(REFUSED if open_lines or photos else DONE)


def form(
    folder: Folder,
    kind: Annotated[str, typer.Argument(help="bag, batch, clip, past_pick, quadrat, …")],
    rows: Annotated[int, typer.Option(min=1, max=500, help="Empty rows to print.")] = 20,
    out: Annotated[Path | None, typer.Option(help="Write to a file.")] = None,
) -> None:
    """Give an empty form (CSV) to fill in by hand and take in."""
    load_block(folder)
    if out is not None and out.exists():
        raise typer.BadParameter(f"{out} is there already; it may be filled in")
    try:
        text = empty_form(kind, form_id=new_form_id(folder), rows=rows)
    except ValueError as wrong:
        raise typer.BadParameter(str(wrong)) from None
    result(text, out)
