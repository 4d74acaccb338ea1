"""`fallow why`: how a cell's figures came about, and what there is to say of one flag."""

from pathlib import Path
from typing import Annotated

import typer

from sync.cli.intake import Folder
from sync.cli.registers import KnownBy, On, built
from sync.cli.shown import day_of, now, progress_console, result, time_of
from sync.disk.dossiers import dossier_of
from sync.disk.load import today_in
from sync.flags.named import flag_named
from sync.register.why import why_cell
from sync.report.flag_case import case_page, case_text, folio_of


def why(
    folder: Folder,
    cell: Annotated[str | None, typer.Argument(help="Name of a cell, such as C07.")] = None,
    flag: Annotated[str | None, typer.Option(
        metavar="NAME", help="A flag instead, such as early_pick:C08:2025: which bags, how sure, "
        "the rest, which sheet was on the phones and what it showed, rulings."
    )] = None,
    on: On = None,
    known_by: KnownBy = None,
    html: Annotated[bool, typer.Option("--html", help="The flag as a page to print, with a map.")]
    = False,
    out: Annotated[Path | None, typer.Option(help="Write to a file.")] = None,
) -> None:
    """Tell how each figure of a cell came about, or what there is to say of one flag."""
    if (cell is None) == (flag is None):
        raise typer.BadParameter("say a cell, such as C07, or --flag NAME; one of them")
    if flag is not None:
        _flag(folder, flag, on, known_by, html=html, out=out)
        return
    if html or cell is None:
        raise typer.BadParameter("--html is for a flag: add --flag NAME instead of a cell")
    found, flags, _ = built(folder, day_of(on), time_of(known_by))
    said = list(why_cell(found, cell.upper()))
    said += [f"Flag {one.name} ({one.how_sure}): {one.why}."
             for one in flags if one.cell == cell.upper()]
    result("\n".join(said), out)


def _flag(
    folder: Path, name: str, on: str | None, known_by: str | None, *, html: bool,
    out: Path | None,
) -> None:
    found, flags, document = built(folder, day_of(on), time_of(known_by))
    flag = flag_named(found, flags, name)
    with progress_console().status("making the phones' ground sheets again"):
        told = dossier_of(folder, found, document, flag, now=now())
    if html:
        result(case_page(told, made_on=today_in(found.block, now())), out)
    else:
        result(case_text(folio_of(told)), out)
