"""`fallow permit`: the return to the authority, and its filing."""

from datetime import date, datetime
from pathlib import Path
from typing import Annotated

import typer

from sync.block import Block, Permit
from sync.cli.intake import Folder
from sync.cli.registers import KnownBy, On
from sync.cli.shown import day_of, now, progress_console, result, say, say_unknown, time_of
from sync.disk.filing import file_return, known_until
from sync.disk.load import load_inputs, today_in
from sync.errors import FallowError
from sync.register.permit_year import permit_year, year_of
from sync.register.return_years import in_force
from sync.report.document import register_document
from sync.report.permit import Made, return_page, return_text, returns_json, returns_of


def permit(
    folder: Folder,
    name: Annotated[str | None, typer.Argument(
        metavar="PERMIT", help="Only this permit, as permits.toml names it.")] = None,
    year: Annotated[int | None, typer.Option(
        metavar="Y", min=1900, max=2999,
        help="The permit year that starts in this year; the running one if left out.")] = None,
    known_by: KnownBy = None,
    on: On = None,
    as_json: Annotated[bool, typer.Option("--json", help="As JSON, for machines.")] = False,
    as_html: Annotated[bool, typer.Option(
        "--html", help="As a page (HTML, A4) with the map of what was picked.")] = False,
    filed: Annotated[bool, typer.Option(
        "--filed", help="Write down that this return was filed, with the sum of its JSON; a copy "
        "stays in the folder's reports.")] = False,
    by: Annotated[str | None, typer.Option(
        metavar="CODE", help="Person code of who filed it; the owner if left out.")] = None,
    out: Annotated[Path | None, typer.Option(help="Write to a file.")] = None,
) -> None:
    """Write the return to the authority: taken, area, rest, share kept, notice, closures."""
    _refuse_odd(as_json, as_html, filed, by, on)
    began, until, day = now(), time_of(known_by), day_of(on)
    if filed:
        until = _not_to_come(until or began, began)
    inputs = load_inputs(folder, known_by=until)
    asked = day or today_in(inputs.block, until or began)
    with progress_console().status("working out the return"):
        made = returns_of(inputs, _wanted(inputs.block, name, year, asked), asked=asked)
    if filed:
        say_unknown(by, (one.code for one in inputs.block.people))
        for one in made:
            _file(folder, one, inputs.block, by, until or began)
    result(_said(made, as_json, as_html), out)


def _refuse_odd(
    as_json: bool, as_html: bool, filed: bool, by: str | None, on: str | None
) -> None:
    if as_json and as_html:
        raise typer.BadParameter("say one of --json, --html")
    if by is not None and not filed:
        raise typer.BadParameter("--by says who filed a return: say --filed too")
    if on is not None and filed:
        raise typer.BadParameter("--on: a return is filed of its whole year, or as far as that "
                                 "has come; leave out --on")


def _not_to_come(known_by: datetime, began: datetime) -> datetime:
    if known_by > began:
        raise typer.BadParameter("--known-by: that time is still to come; nobody can know by "
                                 "then what will have come in")
    return known_until(known_by)


def _wanted(
    block: Block, name: str | None, year: int | None, asked: date
) -> list[tuple[Permit, int]]:
    """Choose the permits, each with the year that is told."""
    if not block.permits:
        raise FallowError("permits.toml: this block has no permit, so there is no return to make")
    named = [one for one in block.permits if name in {None, one.name}]
    if not named:
        names = ", ".join(dict.fromkeys(one.name for one in block.permits))
        raise FallowError(f"permit {name!r}: permits.toml names none so; there are: {names}")
    years = [(one, permit_year(one, asked)[0].year if year is None else year) for one in named]
    held = [(one, of) for one, of in years if in_force(one, of)]
    if not held:
        raise FallowError("; ".join(_not_in_force(one, of) for one, of in years))
    begun = [(one, of) for one, of in held if year_of(one, of)[0] <= asked]
    if not begun:
        raise FallowError("; ".join(
            f"permit {one.name}: its year {of} begins on {year_of(one, of)[0]}, after {asked}; "
            "there is nothing to tell yet" for one, of in held))
    return begun


def _not_in_force(one: Permit, year: int) -> str:
    since, until = one.since or "ever", one.until or "further notice"
    return (f"permit {one.name} is in force from {since} until {until}, on no day of its year "
            f"{year}; say --year")


def _file(folder: Path, made: Made, block: Block, by: str | None, known_by: datetime) -> None:
    document = made.document
    what = f"{document['permit']['permit']}, year {document['year']['from'][:4]}"
    owners = [one.code for one in block.people if one.role == "owner"]
    filing = file_return(folder, made, by=by or (owners[0] if owners else "O"),
                         known_by=known_by, now=now())
    if filing.copy is None:
        say(f"{what}: filed already on {document['filed']['at']} as {filing.record} with the same "
            "figures; nothing was written")
        return
    if filing.before is not None:
        say(f"{what}: {filing.before} of {document['filed']['at']} said otherwise; the last "
            "filed counts")
    if not document["year"]["over"]:
        say(f"{what}: the permit year ends on {document['year']['to']}; file it again if more is "
            "picked")
    say(f"{what}: filed as {filing.record}; the copy is {filing.copy}")


def _said(made: list[Made], as_json: bool, as_html: bool) -> str:
    documents = [one.document for one in made]
    if as_json:
        return returns_json(documents)
    if as_html:
        return return_page([(one.document, one.register,
                             register_document(one.register, one.flags)) for one in made])
    return "\n\n".join(return_text(one) for one in documents)
