"""`fallow lots`: where the bags of a season went, its lots, and which ground gives clean moss."""

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from sync.cli.intake import Folder
from sync.cli.registers import KnownBy, On
from sync.cli.shown import day_of, now, progress_console, result, say, time_of
from sync.disk.load import load_inputs, today_in
from sync.errors import FallowError
from sync.picks.ledger.trace import LotTold
from sync.plan.lots.season import LotsOfSeason, lots_of_season
from sync.register.build import build
from sync.report.lots.balances import balances_text
from sync.report.lots.files import lots_csv, lots_json
from sync.report.lots.one import lot_text
from sync.report.lots.text import later_lines, lots_text

#: Common practice, no source.
_PURE_PCT = 95.0


class By(StrEnum):
    """What has a line in the table of balances."""

    PILE = "pile"
    DAY = "day"


def lots(
    folder: Folder,
    lot: Annotated[str | None, typer.Argument(
        help="The label of a lot: its whole trace.", show_default=False)] = None,
    season: Annotated[int | None, typer.Option(
        metavar="YEAR", min=1900, max=2999,
        help="The year it starts in; the last with a lot if left out.")] = None,
    purity: Annotated[float, typer.Option(
        metavar="PCT", help="The clean moss asked for, % of all that is dried.")] = _PURE_PCT,
    by: Annotated[By | None, typer.Option(
        help="Where the season's bags are, a line a pile or a day.")] = None,
    on: On = None,
    known_by: KnownBy = None,
    as_csv: Annotated[bool, typer.Option("--csv", help="A line a lot, for a sheet.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="As JSON, for machines.")] = False,
    out: Annotated[Path | None, typer.Option(help="Write to a file.")] = None,
) -> None:
    """Tell where bags went, the lots and what they were made of, and which ground is clean."""
    if as_csv and as_json:
        raise typer.BadParameter("say one of --csv, --json")
    if lot is not None and (as_csv or as_json):
        raise typer.BadParameter("a lot's trace is text; --csv and --json give all lots whole")
    if by is not None and (lot is not None or as_csv or as_json):
        raise typer.BadParameter("--by is a table of text of a whole season; --json gives both")
    if not 0.0 < purity <= 100.0:
        raise typer.BadParameter(f"--purity {purity:g}: above 0, at most 100 %")
    inputs = load_inputs(folder, known_by=time_of(known_by))
    with progress_console().status("following the bags"):
        register = build(inputs, on=day_of(on) or today_in(inputs.block, now()))
        told = lots_of_season(register, season, pure_pct=purity)
        if lot is not None and season is None:
            told = _season_of(lot, told)
    if lot is not None:
        text = lot_text(told, _asked(lot, told))
    elif by is not None:
        text = balances_text(told, by.value)
    else:
        text = (lots_csv if as_csv else lots_json if as_json else lots_text)(told)
    result(text, out)
    if season is None and lot is None:
        for line in later_lines(told):
            say(line)


def _season_of(label: str, told: LotsOfSeason) -> LotsOfSeason:
    """Give the last season that has a lot of a label; the same where none has."""
    seasons = [one.season for one in told.all_lots if one.label == label]
    if not seasons or max(seasons) == told.season:
        return told
    return lots_of_season(told.register, max(seasons), pure_pct=told.pure_pct)


def _asked(label: str, told: LotsOfSeason) -> LotTold:
    found = [one for one in told.lots if one.label == label]
    if not found:
        known = ", ".join(one.label for one in told.lots) or "none"
        raise FallowError(f"lot {label!r}: there is none on {told.register.on}; lots of the "
                          f"season of {told.season}: {known}")
    return found[-1]
