"""The report's page: one file, no script, no picture from elsewhere, plain on paper in grey."""

PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{{ block.name }}: block register on {{ on }}</title>
<style>
:root { --ink: #1a1a1a; --line: #888; --soft: #eee; }
body { font: 1rem/1.45 system-ui, sans-serif; color: var(--ink); background: #fff;
  max-width: 62rem; margin: 1rem auto; padding: 0 1rem; }
h1 { font-size: 1.5rem; } h2 { font-size: 1.15rem; margin-top: 1.6rem; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; font-size: .9rem; }
caption { text-align: left; padding: .2rem 0; }
th, td { border-bottom: 1px solid var(--line); padding: .2rem .45rem; text-align: left;
  vertical-align: top; }
thead th { background: var(--soft); }
td.n, th.n { text-align: right; white-space: nowrap; }
td.long { min-width: 18rem; }
table.cells td { white-space: nowrap; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: .15rem 1rem; }
dt { font-weight: 600; } dd { margin: 0; }
@media (max-width: 30rem) { dl { grid-template-columns: 1fr; } }
@media print { @page { size: A4; margin: 14mm; } body { max-width: none; font-size: 9.5pt; }
  .wide { overflow: visible; } table { font-size: 8pt; } table.cells { font-size: 7.5pt; }
  th, td { padding: .1rem .25rem; } th.n { white-space: normal; } td.long { min-width: 55mm; }
  tr { break-inside: avoid; } thead { display: table-header-group; } }
</style>
</head>
<body>
<main>
<h1>{{ block.name }}</h1>
<p>Block register on {{ on }}{% if known_by %}, by what was known at {{ known_by }}{% endif %}.
All weights are shed-dry; a range holds the truth nine times in ten where the assumptions hold.</p>

<h2>The block</h2>
<dl>
{% for one in totals %}<dt>{{ one.name }}</dt><dd>{{ one.said }}</dd>
{% endfor %}</dl>

{% if doubts %}<h2>What the data themselves doubt</h2>
<ul>
{% for one in doubts %}<li>{{ one }}.</li>
{% endfor %}</ul>
{% endif %}
<h2>Ground classes by their sample</h2>
<p>A second opinion beside the register: rested ground only, nothing borrowed unless it says
so.</p>
<div class="wide" role="region" aria-label="Ground classes" tabindex="0"><table>
<thead><tr><th scope="col">class</th><th scope="col" class="n">cells</th>
<th scope="col" class="n">open ha</th><th scope="col" class="n">quadrats n′</th>
<th scope="col" class="n">clips n</th><th scope="col" class="n">mean index L/m²</th>
<th scope="col" class="n">rested crop t/ha</th><th scope="col">estimator and why</th></tr></thead>
<tbody>
{% for row in classes %}<tr><th scope="row">{{ row.name }}</th><td class="n">{{ row.cells }}</td>
<td class="n">{{ row.open_ha }}</td><td class="n">{{ row.quadrats }}</td>
<td class="n">{{ row.clips }}</td><td class="n">{{ row.index }}</td>
<td class="n">{{ row.crop }}</td><td class="long">{{ row.why }}</td></tr>
{% endfor %}</tbody></table></div>

<h2>Flags</h2>
{% if flags %}<div class="wide" role="region" aria-label="Flags" tabindex="0"><table>
<thead><tr><th scope="col">flag</th><th scope="col">how sure</th><th scope="col">what was seen</th>
<th scope="col">ruling</th></tr></thead>
<tbody>
{% for flag in flags %}<tr><th scope="row">{{ flag.name }}</th><td>{{ flag.how_sure }}</td>
<td class="long">{{ flag.why }}</td><td>{{ flag.ruling }}</td></tr>
{% endfor %}</tbody></table></div>
{% else %}<p>None.</p>
{% endif %}
<h2>Cells</h2>
<div class="wide" role="region" aria-label="Cells" tabindex="0"><table class="cells">
<thead><tr>{% for head in cells.columns %}<th scope="col"{% if not loop.index0 in cells.left %}
 class="n"{% endif %}>{{ head }}</th>{% endfor %}</tr></thead>
<tbody>
{% for row in cells.rows %}<tr>{% for one in row %}<td{% if not loop.index0 in cells.left %}
 class="n"{% endif %}>{{ one }}</td>{% endfor %}</tr>
{% endfor %}</tbody></table></div>

<h2>How the figures were got</h2>
<ul>
{% for one in how %}<li>{{ one }}</li>
{% endfor %}</ul>
<p>Made of block {{ sums.block[:12] }}, settings {{ sums.settings[:12] }}, records
{{ sums.records[:12] }}, program {{ sums.program }}: the same four give the same figures.</p>
</main>
</body>
</html>
"""
