"""`fallow plots`: where to survey next."""

import secrets
from collections.abc import Callable
from pathlib import Path
from typing import Annotated

import numpy as np
import typer

import fieldapp
from sync.cli.intake import Folder
from sync.cli.registers import On, built
from sync.cli.shown import day_of, progress_console, result, say
from sync.disk.draws import keep_draw, plots_of, read_draws, refuse_twice
from sync.plan.plots.draw import Draw, draw_plots
from sync.plan.plots.known import walked_since
from sync.report.plots_file import draw_document
from sync.report.plots_gpx import draw_gpx
from sync.report.plots_page import draw_page
from sync.report.plots_table import (
    cell_rows,
    class_rows,
    head_lines,
    plain_table,
    walk_lines,
    walk_rows,
    worth_lines,
)

_SEEDS = 1_000_000


def plots(
    folder: Folder,
    surveyors: Annotated[int, typer.Option(min=1, max=20, help="People who lay quadrats.")],
    days: Annotated[int, typer.Option(min=1, max=100, help="Days each of them has.")],
    seed: Annotated[int | None, typer.Option(
        min=0, help="Of chance; the same seed draws the same. Made up and told if left out."
    )] = None,
    on: On = None,
    redraw: Annotated[bool, typer.Option(
        "--redraw", help="Replace the last draw, if nobody has walked any of it."
    )] = False,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Show, and write nothing.")] = False,
    gpx: Annotated[Path | None, typer.Option(
        "--gpx", metavar="FILE", help="Plots and walks for a handheld receiver."
    )] = None,
    html: Annotated[Path | None, typer.Option(
        "--html", metavar="FILE", help="A sheet to print for each surveyor and day."
    )] = None,
) -> None:
    """Draw where to survey next: cells, plots, walks, and what it is expected to buy."""
    found, _, _ = built(folder, day_of(on), None)
    draws = read_draws(folder)
    last = draws.standing()
    walked = walked_since(found, plots_of(last), last["drawn_on"]) if last is not None else ()
    replaced = refuse_twice(draws, walked, redraw=redraw)
    withdrawn = plots_of(draws.draws[replaced]) if replaced is not None else ()
    chosen = secrets.randbelow(_SEEDS) if seed is None else seed
    with progress_console().status("drawing plots"):
        drawn = draw_plots(found, surveyors, days, seed=chosen, streams=_streams(chosen),
                           withdrawn=withdrawn)
    # Files first: without them a kept draw has no walks. Kept before it is shown, for a reader of
    # the table may go away.
    if gpx is not None:
        result(draw_gpx(drawn, creator=f"Fallow {fieldapp.__version__}"), gpx)
    if html is not None:
        result(draw_page(drawn), html)
    if dry_run:
        say(f"nothing is kept; the same again: --seed {chosen}")
    else:
        path = keep_draw(folder, draws, draw_document(drawn), replaced=replaced, on=found.on)
        say(f"kept in {path}; the phones get it with their next ground sheet")
    _show(drawn)


def _streams(seed: int) -> Callable[[int], Callable[[], float]]:
    def stream(number: int) -> Callable[[], float]:
        return np.random.default_rng([seed, number]).random

    return stream


def _show(drawn: Draw) -> None:
    for lines in (
        head_lines(drawn), plain_table(class_rows(drawn)), worth_lines(drawn),
        plain_table(walk_rows(drawn)), walk_lines(drawn), plain_table(cell_rows(drawn)),
    ):
        for line in lines:
            typer.echo(line)
        typer.echo("")
