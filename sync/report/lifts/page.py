"""Cards of lifts to print and tick, on A4 in grey: safety on top, then piles, cards, machine.

Rule 1: whatever people typed is escaped; no script, nothing from elsewhere.
Rule 2: nothing on paper depends on colour.
"""

from typing import Any

from markupsafe import Markup

from sync.plan.lifts.values import LiftPlan
from sync.report.lifts.fetch import driven_lines, fetch_lines, fetch_rows
from sync.report.lifts.form import from_words
from sync.report.lifts.rows import card_rows, pile_rows
from sync.report.lifts.text import cost_lines
from sync.report.lifts.told import RECORD, SAFETY, basis_lines, head_line, warning_lines
from sync.report.page_css import REPORT_CSS, foot_css
from sync.report.plots_table import Rows
from sync.report.template import page_environment

_CSS = """
.report .safety { border: 2px solid #000; padding: .4rem .6rem; font-weight: 600; }
.report .mind { border-left: 5px solid #000; padding-left: .6rem; }
.report td.write { min-width: 4.5rem; border-left: 1px solid #888; }
.report td.box { font-size: 1.4rem; line-height: 1; }
.report .batches tbody tr { height: 2.2rem; }
@media print { .report td.write { min-width: 16mm; } .report .batches tbody tr { height: 8mm; }
  .report h1 { font-size: 13pt; } }
"""
_PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{{ title }}</title>
<style>{{ css }}</style>
</head>
<body class="report-page">
<main class="report">
{% macro table(name, rows, write=(), kind="") %}
<div class="wide" role="region" aria-label="{{ name }}" tabindex="0">
<table{% if kind %} class="{{ kind }}"{% endif %}>
<thead><tr>{% for head in rows.columns %}<th scope="col">{{ head }}</th>{% endfor %}
{% for head in write %}<th scope="col">{{ head }}</th>{% endfor %}</tr></thead>
<tbody>
{% for row in rows.rows %}<tr>{% for one in row %}<td>{{ one }}</td>{% endfor %}
{% for head in write %}<td class="write"></td>{% endfor %}</tr>
{% endfor %}</tbody></table></div>
{% endmacro %}
<h1>{{ head }}</h1>
{% if piles.rows %}
<p class="safety">{{ safety }}</p>
{% for line in basis %}<p>{{ line }}</p>
{% endfor %}
{% for line in warnings %}<p class="mind">{{ line }}</p>
{% endfor %}
{{ table("Piles", piles) }}
{% for line in costs %}<p>{{ line }}</p>
{% endfor %}
{% if cards.rows %}<h2>Lifts, in order</h2>
{{ table("Lifts", cards, ("bags flown", "wet kg, hook"), "batches") }}
<p>{{ record }}</p>
{% endif %}
<h2>By air or by machine</h2>
{{ table("By air or by machine", fetch) }}
{% for line in ways %}<p>{{ line }}</p>
{% endfor %}
{% endif %}
</main>
</body>
</html>
"""


def lifts_page(plan: LiftPlan) -> str:
    """Write the cards of a day as a page that needs nothing else.

    Parameters
    ----------
    plan : LiftPlan
        Whole.

    Returns
    -------
    str
        HTML.
    """
    return page_environment().from_string(_PAGE).render(
        title=f"{plan.register.block.name}, lifts of {plan.on}",
        css=Markup(REPORT_CSS + _CSS + foot_css(plan.register.block.name, f"lifts of {plan.on}")),
        **_told(plan))


def _told(plan: LiftPlan) -> dict[str, Any]:
    return {
        "head": head_line(plan), "safety": SAFETY, "record": RECORD,
        "basis": basis_lines(plan), "warnings": warning_lines(plan), "piles": pile_rows(plan),
        "costs": cost_lines(plan), "cards": _cards(plan), "fetch": fetch_rows(plan),
        "ways": [*fetch_lines(plan), *driven_lines(plan)],
    }


def _cards(plan: LiftPlan) -> Rows:
    """Give the cards with an empty box for the pen, and the pile as a form takes it."""
    rows = card_rows(plan)
    where = rows.columns.index("pile")
    return Rows(("done", *rows.columns[1:where], "from", *rows.columns[where + 1:]), rows.left,
                tuple(("☐", *row[1:where], from_words(row[where]), *row[where + 1:])
                      for row in rows.rows))
