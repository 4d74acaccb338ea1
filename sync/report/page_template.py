"""The report's HTML: what stands in it, and the page about it that needs nothing else.

Rule 1: no script, no style within, no picture from elsewhere in the body, so that it may stand on
a page that forbids them.
"""

BODY = """<div class="report">
<p>{{ say("Block register of {block} on {day}.").format(block=block.name, day=day) }}
{% if known_by %}{{ say("By what was known at {time}.").format(time=known_by) }}
{% endif %}{{ say("All weights are shed-dry; a range holds the truth nine times in ten where the "
"assumptions hold.") }}</p>

<h2>{{ say("Map") }}</h2>
<div class="figure"><div class="wide" role="region" aria-label="{{ say("Map") }}" tabindex="0">
{{ map }}
</div>
<ul class="key">
{% for one in key %}<li>{{ one.swatch }} <b>{{ one.name }}</b> {{ one.count }}</li>
{% endfor %}</ul>
<p>{{ say("Figures in the key are numbers of cells. Black without a cross is closed ground in a "
"cell that is otherwise open. A cell too small for its name has it beside it.") }}
{% if number_words %}{{ say("Numbers in cells:") }} {{ number_words }}.{% endif %}</p></div>

{% for layer in layers %}<h2>{{ say("Map") }}: {{ layer.title }}</h2>
<div class="figure"><div class="wide" role="region" aria-label="{{ layer.title }}" tabindex="0">
{{ layer.map }}
</div>
<ul class="key">
{% for one in layer.key %}<li>{{ one.swatch }} <b>{{ one.name }}</b> {{ one.count }}</li>
{% endfor %}</ul>
<p>{{ layer.caption }} {{ say("Another map than that of the states: its patterns say nothing of "
"who may pick.") }}</p></div>

{% endfor %}
<h2>{{ say("The block") }}</h2>
<dl>
{% for one in totals %}<dt>{{ one.name }}</dt><dd>{{ one.said }}</dd>
{% endfor %}</dl>

{% if doubts %}<h2>{{ say("What the data themselves doubt") }}</h2>
<ul>
{% for one in doubts %}<li>{{ one }}</li>
{% endfor %}</ul>

{% endif %}
<h2>{{ say("Flags") }}</h2>
{% for flag in flags %}<article class="flag{{ " ruled" if flag.settled }}">
<h3>{{ flag.title }} · {% if flag.cell %}<a href="{{ href(flag.cell) }}">{{ flag.cell }}</a>
{% else %}{{ flag.about }}{% endif %}</h3>
<p>{{ flag.why }}</p>
<p>{{ say("How sure:") }} {{ flag.sure }}.</p>
<p><b>{{ say("Ruling:") }}</b> {{ flag.ruling or say("none yet.") }}</p>
<p class="said">{{ flag.name }}{% if flag.records %} · {{ flag.records }}{% endif %}</p>
</article>
{% else %}<p>{{ say("None.") }}</p>
{% endfor %}

<h2>{{ say("Cells") }}</h2>
<p>{{ say("A * after the state means that the last pick may lack something; a ! is an open flag "
"on the cell.") }}</p>
<div class="wide" role="region" aria-label="{{ say("Cells") }}" tabindex="0"><table class="cells">
<thead><tr>{% for head in cells.columns %}<th scope="col"{% if loop.index0 not in cells.left %}
 class="n"{% endif %}>{{ say(head) }}</th>{% endfor %}</tr></thead>
<tbody>
{% for row in cells.rows %}<tr id="{{ prefix }}-{{ row[0] }}">{% for one in row -%}
{% if loop.first %}<th scope="row">{% if linked %}<a href="{{ href(one) }}">{{ one }}</a>
{%- else %}{{ one }}{% endif %}</th>{% else %}<td{% if loop.index0 not in cells.left %}
 class="n"{% endif %}>{{ one }}</td>{% endif %}{% endfor %}</tr>
{% endfor %}</tbody></table></div>

<h2>{{ say("Ground classes by their sample") }}</h2>
<p>{{ say("A second opinion beside the register: rested ground only, nothing borrowed unless it "
"says so.") }}</p>
<div class="wide" role="region" aria-label="{{ say("Ground classes") }}" tabindex="0"><table>
<thead><tr><th scope="col">{{ say("class") }}</th><th scope="col" class="n">{{ say("cells") }}</th>
<th scope="col" class="n">{{ say("open ha") }}</th>
<th scope="col" class="n">{{ say("quadrats n′") }}</th>
<th scope="col" class="n">{{ say("clips n") }}</th>
<th scope="col" class="n">{{ say("mean index L/m²") }}</th>
<th scope="col" class="n">{{ say("rested crop t/ha") }}</th>
<th scope="col">{{ say("estimator and why") }}</th></tr></thead>
<tbody>
{% for row in classes %}<tr><th scope="row">{{ row.name }}</th><td class="n">{{ row.cells }}</td>
<td class="n">{{ row.open_ha }}</td><td class="n">{{ row.quadrats }}</td>
<td class="n">{{ row.clips }}</td><td class="n">{{ row.index }}</td>
<td class="n">{{ row.crop }}</td><td class="long">{{ row.why }}</td></tr>
{% endfor %}</tbody></table></div>

{% for section in watched %}<h2 id="{{ section.name }}">{{ say(section.title) }}</h2>
{% for part in section.parts %}{% for one in part.before %}<p>{{ one }}</p>
{% endfor %}{% if part.table %}<div class="wide" role="region" aria-label="{{ say(section.title) }}
{%- if loop.length > 1 %} {{ loop.index }}{% endif %}" tabindex="0"><table class="cells">
<thead><tr>{% for head in part.table.columns %}<th scope="col"
{%- if loop.index0 not in part.table.left %} class="n"{% endif %}>{{ say(head) }}</th>{% endfor %}
</tr></thead>
<tbody>
{% for row in part.table.rows %}<tr>{% for one in row -%}
{% if loop.first %}<th scope="row">{{ one }}</th>
{%- else %}<td{% if loop.index0 not in part.table.left %} class="n"{% endif %}>{{ one }}</td>
{%- endif %}{% endfor %}</tr>
{% endfor %}</tbody></table></div>
{% endif %}{% for one in part.after %}<p>{{ one }}</p>
{% endfor %}{% endfor %}{% endfor %}

<h2>{{ say("Who noted what") }}</h2>
{% if noted.rows %}<p>{{ say("Numbers of records that count, by person code.") }}</p>
<div class="wide" role="region" aria-label="{{ say("Who noted what") }}" tabindex="0"><table>
<thead><tr><th scope="col">{{ say("person") }}</th>{% for kind in noted.kinds %}
<th scope="col" class="n">{{ say(kind.replace("_", " ")) }}</th>{% endfor %}</tr></thead>
<tbody>
{% for person, counts in noted.rows %}<tr><th scope="row">{{ person }}</th>
{%- for count in counts %}<td class="n">{{ "{:,}".format(count) if count else "–" }}</td>
{%- endfor %}</tr>
{% endfor %}</tbody></table></div>
{% else %}<p>{{ say("No record counts yet.") }}</p>
{% endif %}

<h2>{{ say("How the figures were got") }}</h2>
<ul>
{% for one in how %}<li>{{ say(one) }}</li>
{% endfor %}</ul>
<p class="said">{{ say("Made of block {block}, settings {settings}, records {records}, program "
"{program}: the same four give the same figures.").format(block=sums.block[:12],
settings=sums.settings[:12], records=sums.records[:12], program=sums.program) }}</p>
</div>
"""

PAGE = """<!doctype html>
<html lang="{{ lang }}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{{ title }}</title>
<style>{{ css }}</style>
</head>
<body class="report-page">
<main>
<h1>{{ name }}</h1>
{{ body }}</main>
</body>
</html>
"""
