"""Sheets to print: for each surveyor and day the plots in walking order, with room to write.

Rule 1: whatever people typed is escaped; no script, nothing from elsewhere.
Rule 2: each walk begins a page of its own, and says the cautions.
"""

import itertools
import math
from collections.abc import Iterator
from typing import Any

from markupsafe import Markup

from sync.plan.plots.draw import Draw, Walk
from sync.report.page_css import REPORT_CSS
from sync.report.plots_file import place_deg
from sync.report.plots_map import walk_map
from sync.report.template import page_environment

CAUTIONS = (
    ("Tell somebody where you go and until when; test on the site how you would call for help. "
    "This sheet calls nobody."),
    "Soft ground: probe before you step. Near pools stay in sight of each other. Stop when cold.",
    "A plot that is unsafe is left out: note why, and read a spare of its cell.",
    "The way drawn is a proposal on a map: go around what is wet or unsafe. Local codes hold.",
)
_HOW = ("Lay the frame at your boot where the receiver says the plot is, not on nicer moss. Cover "
        "in %, depths in mm of sound strand. A pool or scrub without moss is a reading too.")
_SHEET_CSS = """
.report .walk { break-after: page; } .report .walk:last-child { break-after: auto; }
.report td.write { min-width: 3.2rem; height: 1.7rem; border-left: 1px solid #888; }
.report .walkmap { width: 100%; max-height: 24rem; border: 1px solid #888; }
.report .cautions { border: 2px solid #000; padding: .4rem .6rem .4rem 1.6rem; }
@media print { .report .walkmap { max-height: 85mm; } .report h1 { font-size: 13pt; } }
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
{% for walk in walks %}<section class="walk">
<h1>{{ title }}: surveyor {{ walk.surveyor }}, day {{ walk.day }}</h1>
<p>{{ walk.told }}</p>
{{ walk.map }}
<ul class="cautions">
{% for one in cautions %}<li>{{ one }}</li>
{% endfor %}</ul>
<p>{{ how }}</p>
<div class="wide" role="region" aria-label="Plots" tabindex="0"><table>
<thead><tr><th scope="col">plot</th><th scope="col">cell</th><th scope="col">class</th>
<th scope="col" class="n">m</th><th scope="col" class="n">bearing</th>
<th scope="col">lat, lon</th><th scope="col">cover</th><th scope="col">depths</th>
<th scope="col">not seen, why</th></tr></thead>
<tbody>
{% for row in walk.rows %}<tr><th scope="row">{{ row.plot }}</th><td>{{ row.cell }}</td>
<td>{{ row.ground_class }}</td><td class="n">{{ row.metres }}</td>
<td class="n">{{ row.bearing }}</td><td>{{ row.place }}</td><td class="write"></td>
<td class="write"></td><td class="write"></td></tr>
{% endfor %}</tbody></table></div>
<p>Spares, only for a plot of their cell that cannot be seen:
{% for row in walk.spares %}{{ row.plot }} in {{ row.cell }} ({{ row.place }}){{ "; " if not
loop.last }}{% else %}none{% endfor %}.</p>
</section>
{% endfor %}</main>
</body>
</html>
"""


def draw_page(draw: Draw) -> str:
    """Write the sheets of a draw as a page that needs nothing else.

    Parameters
    ----------
    draw : Draw
        Whole.

    Returns
    -------
    str
        HTML; each surveyor's day on a page of its own.
    """
    return page_environment().from_string(_PAGE).render(
        title=f"{draw.register.block.name}, plots of {draw.register.on}",
        css=Markup(REPORT_CSS + _SHEET_CSS), cautions=CAUTIONS, how=_HOW,
        walks=[_walk(draw, walk) for walk in draw.walks],
    )


def _walk(draw: Draw, walk: Walk) -> dict[str, Any]:
    cells = {plot.cell for plot in walk.plots}
    return {
        "surveyor": walk.surveyor, "day": walk.day, "rows": list(_rows(draw, walk)),
        "map": walk_map(draw, walk),
        "told": f"{len(walk.plots)} plots in {len(cells)} cells, "
                f"{walk.length_m / 1000.0:.1f} km, about {walk.minutes / 60.0:.1f} h "
                f"{'from the gate and back' if draw.gate else 'from the first plot to the last'}.",
        "spares": [{"plot": p.name, "cell": p.cell, "place": _place(draw, p.at)}
                   for p in draw.plots if p.spare and p.cell in cells],
    }


def _rows(draw: Draw, walk: Walk) -> Iterator[dict[str, str]]:
    """Give a row a plot; metres along the way, bearing of its first leg."""
    last = draw.gate
    classes = {cell.cell: cell.ground_class for cell in draw.cells}
    for plot, bends in zip(walk.plots, walk.bends, strict=False):
        name = plot.name + (", peg" if plot.pegged else ", again" if plot.old else "")
        row = {"plot": name, "cell": plot.cell, "ground_class": classes[plot.cell],
               "metres": "–", "bearing": "–", "place": _place(draw, plot.at)}
        if last is not None:
            way = [last, *bends, plot.at]
            metres = sum(math.dist(a, b) for a, b in itertools.pairwise(way))
            row["metres"] = f"{metres:.0f}"
            row["bearing"] = f"{_bearing(way[0], way[1]):.0f}°" + (" around" if bends else "")
        yield row
        last = plot.at


def _bearing(start: tuple[float, float], end: tuple[float, float]) -> float:
    """Give the grid bearing from one place to another, 0 to under 360. [deg]."""
    return round(math.degrees(math.atan2(end[0] - start[0], end[1] - start[1]))) % 360.0


def _place(draw: Draw, at: tuple[float, float]) -> str:
    lat, lon = place_deg(draw, at)
    return f"{lat:.6f}, {lon:.6f}"
