"""The return as a page: A4 in grey, with the map of what was picked; nothing to press.

Rule 1: whatever people typed is escaped; nobody is named.
Rule 2: several permits have a page each.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from markupsafe import Markup

from sync.register.build import Register
from sync.report.map import MAP_CSS, block_map, map_key
from sync.report.map_words import day_words
from sync.report.page_css import REPORT_CSS, foot_css
from sync.report.page_template import PAGE
from sync.report.permit.facts import facts, pick_table
from sync.report.permit.heads import head_lines, made_line, title
from sync.report.template import page_environment

#: A return with its register and the register's document, which its map shows.
Printed = tuple[Mapping[str, Any], Register, Mapping[str, Any]]

_BODY = """{% for one in returns %}<section class="report return">
<h2>{{ one.title }}</h2>
{% for line in one.head %}<p>{{ line }}</p>
{% endfor %}<dl>
{% for name, said in one.facts %}<dt>{{ name }}</dt>{% for text in said %}<dd>{{ text }}</dd>
{% endfor %}{% endfor %}</dl>
{% if one.table.rows %}<h3>Picks of the year</h3>
<div class="wide" role="region" aria-label="Picks of the year" tabindex="0"><table class="cells">
<thead><tr>{% for head in one.table.columns %}<th scope="col"
{%- if loop.index0 not in one.table.left %} class="n"{% endif %}>{{ head }}</th>{% endfor %}
</tr></thead>
<tbody>
{% for row in one.table.rows %}<tr>{% for text in row -%}
{% if loop.first %}<th scope="row">{{ text }}</th>
{%- else %}<td{% if loop.index0 not in one.table.left %} class="n"{% endif %}>{{ text }}</td>
{%- endif %}{% endfor %}</tr>
{% endfor %}</tbody></table></div>
{% endif %}<h3>Map of {{ one.on }}</h3>
<div class="figure"><div class="wide" role="region" aria-label="Map" tabindex="0">
{{ one.map }}
</div>
<ul class="key">{% for line in one.key %}<li>{{ line.swatch }} {{ line.name }} {{ line.count }}\
</li>
{% endfor %}</ul>
<p>A double border marks a cell that was picked in the year; the number in it is kg shed-dry.</p>
</div>
<p class="said">{{ one.made }}</p>
</section>
{% endfor %}
"""
#: Beside the style sheets of report and map.
RETURN_CSS = """
.return dd { grid-column: 2; overflow-wrap: anywhere; }
.return h2 { margin-top: .6rem; }
@media (max-width: 30rem) { .return dd { grid-column: 1; } }
@media print {
  .return + .return { break-before: page; }
  .return { font-size: 8.5pt; } .return p { margin: .8mm 0; }
  .return h2 { font-size: 12pt; margin: 1mm 0; } .return h3 { margin: 2mm 0 1mm; }
  .return dl { break-inside: auto; } .return .key { font-size: 7.5pt; margin: 1mm 0; }
  .return .figure .map:not(.swatch) { max-height: 82mm; }
  .return .said { font-size: 7pt; }
}
"""


def return_body(returns: Sequence[Printed]) -> Markup:
    """Write returns as a part of a page, without a style sheet.

    Parameters
    ----------
    returns : sequence of (mapping, Register, mapping)
        Each return with the register of its day and that register's document; one or more.

    Returns
    -------
    Markup
        A section each; `RETURN_CSS`, the report's and the map's style sheets say its looks.
    """
    return Markup(page_environment().from_string(_BODY).render(
        returns=[_shown(i, *one) for i, one in enumerate(returns, 1)]))


def return_page(returns: Sequence[Printed]) -> str:
    """Write returns as one HTML file.

    Parameters
    ----------
    returns : sequence of (mapping, Register, mapping)
        As for `return_body`.

    Returns
    -------
    str
        HTML, complete; the same bytes for the same returns.
    """
    block = returns[0][0]["block"]
    name = f"{block}: return to the authority"
    foot = ", ".join(dict.fromkeys(
        f"{one['permit']['permit']} {one['year']['from'][:4]}" for one, _, _ in returns))
    return page_environment().from_string(PAGE).render(
        lang="en", name=name, title=name, body=return_body(returns),
        css=Markup(REPORT_CSS + MAP_CSS + RETURN_CSS + foot_css(block, foot)))


def _shown(
    number: int, document: Mapping[str, Any], register: Register, ground: Mapping[str, Any]
) -> dict[str, Any]:
    kg: dict[str, int] = {}
    for one in document["picked"]["picks"]:
        kg[one["cell"]] = kg.get(one["cell"], 0) + one["kg"]["value"]
    return {
        "title": title(document), "head": head_lines(document), "facts": facts(document),
        "table": pick_table(document), "on": day_words(document["on"]),
        "made": made_line(document),
        "map": block_map(register, ground, prefix=f"return{number}",
                         printed={cell: f"{value}" for cell, value in kg.items()}),
        "key": map_key(ground),
    }
