"""A person's own sheet to sign: every bag with its time, cell and noter, on A4.

Rule 1: it holds that person's bags alone; of others only the code of who noted one for them.
Rule 2: no name, no pace, no comparison; the name is written by hand.
Rule 3: whatever people typed is escaped; no script and nothing from elsewhere.
"""

from collections.abc import Callable, Mapping, Sequence
from datetime import date, tzinfo
from typing import Any, Protocol
from zoneinfo import ZoneInfo

from markupsafe import Markup

from sync.intake.merge import Undone
from sync.register.build import Register
from sync.report.pay import BagPaid, PersonDay, Sums, sums_of_bags
from sync.report.pay_rows import clock_span
from sync.report.rounding import BAG_KG, rounded
from sync.report.template import page_environment

#: A cell less likely than this is not told alone.
_SURE = 0.95
_CELLS = 2
#: All that is passed to `say`, for whoever keeps a catalogue.
PAY_WORDS = (
    "Bags of {person}", "{from_day} to {to_day}", "day", "bags", "of them from paper",
    "dry kg (of bags)", "wet kg (of bags)", "sum", "Each bag",
    "time, cell, number; then pile, and who noted it where that was somebody else",
    "on paper", "noted by {person}", "no known place", "outside the block", "taken back",
    "corrected", "its records came", "not counted", "This day may lack something",
    "{phone}: records of {span} never came", "a record waits to be mended",
    "a record came with two contents",
    "Dry kg are shed-dry and shared evenly over the bags of the lot they went into.",
    "I have looked through this sheet.", "It is right.", "It is not right, because:",
    "Name", "Signature", "Day", "none in these days",
)


class Say(Protocol):
    """Says a message in the sheet's language, its blanks filled in."""

    def __call__(self, text: str, /, **values: str | int) -> str:
        """Say it."""


def pay_sheet(
    register: Register, days: Sequence[PersonDay], person: str, first: date, last: date, *,
    say: Say, day_words: Callable[[date], str], number: Callable[[float, int], str], lang: str,
) -> str:
    """Write a person's sheet.

    Parameters
    ----------
    register : Register
        For the block's name, clock and what the person is called.
    days : sequence of PersonDay
        Of the span; those of others are left out.
    person : str
        Person code.
    first, last : date
        The span.
    say, day_words, number : callable
        Give a message, a day and a number in the language of the sheet.
    lang : str
        Its code.

    Returns
    -------
    str
        HTML, complete.
    """
    own = [one for one in days if one.person == person]
    zone = ZoneInfo(register.block.zone)
    shown = _Shown(say, number, zone, register.block.zone, person)
    call = next((one.call for one in register.block.people if one.code == person), "")
    return page_environment().from_string(_PAGE).render(
        lang=lang, css=Markup(_CSS), say=say, block=register.block.name,
        title=say("Bags of {person}", person=f"{person} {call}".strip()),
        span=say("{from_day} to {to_day}", from_day=day_words(first), to_day=day_words(last)),
        rows=[(day_words(one.day), shown.sums(sums_of_bags(one.bags))) for one in own],
        total=shown.sums(sums_of_bags([bag for one in own for bag in one.bags])),
        days=[shown.day(one, day_words(one.day)) for one in own])


class _Shown:
    """What stands on one person's sheet, in words."""

    def __init__(
        self, say: Say, number: Callable[[float, int], str], zone: tzinfo, zone_name: str,
        person: str,
    ) -> None:
        self.say, self.number, self.zone = say, number, zone
        self.zone_name, self.person = zone_name, person

    def sums(self, sums: Sums) -> tuple[str, ...]:
        """Write bags, those from paper, and kg with the bags they are of."""
        return (self._bags(sums.bags), self._bags(sums.paper) if sums.paper else "–",
                self._kg(sums.dry_kg, sums.dry_bags), self._kg(sums.wet_kg, sums.wet_bags))

    def day(self, one: PersonDay, said: str) -> Mapping[str, Any]:
        """Write a day: its bags, what does not count, and why it may lack something."""
        return {
            "day": said, "bags": [self._bag(bag) for bag in one.bags],
            "undone": [self._undone(each) for each in one.undone],
            "lacks": [*(self.say("{phone}: records of {span} never came",
                                 phone=hole.device,
                                 span=clock_span(hole, self.zone_name, one.day))
                        for hole in one.holes),
                      *(self.say("a record waits to be mended") for _ in one.waiting),
                      *(self.say("a record came with two contents") for _ in one.twice)],
        }

    def _bag(self, one: BagPaid) -> str:
        bag = one.placed.bag
        parts = [f"{bag.at.astimezone(self.zone):%H:%M}", self._cells(one), self._bags(one.bags)]
        if bag.pile is not None:
            parts.append(bag.pile)
        if bag.covers is not None:
            parts.append(self.say("on paper"))
        if one.said.person != self.person:
            parts.append(self.say("noted by {person}", person=one.said.person))
        return " · ".join(parts)

    def _cells(self, one: BagPaid) -> str:
        chances = sorted(one.placed.chances.items(), key=lambda item: (-item[1], item[0]))
        if one.placed.how == "nowhere":
            return self.say("no known place")
        if not chances or sum(one.placed.chances.values()) < 1.0 - _SURE:
            return self.say("outside the block")
        if chances[0][1] >= _SURE:
            return chances[0][0]
        return ", ".join(f"{cell} {self.number(100.0 * chance, 0)} %"
                         for cell, chance in chances[:_CELLS])

    def _undone(self, undone: Undone) -> tuple[str, str]:
        """Write what does not count, and by what."""
        said = undone.said
        word = {"mended": "corrected", "void": "taken back", "paper": "its records came"}
        why = [self.say(word[undone.how])]
        if said.person != self.person:
            why.append(self.say("noted by {person}", person=said.person))
        at, bags = f"{said.at.astimezone(self.zone):%H:%M}", float(said.record["bags"])
        return f"{at} · {self._bags(bags)}", " · ".join(why)

    def _bags(self, bags: float) -> str:
        return self.number(bags, 0 if bags == int(bags) else 1)

    def _kg(self, kg: float, bags: float) -> str:
        return "–" if not bags else f"{self.number(rounded(kg, BAG_KG), 1)} ({self._bags(bags)})"


_CSS = """
@page { size: A4; margin: 14mm 14mm 16mm; }
body { font: 10pt/1.35 system-ui, sans-serif; color: #000; background: #fff; margin: 1rem auto;
  max-width: 182mm; padding: 0 .5rem; }
h1 { font-size: 14pt; margin: 0; } h2 { font-size: 10.5pt; margin: 3mm 0 1mm; }
h3 { font-size: 9pt; margin: 0; } p { margin: 1mm 0; }
table { border-collapse: collapse; width: 100%; font-size: 9pt; }
th, td { border-bottom: 1px solid #888; padding: .3mm 2mm; text-align: right; }
th:first-child, td:first-child { text-align: left; }
thead th { border-bottom: 2px solid #000; } tfoot td, tfoot th { font-weight: bold; }
.bags { columns: 3; column-gap: 5mm; font-size: 8pt; }
.bags ul { list-style: none; margin: 0 0 1.5mm; padding: 0; }
.bags h3 { break-after: avoid; } .bags li { break-inside: avoid; }
.lacks { font-weight: bold; }
.sign { break-inside: avoid; margin-top: 4mm; }
.sign span { display: inline-block; width: 58mm; border-bottom: 1px solid #000; height: 8mm; }
.sign .box { width: 3.5mm; height: 3.5mm; border: 1px solid #000; margin-right: 2mm; }
@media print { body { margin: 0; max-width: none; padding: 0; } }
@media screen and (max-width: 30rem) { .bags { columns: 1; } }
"""
_PAGE = """<!doctype html>
<html lang="{{ lang }}"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{{ title }}</title><style>{{ css }}</style></head><body>
<h1>{{ title }}</h1>
<p>{{ block }} · {{ span }}</p>
<table><thead><tr><th scope="col">{{ say("day") }}</th><th scope="col">{{ say("bags") }}</th>
<th scope="col">{{ say("of them from paper") }}</th>
<th scope="col">{{ say("dry kg (of bags)") }}</th>
<th scope="col">{{ say("wet kg (of bags)") }}</th>
</tr></thead><tbody>
{% for day, cells in rows %}<tr><th scope="row">{{ day }}</th>
{% for one in cells %}<td>{{ one }}</td>{% endfor %}</tr>
{% else %}<tr><td colspan="5">{{ say("none in these days") }}</td></tr>
{% endfor %}</tbody><tfoot><tr><th scope="row">{{ say("sum") }}</th>
{% for one in total %}<td>{{ one }}</td>{% endfor %}</tr></tfoot></table>
<p>{{ say("Dry kg are shed-dry and shared evenly over the bags of the lot they went into.") }}</p>
<h2>{{ say("Each bag") }}</h2>
<p>{{ say("time, cell, number; then pile, and who noted it where that was somebody else") }}</p>
<div class="bags">
{% for one in days %}<h3>{{ one.day }}</h3>
<ul>
{% for bag in one.bags %}<li>{{ bag }}</li>
{% endfor %}
{% for bag, why in one.undone %}<li>{{ say("not counted") }}: <s>{{ bag }}</s> · {{ why }}</li>
{% endfor %}
{% if one.lacks %}<li class="lacks">{{ say("This day may lack something") }}:
{% for why in one.lacks %}{{ why }}{{ "; " if not loop.last }}{% endfor %}</li>
{% endif %}</ul>
{% endfor %}</div>
<div class="sign"><p>{{ say("I have looked through this sheet.") }}</p>
<p><span class="box"></span>{{ say("It is right.") }}</p>
<p><span class="box"></span>{{ say("It is not right, because:") }} <span></span></p>
<p>{{ say("Name") }} <span></span></p>
<p>{{ say("Signature") }} <span></span> {{ say("Day") }} <span></span></p></div>
</body></html>
"""
