"""The command `fallow`: one function a word; results to stdout, the rest to stderr.

Rule 1: exit 0 done, 1 something refused or set aside, 2 wrong usage or settings, 3 could not.
Rule 2: nothing is worked out here; a command joins the disk with the stages.
"""

import sys

import typer

from sync.cli import (
    blocks,
    condition,
    day,
    intake,
    lifts,
    lots,
    pay,
    people,
    permit,
    phone,
    plots,
    recovery,
    registers,
    seasons,
    shed,
    shown,
    thinning,
    trial,
    why,
)
from sync.cli.rubbish import look_seldom

app = typer.Typer(
    name="fallow",
    help="Wild sphagnum moss, picked by hand: tally in the swamp, register at the shed.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
app.command("demo")(blocks.demo)
app.command("new")(blocks.new)
app.command("pair")(blocks.pair_phone)
app.command("take")(intake.take)
app.command("aside")(intake.aside)
app.command("form")(intake.form)
app.command("ground")(blocks.ground)
app.command("waypoints")(people.waypoints)
app.command("plots")(plots.plots)
app.command("mine")(people.mine)
app.command("field")(phone.field)
app.command("register")(registers.register)
app.command("why")(why.why)
app.command("rule")(registers.rule)
app.command("day")(day.day)
app.command("pay")(pay.pay)
app.command("permit")(permit.permit)
app.command("report")(registers.report)
app.command("seasons")(seasons.seasons)
app.command("lifts")(lifts.lifts)
app.command("lots")(lots.lots)
app.command("recovery")(recovery.recovery)
app.command("condition")(condition.condition)
app.command("trial")(trial.trial)
app.command("thin")(thinning.thin)
app.command("shed")(shed.shed)


def main() -> None:
    """Run the command and end with the exit code of what went wrong, if anything did."""
    look_seldom(for_hours=False)
    sys.exit(shown.run(app))
