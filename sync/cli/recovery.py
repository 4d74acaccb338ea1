"""`fallow recovery`: what regrew, and how fast moss really comes back."""

import textwrap
from pathlib import Path
from typing import Annotated

import typer

from sync.cli.intake import Folder
from sync.cli.registers import KnownBy, On, built
from sync.cli.shown import day_of, result, say, time_of
from sync.cli.tables import text_table
from sync.plan.recovery import recovery_of
from sync.report.recovery import recovery_table, recovery_words

_WIDE = 100


def recovery(
    folder: Folder,
    on: On = None,
    known_by: KnownBy = None,
    out: Annotated[Path | None, typer.Option(help="Write to a file.")] = None,
) -> None:
    """Set what was measured after picks against what was forecast, and tell the growth rate."""
    found, _, _ = built(folder, day_of(on), time_of(known_by))
    told = recovery_of(found)
    lines = [(f"What regrew on {found.block.name} by {found.on.isoformat()}; shed-dry kg, ± one "
             "standard deviation")]
    if told.cells:
        shown = recovery_table(told)
        lines += text_table(shown.columns, shown.rows, left=shown.left)
    if not all(one.teaches for one in told.cells):
        lines.append("* does not teach the growth rate: only drawn quadrats after a cell's first "
                     "pick of known kg do")
    for line in recovery_words(told, back_chance=found.tunables.back_chance):
        indent = "      " if line.startswith("  ") else ""
        lines += textwrap.wrap(line, _WIDE, subsequent_indent=indent)
    result("\n".join(lines), out)
    say(f"as of {found.on}")
