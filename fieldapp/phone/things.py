"""What was noted, named in a few words: for UNDO, for the history, for what waits.

Rule 1: a thing is named as the person named it: its running number, its label, its plot.
"""

from collections.abc import Mapping
from typing import Any

from fieldapp.phone.say import Say, count, figure, joined, raw, say

#: Messages by the words of the records.
MARKS: Mapping[str, Say] = {
    "pile": say("pile"), "hazard": say("hazard"), "drain": say("drain"), "weed": say("weed"),
    "peg": say("peg"), "other": say("other mark")}
WORKS: Mapping[str, Say] = {
    "scrub_cut": say("scrub cut"), "rolled": say("rolled"),
    "slash_stacked": say("slash stacked"), "reseeded": say("reseeded"),
    "drain_blocked": say("drain blocked"), "sprayed": say("sprayed"), "driven": say("driven")}
REASONS: Mapping[str, Say] = {
    "pool": say("pool"), "scrub": say("scrub"), "flooded_today": say("flooded"),
    "unsafe": say("unsafe"), "other": say("other reason")}
_OUTING = {"start": say("START"), "pause": say("PAUSE"), "resume": say("CONTINUE"),
           "end": say("END")}


def bags(n: float) -> Say:
    """Say a number of bags."""
    return count(n, "{n} bag", "{n} bags")


def mark_name(what: str, name: str) -> Say:
    """Name a mark: a pile by its label, else the word in the person's language and its number."""
    if what == "pile":
        return say("pile {label}", label=name)
    number = name.rpartition(" ")[2]
    if name == f"{what} {number}" and number.isdigit() and what in MARKS:
        return joined(MARKS[what], raw(number), by=" ")
    return raw(name)


def thing(record: Mapping[str, Any]) -> Say:
    """Name what a record notes.

    Parameters
    ----------
    record : mapping
        Of any kind but a track and a void.

    Returns
    -------
    Say
        A few words.
    """
    kind = record["kind"]
    if kind == "bag":
        pile = record.get("pile")
        return joined(bags(record["bags"]), say("pile {label}", label=pile) if pile else None)
    if kind == "quadrat":
        plot = record.get("plot")
        return say("plot {plot}", plot=plot) if plot else say("by eye")
    if kind == "skip":
        return joined(say("plot {plot}", plot=record["plot"]),
                      REASONS.get(record["why"], raw(record["why"])))
    if kind == "mark":
        return mark_name(record["what"], record["name"])
    if kind == "work":
        return joined(WORKS.get(record["what"], raw(record["what"])),
                      raw(" ".join(record.get("cells") or ())), by=" ")
    return _rarer(kind, record)


def _rarer(kind: str, record: Mapping[str, Any]) -> Say:
    if kind == "batch":
        return joined(raw(record["batch"]), bags(record["bags"]) if "bags" in record else None,
                      say("{kg}", kg=figure("kg", record["wet_kg"], 1))
                      if "wet_kg" in record else None)
    if kind == "clip":
        return say("clip {label}", label=record["clip"])
    if kind == "check_in":
        return say("HELP") if record["state"] == "help" else say("I'M OK")
    if kind == "outing":
        return _OUTING[record["state"]]
    return raw(kind)
