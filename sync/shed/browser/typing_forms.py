"""The forms for what was written on paper: their fields, in the order of the page.

Rule 1: a field is one of the record's own; its limits are the record's and stand there.
"""

import dataclasses
from collections.abc import Mapping
from types import MappingProxyType

from sync.block import season_of
from sync.register.build import Register
from sync.report.piles import waiting_bags
from sync.shed.words import message


@dataclasses.dataclass(frozen=True)
class Field:
    """One field of a form.

    Attributes
    ----------
    choices : tuple of (str, str)
        Word of the record and what it is called; empty for what is written.
    kind : str
        text, number or date.
    """

    name: str
    label: str
    kind: str = "text"
    needed: bool = False
    hint: str = ""
    choices: tuple[tuple[str, str], ...] = ()


@dataclasses.dataclass(frozen=True)
class Form:
    """One form.

    Attributes
    ----------
    record : str
        Kind of the record it makes.
    twice : str
        The dry weight that is typed twice; empty if there is none.
    fixed : mapping
        What the record has besides.
    waits_for : str
        The field that one of the waiting labels fills; empty if nothing waits.
    """

    kind: str
    record: str
    title: str
    lead: str
    fields: tuple[Field, ...]
    twice: str = ""
    fixed: Mapping[str, str] = dataclasses.field(default_factory=dict)
    waits_for: str = ""


_DAY = Field("day", message("Day"), "date", needed=True)
_PERSON = Field("person", message("Noted by (person code)"), needed=True)
_NOTE = Field("note", message("Note"))
_CELL = Field("cell", message("Cell"), needed=True, hint=message("such as C07"))

FORMS: Mapping[str, Form] = MappingProxyType({form.kind: form for form in (
    Form("clip", "clip", message("Clip weights"),
         message("What the scale says of a dried clip. Only what is new need be written: records "
                 "of one label add up."),
         (_DAY, _PERSON, Field("clip", message("Label of the clip"), needed=True),
          Field("dry_g", message("Dry, g"), "number"),
          Field("dried", message("Dried in"), choices=(
              ("shed", message("the shed")), ("oven", message("an oven")))),
          Field("wet_g", message("Wet, g"), "number"),
          Field("cut", message("Cut"), choices=(
              ("frame", message("the whole frame")), ("plug", message("a plug in full cover")))),
          Field("area_m2", message("Area cut, m²"), "number"),
          Field("from_mm", message("Layer from, mm"), "number"),
          Field("to_mm", message("Layer to, mm"), "number"), _NOTE),
         twice="dry_g", waits_for="clip"),
    Form("lot", "batch", message("Dried lot"),
         message("Bags dried together, what they weigh now, and from which piles they came."),
         (_DAY, _PERSON, Field("batch", message("Label of the lot"), needed=True),
          Field("bags", message("Bags"), "number", needed=True),
          Field("from", message("From the labels"), hint=message("parted by | or spaces")),
          Field("dry_kg", message("Dry, kg"), "number", needed=True),
          Field("moist_pct", message("Moisture, %"), "number"),
          Field("pure_pct", message("Purity, %"), "number"), _NOTE),
         twice="dry_kg", fixed=MappingProxyType({"stage": "dried"})),
    Form("batch", "batch", message("Batch"),
         message("Bags weighed wet, lifted, or arrived at the shed."),
         (_DAY, _PERSON, Field("batch", message("Label of the batch"), needed=True),
          Field("stage", message("What happened"), needed=True, choices=(
              ("weighed", message("weighed wet")), ("lifted", message("lifted")),
              ("arrived", message("arrived")))),
          Field("bags", message("Bags"), "number"),
          Field("from", message("From the labels"), hint=message("parted by | or spaces")),
          Field("wet_kg", message("Wet, kg, all bags"), "number"), _NOTE), waits_for="from"),
    Form("bag", "bag", message("Paper tally"),
         message("Bags counted on paper: of somebody without a phone, or of records that a phone "
                 "lost."),
         (_DAY, Field("person", message("Whose bags (person code)"), needed=True), _CELL,
          Field("bags", message("Bags"), "number", needed=True,
                hint=message("halves count; 0 only for records that a phone lost")),
          Field("pile", message("Label of the pile")),
          Field("covers", message("In place of the phone's records"),
                hint=message("phone, first and last number: p2-c3d4 3 5")), _NOTE)),
    Form("past_pick", "past_pick", message("Past pick"),
         message("A pick from before the program came, as well as it is known. Without a last day "
                 "it counts to that season's end."),
         (_PERSON, _CELL, Field("from", message("First day"), "date", needed=True),
          Field("to", message("Last day"), "date"),
          Field("share_pct", message("Share of the cell picked, %"), "number",
                hint=message("all of it if left out")),
          Field("dry_kg", message("Dry, kg"), "number"), _NOTE)),
    Form("notice", "notice", message("Notice given"),
         message("That the authority was told when picking under a permit starts."),
         (Field("day", message("Day on which it was given"), "date", needed=True), _PERSON,
          Field("permit", message("Permit"), needed=True),
          Field("start", message("First day of picking"), "date", needed=True), _NOTE),
         fixed=MappingProxyType({"what": "start"})),
)})


def waiting_of(register: Register) -> dict[str, list[str]]:
    """Give the labels that wait for a form: clips without a weight, piles with bags.

    Parameters
    ----------
    register : Register
        Of today.

    Returns
    -------
    dict of str to list of str
        Labels by the form's kind, in order.
    """
    season = season_of(register.on, register.block.season_start)
    weighed = {one.label for one in register.events.clips if "dry_g" in one.fields}
    cut = {q.clip for q in register.known.quadrats if q.clip is not None
           and season_of(q.day, register.block.season_start) >= season - 1
           and q.day <= register.on}
    cut |= {one.label for one in register.events.clips
            if season_of(one.day, register.block.season_start) >= season - 1}
    piles = {label for (label, _), bags in waiting_bags(register).items() if bags > 0}
    return {"clip": sorted(cut - weighed), "batch": sorted(piles)}
