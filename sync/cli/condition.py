"""`fallow condition`: scrub, water, and the work done about them."""

import textwrap
from pathlib import Path
from typing import Annotated

import typer

from sync.cli.intake import Folder
from sync.cli.registers import KnownBy, On, built
from sync.cli.shown import day_of, result, say, time_of
from sync.cli.tables import text_table
from sync.plan.condition import condition_of
from sync.report.condition import (
    class_condition_table,
    condition_table,
    work_table,
    work_words,
)
from sync.report.table import Shown

_WIDE = 100
_NOTHING = ("No plot was read for scrub or water in two surveys yet: peg some, and read them "
            "again.")


def condition(
    folder: Folder,
    on: On = None,
    known_by: KnownBy = None,
    out: Annotated[Path | None, typer.Option(help="Write to a file.")] = None,
) -> None:
    """Tell where scrub spreads and ground dries, by plots read again, and what followed work."""
    register, flags, _ = built(folder, day_of(on), time_of(known_by))
    found = condition_of(register)
    lines = [(f"Condition of {register.block.name} by {register.on.isoformat()}: scrub in % of "
              "the ground,"),
             "water table in mm, negative below the moss; change from first to latest reading"]
    if found.cells:
        lines += ["", *_text(condition_table(found)), "", *_text(class_condition_table(found))]
    else:
        lines += ["", _NOTHING]
    for rule, said in (("scrub_spreading", "Scrub spreads in"), ("drying", "Drying")):
        cells = [flag.about for flag in flags if flag.rule == rule]
        lines.append(f"{said}: {', '.join(cells) or 'no cell that was read again'}")
    if found.works:
        lines += ["", *_text(work_table(found))]
    lines += [part for line in work_words(found) for part in textwrap.wrap(line, _WIDE)]
    result("\n".join(lines), out)
    say(f"as of {register.on}")


def _text(shown: Shown) -> list[str]:
    return text_table(shown.columns, shown.rows, left=shown.left)
