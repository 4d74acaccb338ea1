"""`fallow day`: the evening at the shed, in two minutes."""

import dataclasses
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Annotated

import typer

from sync.cli.intake import Folder
from sync.cli.registers import KnownBy, On
from sync.cli.shown import day_of, now, progress_console, result, time_of
from sync.disk.intake_log import files_in
from sync.disk.journal import ShedJournal
from sync.disk.keys import load_phones
from sync.disk.load import load_inputs, today_in
from sync.flags.raised import flags_of
from sync.register.build import build
from sync.report.arrivals import Arrived, arrived_between
from sync.report.day import Evening, PhoneKept, day_of_block, span_of_day
from sync.report.day_text import day_lines


def day(
    folder: Folder,
    on: On = None,
    known_by: KnownBy = None,
    out: Annotated[Path | None, typer.Option(help="Write to a file.")] = None,
) -> None:
    """Tell the evening of a day: who is not back, what came in, what is missing, bags, cells."""
    with progress_console().status("working out the day"):
        evening = _evening(folder, day_of(on), time_of(known_by))
        lines = day_lines(day_of_block(evening), evening)
    result("\n".join(lines), out)


def _evening(folder: Path, on: date | None, known_by: datetime | None) -> Evening:
    inputs = load_inputs(folder, known_by=known_by)
    time_now = now()
    today = today_in(inputs.block, time_now)
    on = today if on is None else on
    if on > today:
        raise typer.BadParameter(f"--on {on.isoformat()} is a day to come; today is {today}")
    try:
        begins, ends = span_of_day(inputs.block, on)
    except ValueError as wrong:
        raise typer.BadParameter(f"--on {wrong}") from None
    at = min(ends, time_now, known_by or time_now)
    with ShedJournal(folder) as journal:
        arrivals = journal.arrivals()
        then = min(begins, at)
        held, waiting = journal.held(then), journal.waiting(then)
    arrived: Arrived = arrived_between(files_in(folder), arrivals, begins, max(begins, at))
    register = build(inputs, on=on)
    return Evening(
        register, flags_of(register),
        build(dataclasses.replace(inputs, held=held, aside=waiting, known_by=begins), on=on),
        build(inputs, on=on + timedelta(days=1)), arrived,
        tuple(PhoneKept(one.phone, one.device) for one in load_phones(folder)
              if one.standing == "paired"), at)
