"""`fallow trial`: does a treatment help? Pairs drawn by a coin, and what became of them."""

import secrets
import textwrap
from pathlib import Path
from typing import Annotated

import typer

from sync.block import TrialDraw
from sync.cli.intake import Folder
from sync.cli.registers import On, built
from sync.cli.shown import day_of, result, say
from sync.cli.tables import text_table
from sync.disk.trials import add_draw
from sync.errors import FallowError
from sync.plan.pairs import Wish, by_trial, draw_trial
from sync.plan.trial import TrialSeen, trial_seen
from sync.report.trials import trial_head, trial_table, trial_verdict

TREATMENTS = ("scrub_cut", "rolled", "slash_stacked", "reseeded", "drain_blocked", "sprayed",
              "driven")
_NEW = "new"
_SEEDS = 2**31
_LONGEST_NAME = 40
_WIDE = 100


def trial(
    folder: Folder,
    words: Annotated[list[str] | None, typer.Argument(
        metavar="[new] [NAME]", help="A trial to show, or new and a name to draw one."
    )] = None,
    treatment: Annotated[str | None, typer.Option(
        help=f"What one cell of each pair gets: {', '.join(TREATMENTS)}."
    )] = None,
    pairs: Annotated[int | None, typer.Option(min=1, max=500, help="How many to draw.")] = None,
    cells: Annotated[str | None, typer.Option(
        metavar="A01,B02,…", help="Draw among these cells only."
    )] = None,
    ground_class: Annotated[list[str] | None, typer.Option(
        "--class", help="Draw in this ground class only; may be said again."
    )] = None,
    seed: Annotated[int | None, typer.Option(
        min=0, help="Of the coins; made up and kept if left out."
    )] = None,
    more: Annotated[bool, typer.Option(
        "--more", help="Add pairs to a trial that is there already."
    )] = False,
    matters: Annotated[float | None, typer.Option(
        help="The difference that matters, L/m²; the block's setting if left out."
    )] = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Draw and keep nothing.")] = False,
    on: On = None,
    out: Annotated[Path | None, typer.Option(help="Write to a file.")] = None,
) -> None:
    """Draw pairs of like cells, treat one of each, and see what the treatment did."""
    asked = list(words or [])
    if matters is not None and not 0.0 < matters < 1000.0:
        raise typer.BadParameter(f"--matters {matters!r}: write L/m² above 0 and under 1000")
    if asked[:1] == [_NEW]:
        wish = _wish(asked[1:], treatment, pairs, cells, ground_class)
        _draw(folder, wish, seed, on, more=more, dry_run=dry_run, out=out)
        return
    given = {"--treatment": treatment, "--pairs": pairs, "--cells": cells, "--seed": seed,
             "--class": ground_class or None, "--more": more or None, "--dry-run": dry_run or None}
    wrong = [name for name, value in given.items() if value is not None]
    if wrong:
        raise typer.BadParameter(f"{wrong[0]} goes with a new draw: fallow trial DIR new NAME")
    if len(asked) > 1:
        raise typer.BadParameter(f"{' '.join(asked)!r}: name one trial, or say new NAME")
    _show(folder, asked[0] if asked else None, matters, on, out)


def _wish(
    names: list[str], treatment: str | None, pairs: int | None, cells: str | None,
    classes: list[str] | None,
) -> Wish:
    if len(names) != 1 or names[0] == _NEW or not names[0].strip():
        raise typer.BadParameter("say new and one name, such as: new rolling")
    if len(names[0]) > _LONGEST_NAME:
        raise typer.BadParameter(f"{names[0]!r}: a name has {_LONGEST_NAME} letters at most")
    if treatment not in TREATMENTS:
        raise typer.BadParameter(f"--treatment {treatment!r}: say one of {', '.join(TREATMENTS)}")
    if pairs is None:
        raise typer.BadParameter("--pairs is missing: how many pairs are to be drawn?")
    among = tuple(dict.fromkeys(one.strip().upper() for one in (cells or "").split(",")
                                if one.strip()))
    return Wish(names[0], treatment, pairs, among, tuple(classes or ()))


def _draw(
    folder: Path, wish: Wish, seed: int | None, on: str | None, *, more: bool, dry_run: bool,
    out: Path | None,
) -> None:
    found, _, _ = built(folder, day_of(on), None)
    there = any(draw.trial == wish.trial for draw in found.block.trials)
    if there and not more:
        raise FallowError(f"trial {wish.trial!r} is there already and is never drawn again; add "
                          "pairs with --more, or choose another name")
    if more and not there:
        raise FallowError(f"trial {wish.trial!r}: there is none to add to; leave --more out")
    made = draw_trial(found, wish, seed=secrets.randbelow(_SEEDS) if seed is None else seed)
    if not dry_run:
        add_draw(folder, made)
    result("\n".join(_drawn(made)), out)
    say("not kept: --dry-run" if dry_run else
        f"kept in {folder / 'trials.json'}; the phone's WORK DONE has no room for a trial's name: "
        f"type the work in at the shed with trial {wish.trial}")


def _drawn(made: TrialDraw) -> list[str]:
    head = ("treat", "leave alone", "class", "index L/m²", "index L/m²")
    rows = [(p.treated, p.other, p.ground_class, f"{p.treated_l_m2:.1f}", f"{p.other_l_m2:.1f}")
            for p in made.pairs]
    return [
        (f"Trial {made.trial}: {made.treatment.replace('_', ' ')}; {len(made.pairs)} "
         f"pair{'' if len(made.pairs) == 1 else 's'} drawn on {made.drawn_on.isoformat()}, seed "
         f"{made.seed}"),
        *text_table(head, rows, left=frozenset({0, 1, 2})),
        "Treat the left one of each pair and leave the right one alone until both are read again.",
        "Read both before, and again at about the same times; a pegged plot tells most.",
    ]


def _show(
    folder: Path, name: str | None, matters: float | None, on: str | None, out: Path | None
) -> None:
    found, _, _ = built(folder, day_of(on), None)
    trials = by_trial(found.block.trials)
    if name is not None and name not in trials:
        raise FallowError(f"trial {name!r}: there is none; there are: "
                          f"{', '.join(trials) or 'none'}; draw one: fallow trial DIR new NAME")
    if not trials:
        result("No trial was drawn yet. Draw one with: fallow trial DIR new NAME --treatment "
               "rolled --pairs 6", out)
        return
    shown = [trial_seen(found, draws, matters_l_m2=matters)
             for one, draws in trials.items() if name in (None, one)]
    parts = [_lines(seen) for seen in shown]
    result("\n\n".join("\n".join(part) for part in parts), out)
    say(f"as of {found.on}; L/m² of solid moss (mm)")


def _lines(seen: TrialSeen) -> list[str]:
    if not seen.pairs:
        return [*trial_head(seen), "Nothing was drawn by that day."]
    table = trial_table(seen)
    return [*trial_head(seen), *text_table(table.columns, table.rows, left=table.left),
            *(part for line in trial_verdict(seen) for part in textwrap.wrap(line, _WIDE))]
