"""A flag's page on paper: one side of A4 in grey, or within a page of the shed.

Rule 1: whatever people typed is escaped.
Rule 2: the body has no style and no script; the page by itself brings its style sheet along.
"""

from collections.abc import Mapping
from datetime import date

from markupsafe import Markup

from sync.report.flag_case.map import case_map
from sync.report.flag_case.parts import Dossier, say_day
from sync.report.flag_case.told import folio_of
from sync.report.map import MAP_CSS
from sync.report.page_css import REPORT_CSS, foot_css
from sync.report.page_template import PAGE
from sync.report.template import page_environment

_BODY = """<div class="report case">
<p>{{ folio.under }}.</p>
{% if map %}<div class="case-map">{{ map }}
<p class="said">{{ key }}</p></div>
{% endif %}
{% for section in folio.sections %}<h2>{{ section.head }}</h2>
{% for one in section.said %}<p>{{ one }}</p>
{% endfor %}
{% if section.table %}<div class="wide" role="region" aria-label="{{ section.head }}" tabindex="0">
<table><thead><tr>{% for head in section.table.columns %}<th scope="col"
{%- if loop.index0 not in section.table.left %} class="n"{% endif %}>{{ head }}</th>
{%- endfor %}</tr></thead>
<tbody>
{% for row in section.table.rows %}<tr>{% for one in row %}<td
{%- if loop.index0 not in section.table.left %} class="n"{% endif %}>{{ one }}</td>
{%- endfor %}</tr>
{% endfor %}</tbody></table></div>
{% endif %}
{% for one in section.after %}<p>{{ one }}</p>
{% endfor %}
{% endfor %}</div>
"""
_KEY = ("Dots are presses; a circle is the reach of a group's fix (68 %), its number that of the "
        "table; the broken line is the track within that time.")
#: What this page has beside the report's looks: smaller type, and a map that text runs round.
CASE_CSS = """
.case-map { float: right; width: 19rem; margin: 0 0 .6rem 1rem; }
.case .case-map .map { width: 100%; }
.case .wide { clear: both; }
@media (max-width: 40rem) { .case-map { float: none; width: auto; margin: 0; } }
@media print {
  .report-page { font-size: 8pt; line-height: 1.28; }
  .report-page h1 { font-size: 13pt; margin: 0 0 1mm; }
  .case h2 { font-size: 9.5pt; margin: 2mm 0 .5mm; } .case p { margin: .6mm 0; }
  .case table { font-size: 7.5pt; } .case .said { font-size: 7pt; }
  .case-map { width: 60mm; margin: 0 0 1mm 4mm; }
}
"""


def case_body(told: Dossier) -> Markup:
    """Write a flag's page without a page about it.

    Parameters
    ----------
    told : Dossier
        The case with its sheets.

    Returns
    -------
    Markup
        One `<div class="report case">`.
    """
    values: Mapping[str, object] = {"folio": folio_of(told), "map": case_map(told), "key": _KEY}
    return Markup(page_environment().from_string(_BODY).render(values))


def case_page(told: Dossier, *, made_on: date | None = None) -> str:
    """Write a flag's page, needing nothing else.

    Parameters
    ----------
    told : Dossier
        The case with its sheets.
    made_on : date or None
        Told at the foot.

    Returns
    -------
    str
        HTML, complete.
    """
    title, name = folio_of(told).title, told.register.block.name
    foot = f"register of {say_day(told.register.on)}"
    if made_on is not None:
        foot += f" · made on {say_day(made_on)}"
    return page_environment().from_string(PAGE).render(
        lang="en", name=title, title=f"{name}: {title}",
        css=Markup(REPORT_CSS + MAP_CSS + CASE_CSS + foot_css(name, foot)), body=case_body(told))
