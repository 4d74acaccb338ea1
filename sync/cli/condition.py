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
from sync.plan.pairs import by_trial
from sync.plan.trial import trial_seen
from sync.plan.upkeep import upkeep_of
from sync.report.condition import (
    LEVELS,
    class_condition_table,
    condition_table,
    work_table,
    work_words,
)
from sync.report.table import Shown
from sync.report.upkeep import upkeep_table, upkeep_words

_WIDE = 100
_NOTHING = ("No plot was read for scrub or water in two surveys yet: peg some, and read them "
            "again.")


def condition(
    folder: Folder,
    on: On = None,
    known_by: KnownBy = None,
    out: Annotated[Path | None, typer.Option(help="Write to a file.")] = None,
) -> None:
    """Tell where scrub spreads and ground dries, by plots read again, what work did and took."""
    register, flags, _ = built(folder, day_of(on), time_of(known_by))
    found = condition_of(register)
    lines = [(f"Condition of {register.block.name} by {register.on.isoformat()}: scrub in % of "
              "the ground,"),
             "water table in mm, negative below the moss; change from first to latest reading"]
    if found.cells:
        lines += ["", *_text(condition_table(found)), *_wrapped([LEVELS]), "",
                  *_text(class_condition_table(found))]
    else:
        lines += ["", _NOTHING]
    for rule, said in (("scrub_spreading", "Scrub spreads in"), ("drying", "Drying")):
        cells = [flag.about for flag in flags if flag.rule == rule]
        lines.append(f"{said}: {', '.join(cells) or 'no cell that was read again'}")
    if found.works:
        lines += ["", *_text(work_table(found))]
    lines += _wrapped(work_words(found))
    if found.works:
        trials = [trial_seen(register, draws)
                  for draws in by_trial(register.block.trials).values()]
        took = upkeep_of(register, found, trials)
        sums = upkeep_table(took, season_start=register.block.season_start)
        lines += ["", *_text(sums), *_wrapped(upkeep_words(took))]
    result("\n".join(lines), out)
    say(f"as of {register.on}")


def _wrapped(lines: list[str]) -> list[str]:
    return [part for line in lines for part in textwrap.wrap(line, _WIDE)]


def _text(shown: Shown) -> list[str]:
    return text_table(shown.columns, shown.rows, left=shown.left)
