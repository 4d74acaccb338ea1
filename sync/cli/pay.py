"""`fallow pay`: bags by person and day, and a person's own sheet to sign."""

import io
from datetime import date
from pathlib import Path
from typing import Annotated
from zoneinfo import ZoneInfo

import typer
from rich.console import Console
from rich.table import Table

from fieldapp.device.files import write_safely
from sync.block import Block
from sync.cli.intake import Folder
from sync.cli.registers import KnownBy
from sync.cli.shown import day_of, now, progress_console, result, say, time_of
from sync.disk.load import load_inputs, today_in
from sync.errors import IntakeError
from sync.register.build import Register, build
from sync.report.day import span_of_day
from sync.report.pay import PersonDay, people_known, person_days
from sync.report.pay_rows import pay_csv, pay_notes, pay_table
from sync.report.pay_sheet import pay_sheet
from sync.shed.words import LANGUAGES, ShedWords

_WIDE = 100


def pay(
    folder: Folder,
    from_: Annotated[str, typer.Option("--from", metavar="DAY", help="The first day.")],
    to: Annotated[str, typer.Option("--to", metavar="DAY", help="The last day, counted too.")],
    person: Annotated[str | None, typer.Option(
        metavar="CODE", help="Only of this person code, such as MT.")] = None,
    known_by: KnownBy = None,
    as_csv: Annotated[bool, typer.Option(
        "--csv", help="A line a person and day, for a spreadsheet.")] = False,
    sheet: Annotated[bool, typer.Option(
        "--sheet", help="The person's own page to sign (HTML, A4); say --person.")] = False,
    language: Annotated[str | None, typer.Option(
        help="Of the sheet: en or es; the block's if left out.")] = None,
    out: Annotated[Path | None, typer.Option(
        help="Write to a file that only you may read, such as MT.html.")] = None,
) -> None:
    """Give bags by person and day, and kg where they were weighed, with the records behind."""
    _refuse_odd(sheet, as_csv, person, language)
    inputs = load_inputs(folder, known_by=time_of(known_by))
    first, last = _span(day_of(from_), day_of(to), inputs.block)
    with progress_console().status("adding up"):
        found = build(inputs, on=last)
    known = people_known(found)
    if person is not None and person not in known:
        raise IntakeError(f"person {person!r}: nobody of that code has a bag, and people.toml "
                          f"names none; there are: {', '.join(known) or 'none'}")
    days = tuple(one for one in person_days(found, inputs.aside, first, last)
                 if person in {None, one.person})
    if sheet:
        text = _sheet(found, days, person or "", (first, last), language)
    elif as_csv:
        text = pay_csv(days, found.block.zone)
    else:
        text = _table(found, days, (first, last))
    if out is None:
        result(text, None)
    else:
        write_safely(out, text.encode(), private=True)
        say(f"written to {out}")


def _refuse_odd(
    sheet: bool, as_csv: bool, person: str | None, language: str | None
) -> None:
    if sheet and as_csv:
        raise typer.BadParameter("say one of --sheet, --csv")
    if sheet and person is None:
        raise typer.BadParameter("--sheet is one person's: say whose by --person CODE")
    if language is not None and not sheet:
        raise typer.BadParameter("--language is of --sheet")
    if language is not None and language not in LANGUAGES:
        raise typer.BadParameter(f"--language {language!r}: say {' or '.join(LANGUAGES)}")


def _span(first: date | None, last: date | None, block: Block) -> tuple[date, date]:
    today = today_in(block, now())
    if first is None or last is None:
        raise typer.BadParameter("say --from DAY and --to DAY")
    if first > last:
        raise typer.BadParameter(f"--from {first} is after --to {last}")
    if last > today:
        raise typer.BadParameter(f"--to {last} is a day to come; today is {today}")
    for day in (first, last):
        try:
            span_of_day(block, day)
        except ValueError as wrong:
            raise typer.BadParameter(str(wrong)) from None
    return first, last


def _table(found: Register, days: tuple[PersonDay, ...], span: tuple[date, date]) -> str:
    drawn = io.StringIO()
    terminal = Console(file=drawn, highlight=False, width=_WIDE)
    terminal.print(f"{found.block.name}, bags of {span[0]} to {span[1]} by person and day",
                   markup=False)
    shown = pay_table(days)
    table = Table(box=None, pad_edge=False, header_style="")
    for i, column in enumerate(shown.columns):
        table.add_column(column, justify="left" if i in shown.left else "right", no_wrap=True)
    for row in shown.rows:
        table.add_row(*row)
    terminal.print(table)
    for line in pay_notes(days, found.block.zone):
        terminal.print(line, markup=False)
    return "\n".join(line.rstrip() for line in drawn.getvalue().splitlines())


def _sheet(
    found: Register, days: tuple[PersonDay, ...], person: str, span: tuple[date, date],
    language: str | None,
) -> str:
    words = ShedWords(language or found.block.lang, ZoneInfo(found.block.zone))
    return pay_sheet(found, days, person, *span, say=words, day_words=words.day,
                     number=words.number, lang=words.language)
