"""The page for a landowner or a council: one side of A4, plain words, nothing to press.

Rule 1: whatever people typed is escaped; nobody is named.
Rule 2: figures are the register's; the map is its map.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from markupsafe import Markup

from sync.register.build import Register
from sync.register.doubts import Doubt
from sync.register.land import land_of
from sync.report.land.kept import kept_facts, open_questions
from sync.report.land.money import Rates
from sync.report.land.yields import yield_facts
from sync.report.map import MAP_CSS, block_map, map_key
from sync.report.map_words import day_words
from sync.report.page_css import REPORT_CSS, foot_css
from sync.report.page_flags import sentence
from sync.report.page_template import PAGE
from sync.report.template import page_environment

_BODY = """<div class="report land">
<p>{{ under }}</p>
<div class="land-map">{{ map }}
<ul class="key">{% for one in key %}<li>{{ one.swatch }} {{ one.name }} {{ one.count }}</li>
{% endfor %}</ul></div>
{% for head, facts in parts %}<h2>{{ head }}</h2>
<dl>
{% for one in facts %}<dt>{{ one.name }}</dt><dd>{{ one.said }}</dd>
{% endfor %}</dl>
{% endfor %}
<h2>What is not known</h2>
<ul>
{% for one in unknown %}<li>{{ one }}</li>
{% endfor %}</ul>
<p class="said">{{ made }}</p>
</div>
"""
LAND_CSS = """
.land-map { float: right; width: 21rem; margin: 0 0 .6rem 1rem; }
.land .land-map .map:not(.swatch) { width: 100%; height: auto; min-width: 0; }
.land .land-map .key { font-size: .8rem; gap: .1rem .8rem; margin: .2rem 0; }
.land dl { grid-template-columns: max-content 1fr; } .land h2 { clear: none; }
@media (max-width: 40rem) { .land-map { float: none; width: auto; margin: 0; } }
@media print {
  .report-page { font-size: 8.5pt; line-height: 1.3; }
  .report-page h1 { font-size: 14pt; margin: 0 0 1mm; }
  .land h2 { font-size: 10.5pt; margin: 2.5mm 0 .8mm; } .land p { margin: .8mm 0; }
  .land dl { display: block; break-inside: auto; } .land dt { float: left; margin-right: 2mm; }
  .land dt::after { content: "."; } .land dd { margin: 0 0 .9mm; }
  .land ul:not(.key) { margin: 0; padding-left: 4mm; } .land .said { font-size: 7pt; }
  .land-map { width: 78mm; margin: 0 0 1mm 4mm; }
  .land .land-map .map:not(.swatch) { max-height: 82mm; }
  .land .land-map .key { font-size: 7pt; }
}
"""
_FIXED = (
    ("A range holds the truth nine times in ten where its assumptions hold. Not in the yearly "
    "range: that moss grows along an S-shaped curve, and what part of it is pickable."),
    "Nobody of the block watches what it does not note: a pick without a record is not here.",
)
_MOST_DOUBTS = 2


def land_page(
    register: Register,
    document: Mapping[str, Any],
    doubts: Sequence[Doubt],
    *,
    rates: Rates | None = None,
    made_on: date | None = None,
) -> str:
    """Write the page.

    Parameters
    ----------
    register, document
        Of the day asked about.
    doubts : sequence of Doubt
        What the data say against the assumptions.
    rates : Rates or None
        The owner's price and cost; without them no earnings are told.
    made_on : date or None
        Told at the foot.

    Returns
    -------
    str
        HTML, complete; it prints on one side of A4.
    """
    land, name, day = land_of(register), register.block.name, day_words(document["on"])
    known = "" if document["known_by"] is None else (
        f", by what was known at {document['known_by']}")
    foot = f"register of {day}"
    if made_on is not None:
        foot += f" · made on {day_words(made_on.isoformat())}"
    sums = document["made_of"]
    body = page_environment().from_string(_BODY).render(
        under=(f"For the landowner and the council. Register of {day}{known}. Weights are dry: of "
               f"moss with {register.tunables.shed_moisture_pct:g} % water left in it."),
        map=block_map(register, document, prefix="land"), key=map_key(document),
        parts=(("What it yields", yield_facts(document, land, rates)),
               ("How it is kept", kept_facts(register, document, land))),
        unknown=(*(sentence(one) for one in open_questions(document)),
                 *(sentence(one.what) for one in doubts[:_MOST_DOUBTS]), *_FIXED),
        made=(f"Made of block {sums['block'][:12]}, settings {sums['settings'][:12]}, records "
              f"{sums['records'][:12]}, program {sums['program']}: the same four give the same "
              "page. Every figure can be traced to its records by the owner."))
    title = f"{name}: what the ground yields and how it is kept"
    return page_environment().from_string(PAGE).render(
        lang="en", name=title, title=title,
        css=Markup(REPORT_CSS + MAP_CSS + LAND_CSS + foot_css(name, foot)), body=Markup(body))
