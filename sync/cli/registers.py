"""`fallow register`, `report` and `rule`: what follows from the records."""

import io
from datetime import date, datetime
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.console import Console
from rich.table import Table

from fieldapp.record import stamp
from sync.cli.intake import Folder
from sync.cli.planning import planned
from sync.cli.shown import (
    WIDE,
    console,
    day_of,
    now,
    progress_console,
    result,
    say,
    say_unknown,
    time_of,
)
from sync.disk.journal import ShedJournal
from sync.disk.load import load_inputs, today_in
from sync.disk.register_file import keep_register
from sync.errors import FallowError
from sync.flags.flag import Flag
from sync.flags.raised import RULES, flags_of
from sync.plan.seasons import GAP, LIMIT_S
from sync.plan.wishes import Wishes
from sync.register.build import Register, build
from sync.register.doubts import doubts_of
from sync.report.csv_rows import register_csv
from sync.report.document import register_document, register_json
from sync.report.geojson import register_geojson
from sync.report.land import Rates, land_page
from sync.report.map_layers import LAYERS
from sync.report.map_words import NUMBERS
from sync.report.page import report_page
from sync.report.table import block_lines, register_table

On = Annotated[str | None, typer.Option(
    "--on", metavar="DAY", help="The day asked about; today in the block's zone if left out."
)]
KnownBy = Annotated[str | None, typer.Option(
    "--known-by", metavar="TIME", help="Leave out what arrived later."
)]

#: Columns that the whole table takes.
_FULL_WIDTH = 120


def built(
    folder: Path, on: date | None, known_by: datetime | None
) -> tuple[Register, tuple[Flag, ...], dict[str, Any]]:
    """Build the register of a block folder.

    Parameters
    ----------
    folder : Path
        The block folder.
    on : date or None
        The day asked about; None is today in the block's zone.
    known_by : datetime or None
        Leave out what arrived later, UTC.

    Returns
    -------
    register : Register
        At full precision.
    flags : tuple of Flag
        By name.
    document : dict
        As `--json` prints it.
    """
    with progress_console().status("working out the register"):
        inputs = load_inputs(folder, known_by=known_by)
        register = build(inputs, on=on or today_in(inputs.block, now()))
        flags = flags_of(register)
        return register, flags, register_document(register, flags)


def register(
    folder: Folder,
    on: On = None,
    known_by: KnownBy = None,
    as_json: Annotated[bool, typer.Option("--json", help="As JSON, for machines.")] = False,
    as_csv: Annotated[bool, typer.Option("--csv", help="A line a cell, for a sheet.")] = False,
    as_geojson: Annotated[bool, typer.Option("--geojson", help="As a map (RFC 7946).")] = False,
    out: Annotated[Path | None, typer.Option(help="Write to a file.")] = None,
) -> None:
    """Work out the block register: crop, sustainable-harvest %, may take, rest, flags."""
    if as_json + as_csv + as_geojson > 1:
        raise typer.BadParameter("say one of --json, --csv, --geojson")
    day, until = day_of(on), time_of(known_by)
    found, flags, document = built(folder, day, until)
    if day is None and until is None:
        keep_register(folder, document)
    if as_json:
        result(register_json(document), out)
    elif as_csv:
        result(register_csv(document), out)
    elif as_geojson:
        result(register_geojson(document, found), out)
    else:
        show(document, flags, found, out)


def show(
    document: dict[str, Any], flags: tuple[Flag, ...], found: Register, out: Path | None = None
) -> None:
    """Draw a register on the terminal, or into a file: block, cells, flags, what waits."""
    if out is not None:
        drawn = io.StringIO()
        _draw(Console(file=drawn, highlight=False, width=WIDE), document, flags, found)
        result(drawn.getvalue(), out)
    else:
        _draw(console(), document, flags, found)


def _draw(
    terminal: Console, document: dict[str, Any], flags: tuple[Flag, ...], found: Register
) -> None:
    for line in block_lines(document):
        terminal.print(line, markup=False, soft_wrap=True)
    shown = register_table(document, narrow=terminal.width < _FULL_WIDTH)
    table = Table(box=None, pad_edge=False, header_style="")
    for i, column in enumerate(shown.columns):
        table.add_column(column, justify="left" if i in shown.left else "right", no_wrap=True)
    for row in shown.rows:
        table.add_row(*row)
    terminal.print(table)
    for line in (*flag_lines(flags), *waiting_lines(found)):
        terminal.print(line, markup=False, soft_wrap=True)


def waiting_lines(found: Register) -> list[str]:
    """Say which clips and quadrats count for nothing yet, and what the data doubt."""
    lines = [f"clip {label} waits: {why}" for label, why in sorted(found.waiting.items())]
    lines += [f"doubt: {one.what}" for one in doubts_of(found)]
    return lines + [f"quadrat {name} counts nowhere: no plot, cell or place of it is known"
                    for name in found.nowhere]


def flag_lines(flags: tuple[Flag, ...]) -> list[str]:
    """Say each flag in a line, early picks first: how sure, its name, why, what was ruled."""
    order = [one.__name__ for one in RULES]
    lines = [f"{len(flags)} flag{'' if len(flags) == 1 else 's'}"]
    for flag in sorted(flags, key=lambda flag: (order.index(flag.rule), flag.name)):
        ruled = ""
        if flag.ruling is not None:
            stands = "" if flag.ruling.stands else ", but it has changed since: open again"
            ruled = f" (ruled {flag.ruling.says}{stands})"
        lines.append(f"{flag.how_sure:8} {flag.name}{ruled}: {flag.why}")
    return lines


def report(
    folder: Folder,
    on: On = None,
    known_by: KnownBy = None,
    land: Annotated[bool, typer.Option(
        "--land", help="One side of A4 for a landowner or a council instead: yield, earnings, "
        "work, rest, water, scrub, what was never touched."
    )] = False,
    numbers: Annotated[str, typer.Option(
        help=f"Printed in the cells of the map: {', '.join(NUMBERS)}."
    )] = "none",
    seasons: Annotated[int | None, typer.Option(
        metavar="N", help="Which cells in which of N seasons to come, as fallow seasons says it."
    )] = None,
    layer: Annotated[list[str] | None, typer.Option(
        help=f"Another map besides that of the states: {', '.join(LAYERS)}; may be said again."
    )] = None,
    out: Annotated[Path | None, typer.Option(help="Write to a file.")] = None,
) -> None:
    """Write the report: one HTML page for a council, a landowner or a file."""
    number = next((one for one in NUMBERS if one == numbers), None)
    if number is None:
        raise typer.BadParameter(f"--numbers {numbers!r}: say one of {', '.join(NUMBERS)}")
    wrong = [one for one in layer or () if one not in LAYERS and one != "state"]
    if wrong:
        raise typer.BadParameter(f"--layer {wrong[0]!r}: say one of state, {', '.join(LAYERS)}")
    layers = [one for one in LAYERS if one in (layer or ())]
    if land and seasons is not None:
        raise typer.BadParameter("--seasons is for the whole report, not for --land")
    if land and (number != "none" or layers):
        raise typer.BadParameter("--numbers and --layer are for the whole report, not for --land")
    found, _, document = built(folder, day_of(on), time_of(known_by))
    made_on = today_in(found.block, now())
    if land:
        costs = found.block.costs
        rates = Rates(costs.currency, costs.sell_per_kg, costs.picking_per_kg)
        result(land_page(found, document, doubts_of(found), rates=rates, made_on=made_on), out)
        return
    plan = None if seasons is None else planned(
        found, Wishes(seasons), gap=GAP, limit_s=LIMIT_S)
    result(report_page(found, document, doubts_of(found), number=number, layers=layers,
                       seasons=plan, made_on=made_on), out)


def rule(
    folder: Folder,
    flag: Annotated[str, typer.Argument(help="Name of a flag, such as early_pick:C08:2025.")],
    says: Annotated[str, typer.Argument(
        help="upheld (it happened and was wrong), not_so (it did not happen) or agreed "
        "(it happened and was permitted)."
    )],
    note: Annotated[str | None, typer.Option(help="Why, in a few words.")] = None,
    by: Annotated[str | None, typer.Option(
        metavar="CODE", help="Person code of who rules; the owner if left out.")] = None,
    on: On = None,
) -> None:
    """Rule on a flag; it moves no figure. For that, mend the record."""
    if says not in {"upheld", "not_so", "agreed"}:
        raise typer.BadParameter(f"{says!r}: say upheld, not_so or agreed")
    found, flags, document = built(folder, day_of(on), None)
    mine = [one for one in flags if one.name == flag]
    if not mine:
        names = ", ".join(one.name for one in flags) or "none"
        raise FallowError(f"flag {flag!r}: no such flag on {found.on}; there are: {names}")
    say_unknown(by, (one.code for one in found.block.people))
    owners = [p.code for p in found.block.people if p.role == "owner"]
    figures = next(row["figures"] for row in document["flags"] if row["name"] == flag)
    fields = {
        "kind": "ruling", "at": stamp(now()), "person": by or (owners[0] if owners else "O"),
        "where": None, "flag": flag, "says": says, "seen": mine[0].seen, "figures": figures,
    }
    if note is not None:
        fields["note"] = note
    with ShedJournal(folder) as journal:
        name = journal.write_down([fields], arrived=now())[0]
    say(f"{flag} ruled {says}, as {name}")
