"""`fallow lifts`: what waits on piles, how many bags a sling, how many lifts, what it costs."""

from pathlib import Path
from typing import Annotated

import typer

from sync.block import MOST_HOOK_KG
from sync.cli.intake import Folder
from sync.cli.registers import KnownBy, On
from sync.cli.shown import REFUSED, day_of, end, now, progress_console, result, say, time_of
from sync.disk.forms import new_form_id
from sync.disk.load import load_inputs, today_in
from sync.errors import FallowError
from sync.plan.lifts.plan import plan_lifts
from sync.plan.lifts.values import LiftPlan, Pile
from sync.register.build import Register, build
from sync.report.lifts.files import lifts_csv, lifts_json
from sync.report.lifts.form import lifts_form
from sync.report.lifts.page import lifts_page
from sync.report.lifts.standing import hazards_marked, piles_waiting
from sync.report.lifts.text import lifts_text


def lifts(
    folder: Folder,
    limit_kg: Annotated[float | None, typer.Option(
        "--limit-kg", metavar="KG", help="What the hook may carry; block.toml's if left out."
    )] = None,
    pile: Annotated[list[str] | None, typer.Option(
        "--pile", metavar="LABEL", help="Only this pile; again for more.")] = None,
    on: On = None,
    known_by: KnownBy = None,
    as_json: Annotated[bool, typer.Option("--json", help="As JSON, for machines.")] = False,
    as_csv: Annotated[bool, typer.Option("--csv", help="A line a lift, for a sheet.")] = False,
    as_html: Annotated[bool, typer.Option(
        "--html", help="As a page: cards to print and tick.")] = False,
    form: Annotated[Path | None, typer.Option(
        "--form", metavar="FILE", help="Also write the batch form, filled in: strike out what did "
        "not fly, write who noted it, and take it."
    )] = None,
    out: Annotated[Path | None, typer.Option(help="Write to a file.")] = None,
) -> None:
    """Plan the lifts of the piles: bags a sling by the hook's limit, cards to tick, cost."""
    if as_json + as_csv + as_html > 1:
        raise typer.BadParameter("say one of --json, --csv, --html")
    if form is not None and form.exists():
        raise typer.BadParameter(f"{form} is there already; it may be filled in")
    if limit_kg is not None and not 0.0 < limit_kg <= MOST_HOOK_KG:
        raise typer.BadParameter(
            f"--limit-kg {limit_kg:g}: above 0, at most {MOST_HOOK_KG:,.0f} kg")
    inputs = load_inputs(folder, known_by=time_of(known_by))
    with progress_console().status("working out the lifts"):
        register = build(inputs, on=day_of(on) or today_in(inputs.block, now()))
        plan = plan_lifts(register, _asked(register, pile or []), hazards_marked(register),
                          limit_kg=limit_kg)
    if form is not None:
        result(lifts_form(plan, form_id=new_form_id(folder)), form)
    write = (lifts_json if as_json else lifts_csv if as_csv else lifts_page if as_html
             else lifts_text)
    result(write(plan), out)
    _end_of(plan)


def _asked(register: Register, labels: list[str]) -> tuple[Pile, ...]:
    piles = piles_waiting(register)
    waiting = {one.label for one in piles}
    for label in labels:
        if label not in waiting:
            raise FallowError(
                f"pile {label!r}: no bag waits there on {register.on}; bags wait on: "
                f"{', '.join(sorted(waiting)) or 'none'}")
    return tuple(one for one in piles if not labels or one.label in labels)


def _end_of(plan: LiftPlan) -> None:
    """End with 1 where some pile has no sling: then not all that was asked is told."""
    without = [one.pile.label for one in plan.piles if not one.sling]
    if without:
        say(f"no sling for {len(without)} of {len(plan.piles)} piles: {', '.join(without)}")
        end(REFUSED)
