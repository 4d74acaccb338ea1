"""A plan of seasons as rows, lines, CSV and JSON.

Rule 1: it shows the plan and works nothing out; figures are rounded here.
Rule 2: a table has a column a season up to eight, beyond that a row a season.
"""

import csv
import io
import json
from collections.abc import Mapping
from typing import Any

from sync.plan.seasons import Planned, Season, SeasonPlan
from sync.report.rounding import rounded
from sync.report.table import Shown

#: More seasons than this do not fit beside each other in 100 columns.
MOST_COLUMNS = 8
#: Behind the kg of a pick that asks for a survey first.
MEASURE_FIRST = "m"
_NONE = "–"


def cell_table(plan: SeasonPlan) -> Shown:
    """Give the cells that are picked, a column a season.

    Parameters
    ----------
    plan : SeasonPlan
        Of at most `MOST_COLUMNS` seasons.

    Returns
    -------
    Shown
        kg; an m behind those that must be measured first; then the sums, their range, what was
        picked before, and what is left of each cap, in t.
    """
    names = [str(one.span.season) for one in plan.seasons]
    by_cell: dict[str, dict[int, Planned]] = {}
    for pick in plan.picks:
        by_cell.setdefault(pick.cell, {})[pick.season] = pick
    order = sorted(by_cell, key=lambda cell: (min(by_cell[cell]), list(by_cell).index(cell)))
    rows = [
        (cell, next(iter(by_cell[cell].values())).ground_class,
         *(_kg(by_cell[cell].get(one.span.season)) for one in plan.seasons))
        for cell in order
    ]
    rows += [(name, "", *values) for name, values in sum_rows(plan)]
    return Shown(("cell", "class", *names), tuple(rows), frozenset({0, 1}))


def plan_table(plan: SeasonPlan) -> Shown:
    """Give the picks: a row a cell up to `MOST_COLUMNS` seasons, beyond that a row a season."""
    if len(plan.seasons) <= MOST_COLUMNS:
        return cell_table(plan)
    return Shown(("season", "sum t", "90 % t", f"cells, kg ({MEASURE_FIRST} = measure first)"),
                 tuple(season_rows(plan)), frozenset({0, 3}))


def plan_lines(plan: SeasonPlan, name: str) -> tuple[list[str], list[str]]:
    """Give the lines before and after the table, those of a clash among the first.

    Parameters
    ----------
    plan : SeasonPlan
        Of a register.
    name : str
        The block's.
    """
    asked = "; ".join(wishes_words(plan).values())
    before = [*head_lines(plan, name), *([f"Asked: {asked}."] if asked else []), *plan.clash]
    drawn = plan.status in {"optimal", "limit"}
    if drawn and not plan.picks:
        before.append("Nothing can be picked in these seasons by what is known.")
    return before, foot_lines(plan) if drawn else []


def sum_rows(plan: SeasonPlan) -> list[tuple[str, tuple[str, ...]]]:
    """Give the rows of sums: their name, and a value for each season."""
    seasons = plan.seasons
    rows = [("sum t", tuple(_t(one.planned.kg) for one in seasons)),
            ("90 % t", tuple(_range(one) for one in seasons))]
    if any(one.already_kg for one in seasons):
        rows.append(("before t", tuple(_t(one.already_kg) if one.already_kg else ""
                                       for one in seasons)))
    permits = list(dict.fromkeys(cap.permit for one in seasons for cap, _ in one.caps))
    rows += [("cap t" if len(permits) == 1 else f"cap {name} t",
              tuple(_cap(one, name) for one in seasons)) for name in permits]
    return rows


def season_rows(plan: SeasonPlan) -> list[tuple[str, str, str, str]]:
    """Give a row a season: its name, sum and range in t, and its cells with kg."""
    return [
        (str(one.span.season), _t(one.planned.kg), _range(one),
         ", ".join(f"{p.cell} {_kg(p)}" for p in plan.picks if p.season == one.span.season)
         or _NONE)
        for one in plan.seasons
    ]


def head_lines(plan: SeasonPlan, name: str) -> list[str]:
    """Say what the plan is of, and by which rules; a line each."""
    first, last = plan.seasons[0].span, plan.seasons[-1].span
    return [
        (f"{name}: seasons {first.season} to {last.season}, by what is known on {plan.on}; "
         f"season {last.season} ends {last.last}"),
        _solved(plan), *_differs(plan),
    ]


def _solved(plan: SeasonPlan) -> str:
    asked = f"within {_pct(plan.gap_wanted)} of the best, {plan.limit_s:g} s at most"
    if plan.status == "infeasible":
        return "No plan keeps all these rules."
    if plan.status == "nothing":
        return f"No plan was found in {plan.limit_s:g} s: give the solver more time (--limit-s)."
    gap = _pct(plan.gap or 0.0)
    if plan.status == "limit":
        return (f"The time limit of {plan.limit_s:g} s was hit: another plan may be better by "
                f"{gap} at most.")
    return f"Solved ({asked}): no other plan is better by more than {gap}."


def _differs(plan: SeasonPlan) -> list[str]:
    """Say of a plan searched for in turns that the next run may give another."""
    if not plan.in_turns or plan.gap is None:
        return []
    return [("So many cells are searched in turns cut off by time: another run may give another "
             f"plan, none better than this by more than {_pct(plan.gap)}.")]


def _pct(share: float) -> str:
    return f"{100.0 * share:.2g} %"


def foot_lines(plan: SeasonPlan) -> list[str]:
    """Say what a reader has to know of the plan, and what it leaves out; a line each."""
    lines = []
    if any(pick.measure_first for pick in plan.picks):
        lines.append(f"{MEASURE_FIRST} = measure first: a cell gets one pick on a forecast, and "
                     "the next only on a survey.")
    if plan.picks:
        lines.append("90 %: what the same picks would give if crop and growth were known, with "
                     "the errors that cells share.")
    by_permit = {cap.permit: cap for one in plan.seasons for cap, _ in one.caps}
    lines += [f"cap: what permit {cap.permit} leaves of its year from {cap.first:%m-%d}; a season "
              "counts for the year in which its middle lies, so what is picked before that day "
              "comes off the year before." for cap in by_permit.values()]
    lines += [f"The cap of permit {name} cannot be had in kg from the records; it is left out."
              for name in plan.untold_caps]
    if plan.without_permit:
        lines.append("No permit is in force in the middle of season "
                     + ", ".join(str(one) for one in plan.without_permit)
                     + ": nothing is planned there.")
    return lines + _idle_lines(plan)


def _idle_lines(plan: SeasonPlan) -> list[str]:
    if plan.status in {"infeasible", "nothing"}:
        return []
    lines = []
    by_why: dict[str, list[str]] = {}
    for cell, why in plan.idle.items():
        by_why.setdefault(why, []).append(cell)
    for why, cells in by_why.items():
        if why == "unsurveyed":
            kg = sum(plan.could_open_kg.values())
            lines.append(f"not planned, {len(cells)} cells nobody measured: a survey would open "
                         f"about {kg / 1000:.1f} t a pick, by their class's values "
                         "(--with-unsurveyed counts them from the second season on)")
        else:
            lines.append(f"not planned, {why}: {_few(cells)}")
    return lines


def _few(cells: list[str]) -> str:
    shown = ", ".join(cells[:12])
    return shown if len(cells) <= 12 else f"{shown} and {len(cells) - 12} more"


def _kg(pick: Planned | None) -> str:
    if pick is None:
        return ""
    return f"{rounded(pick.kg, 1):,.0f}{MEASURE_FIRST if pick.measure_first else ''}"


def _t(kg: float) -> str:
    return f"{kg / 1000:.1f}"


def _range(season: Season) -> str:
    if season.planned.kg <= 0.0:
        return _NONE
    return f"{_t(season.planned.low_kg)}–{_t(season.planned.high_kg)}"


def _cap(season: Season, permit: str) -> str:
    return next((_t(cap.kg) for cap, _ in season.caps if cap.permit == permit), _NONE)


def plan_document(plan: SeasonPlan) -> dict[str, Any]:
    """Give the plan as plain values.

    Parameters
    ----------
    plan : SeasonPlan
        Of a register.

    Returns
    -------
    dict
        No key is left out; kg to 1, shares as computed.
    """
    wishes = plan.wishes
    return {
        "seasons_plan": 1, "on": plan.on.isoformat(), "range_level": 0.90,
        "asked": {
            "seasons": wishes.seasons, "even_pct": wishes.even_pct,
            "at_least_t": wishes.at_least_t, "no_neighbours": wishes.no_neighbours,
            "fixed": [{"cell": cell, "season": season} for cell, season in wishes.fixed],
            "never": list(wishes.never), "with_unsurveyed": wishes.with_unsurveyed,
            "least_kg": wishes.least_kg, "gap": plan.gap_wanted, "limit_s": plan.limit_s,
        },
        "status": plan.status, "gap": plan.gap, "in_turns": plan.in_turns,
        "clash": list(plan.clash),
        "seasons": [_season(one) for one in plan.seasons],
        "picks": [pick_row(one) for one in plan.picks],
        "not_planned": [{"cell": cell, "why": why} for cell, why in plan.idle.items()],
        "survey_would_open_kg": rounded(sum(plan.could_open_kg.values()), 1),
        "caps_left_out": list(plan.untold_caps), "without_permit": list(plan.without_permit),
    }


def _season(one: Season) -> dict[str, Any]:
    return {
        "season": one.span.season, "from": one.span.first.isoformat(),
        "to": one.span.last.isoformat(), "picked_before_kg": rounded(one.already_kg, 1),
        "planned_kg": {"value": rounded(one.planned.kg, 1), "low": rounded(one.planned.low_kg, 1),
                       "high": rounded(one.planned.high_kg, 1)},
        "caps": [{"permit": cap.permit, "from": cap.first.isoformat(),
                  "left_kg": rounded(cap.kg, 1), "planned_kg": rounded(kg, 1)}
                 for cap, kg in one.caps],
    }


def pick_row(pick: Planned) -> dict[str, Any]:
    """Give a pick as a row of plain values."""
    return {
        "season": pick.season, "cell": pick.cell, "ground_class": pick.ground_class,
        "from": pick.day.isoformat(), "kg": rounded(pick.kg, 1),
        "measure_first": pick.measure_first, "unsurveyed": pick.unsurveyed,
    }


def plan_json(plan: SeasonPlan) -> str:
    """Write the plan as JSON, with a line end."""
    return json.dumps(plan_document(plan), ensure_ascii=False, indent=1) + "\n"


def plan_csv(plan: SeasonPlan) -> str:
    """Write one line a pick (RFC 4180), lines ended by CR LF."""
    out = io.StringIO()
    fields = ["season", "cell", "ground_class", "from", "kg", "measure_first", "unsurveyed"]
    writer = csv.DictWriter(out, fieldnames=fields, lineterminator="\r\n")
    writer.writeheader()
    for pick in plan.picks:
        writer.writerow({key: _field(value) for key, value in pick_row(pick).items()})
    return out.getvalue()


def _field(value: Any) -> Any:
    return str(value).lower() if isinstance(value, bool) else value


def wishes_words(plan: SeasonPlan) -> Mapping[str, str]:
    """Give the wishes in words, by name; only those that were asked."""
    wishes = plan.wishes
    said: dict[str, str] = {}
    if wishes.even_pct is not None:
        said["even"] = f"every season within {wishes.even_pct:g} % of their mean"
    if wishes.at_least_t is not None:
        said["at_least"] = f"at least {wishes.at_least_t:g} t a season"
    if wishes.no_neighbours:
        said["no_neighbours"] = "no two neighbours in one season"
    if wishes.fixed:
        said["fixed"] = "fixed: " + ", ".join(f"{cell} in {season}"
                                              for cell, season in wishes.fixed)
    if wishes.never:
        said["never"] = "never: " + ", ".join(wishes.never)
    if wishes.with_unsurveyed:
        said["with_unsurveyed"] = "cells nobody measured count by their class from the second on"
    return said
