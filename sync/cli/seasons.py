"""`fallow seasons`: which cells in which year."""

import io
import re
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.table import Table

from sync.cli.intake import Folder
from sync.cli.planning import planned
from sync.cli.registers import KnownBy, On, built
from sync.cli.shown import REFUSED, day_of, end, result, say, time_of
from sync.plan.seasons import GAP, LIMIT_S, SeasonPlan
from sync.plan.wishes import Wishes
from sync.report.seasons_rows import (
    MOST_COLUMNS,
    cell_table,
    plan_csv,
    plan_json,
    plan_lines,
    season_rows,
)

#: The table fits a terminal of this many columns.
_WIDE = 100
_FIXED = re.compile(r"([A-Za-z]{1,2}[0-9]{2,3})=([0-9]{4})")


def seasons(
    folder: Folder,
    years: Annotated[int, typer.Option("--years", metavar="N", help="How many seasons.")] = 5,
    on: On = None,
    known_by: KnownBy = None,
    even: Annotated[float | None, typer.Option(
        metavar="PCT", help="Every season's yield within so many % of the mean of all."
    )] = None,
    at_least: Annotated[float | None, typer.Option(
        metavar="TONNES", help="Least yield of every season, t shed-dry."
    )] = None,
    no_neighbours: Annotated[bool, typer.Option(
        "--no-neighbours", help="No two cells that share a side in one season."
    )] = False,
    fix: Annotated[list[str] | None, typer.Option(
        metavar="CELL=YEAR", help="This cell in this season, such as C07=2029; again for more."
    )] = None,
    never: Annotated[list[str] | None, typer.Option(
        metavar="CELL", help="Leave this cell out; again for more."
    )] = None,
    with_unsurveyed: Annotated[bool, typer.Option(
        "--with-unsurveyed", help="Count cells nobody measured, from the second season on, by "
        "their class's values."
    )] = False,
    least_kg: Annotated[float, typer.Option(
        metavar="KG", help="Plan no smaller pick.")] = Wishes.least_kg,
    gap: Annotated[float, typer.Option(
        metavar="PCT", help="How far from the best plan is near enough, in %.")] = 100 * GAP,
    limit_s: Annotated[float, typer.Option(
        metavar="S", help="Longest time for the solver, in seconds.")] = LIMIT_S,
    as_json: Annotated[bool, typer.Option("--json", help="As JSON, for machines.")] = False,
    as_csv: Annotated[bool, typer.Option("--csv", help="A line a pick, for a sheet.")] = False,
    out: Annotated[Path | None, typer.Option(help="Write to a file.")] = None,
) -> None:
    """Plan which cells to pick in which season: most kg under rest, forecasts and permits."""
    if as_json and as_csv:
        raise typer.BadParameter("say one of --json, --csv")
    if not 0.0 <= gap < 100.0:
        raise typer.BadParameter(f"--gap {gap:g}: from 0 to under 100 %")
    if not 0.0 < limit_s <= 86_400.0:
        raise typer.BadParameter(f"--limit-s {limit_s:g}: above 0 s, at most a day")
    wishes = Wishes(
        years, even, at_least, no_neighbours, fixed_of(fix or []),
        tuple(cell.upper() for cell in never or ()), with_unsurveyed, least_kg,
    )
    found, _, _ = built(folder, day_of(on), time_of(known_by))
    plan = planned(found, wishes, gap=gap / 100.0, limit_s=limit_s)
    if as_json:
        result(plan_json(plan), out)
    elif as_csv:
        result(plan_csv(plan), out)
    else:
        result(_drawn(plan, found.block.name), out)
    if plan.status in {"infeasible", "nothing"}:
        for sentence in plan.clash if as_json or as_csv or out else ():
            say(sentence)
        end(REFUSED)


def fixed_of(said: list[str]) -> tuple[tuple[str, int], ...]:
    """Read what is fixed.

    Raises
    ------
    typer.BadParameter
        If one is no CELL=YEAR.
    """
    fixed = []
    for one in said:
        match = _FIXED.fullmatch(one.strip())
        if match is None:
            raise typer.BadParameter(f"--fix {one!r}: say it as C07=2029")
        fixed.append((match[1].upper(), int(match[2])))
    return tuple(fixed)


def _drawn(plan: SeasonPlan, name: str) -> str:
    drawn = io.StringIO()
    terminal = Console(file=drawn, highlight=False, width=_WIDE)
    before, after = plan_lines(plan, name)
    for line in before:
        terminal.print(line, markup=False)
    if plan.picks:
        terminal.print(_table(plan))
    for line in after:
        terminal.print(line, markup=False)
    return drawn.getvalue()


def _table(plan: SeasonPlan) -> Table:
    table = Table(box=None, pad_edge=False, header_style="", padding=(0, 1, 0, 0))
    if len(plan.seasons) > MOST_COLUMNS:
        for head in ("season", "sum t", "90 % t"):
            table.add_column(head, no_wrap=True, justify="left" if head == "season" else "right")
        table.add_column("cells, kg (m = measure first)", overflow="fold")
        for row in season_rows(plan):
            table.add_row(*row)
        return table
    shown = cell_table(plan)
    for i, column in enumerate(shown.columns):
        table.add_column(column, justify="left" if i in shown.left else "right", no_wrap=True)
    for cells in shown.rows:
        table.add_row(*cells)
    return table
