"""Flags as a reader meets them: a title in words, the sentence, how sure, and what was ruled.

Rule 1: whoever ruled is named by person code only.
Rule 2: a probability stands in words and as a number; a rule of yes or no has none and says so.
"""

import dataclasses
from collections.abc import Iterable, Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo

from sync.flags.raised import RULES
from sync.report.flag_rows import is_settled
from sync.report.map_words import Say, as_it_is, day_words

#: A rule's title.
FLAG_TITLES: Mapping[str, str] = MappingProxyType({
    "early_pick": "Picked before rest ended",
    "over_pick": "More taken than allowed",
    "closed_ground": "Picked on closed ground",
    "sprayed_hold": "Picked under a spraying hold",
    "outside_block": "Picked outside the block",
    "more_picked_than_stood": "More picked than stood there",
    "not_regrown": "Not grown back after its rest",
    "silent_phone": "Phone went silent",
    "missing_records": "Records missing",
    "number_twice": "One number, two contents",
    "permit_cap": "Permit's cap passed",
    "late_notice": "Notice given too late",
    "weak_position": "Position too weak to place",
    "clock_wrong": "Phone clock was wrong",
    "stale_sheet": "Picked with an old ground sheet, or none",
    "short_bags": "Bags are missing",
    "label_twice": "One label on two things",
    "odd_bag_weight": "Unusual bag weight",
    "density_assumed": "Crop density assumed",
    "growth_assumed": "Growth rate assumed",
    "scrub_spreading": "Scrub is spreading",
    "drying": "Ground is drying",
})
#: What a ruling says: its name, and what it means.
RULING_WORDS: Mapping[str, tuple[str, str]] = MappingProxyType({
    "upheld": ("Upheld", "it happened and was wrong"),
    "not_so": ("Not so", "it did not happen"),
    "agreed": ("Agreed", "it happened and was permitted"),
})
#: Records named on paper; all are counted.
_NAMED = 6
_NEARLY = 0.9999


@dataclasses.dataclass(frozen=True)
class FlagShown:
    """A flag in words; `settled` while a ruling on it stands, `ruling` empty while there is none.

    `cell` is empty of a flag that is about no cell.
    """

    name: str
    title: str
    about: str
    cell: str
    why: str
    sure: str
    ruling: str
    settled: bool
    records: str


def flag_title(rule: str, say: Say = as_it_is) -> str:
    """Give a rule's title in words; of an unknown rule its name with blanks."""
    return say(FLAG_TITLES.get(rule, rule.replace("_", " ").capitalize()))


def by_weight(flags: Iterable[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """Put flags in the order in which an owner should look at them, early picks first.

    Parameters
    ----------
    flags : iterable of mapping
        Rows of the document.

    Returns
    -------
    list of mapping
        By rule, then by name.
    """
    order = [one.__name__ for one in RULES]
    return sorted(flags, key=lambda row: (order.index(row["rule"]), row["name"]))


def sure_words(flag: Mapping[str, Any], say: Say = as_it_is) -> str:
    """Say how sure a flag is, in words and as a number.

    Parameters
    ----------
    flag : mapping
        Its row of the document.
    say : callable
        Gives a word in the page's language.

    Returns
    -------
    str
        Such as "likely, probability 0.97".
    """
    chance = flag["probability"]
    if chance is None:
        told = say("yes or no, without a probability")
    elif chance > _NEARLY:
        told = say("probability over 0.9999")
    else:
        places = 2 if 0.01 <= chance <= 0.99 else 4
        told = say("probability {chance}").format(chance=f"{chance:.{places}f}")
    return f"{say(flag['how_sure'])}, {told}"


def flag_shown(flag: Mapping[str, Any], zone: str, say: Say = as_it_is) -> FlagShown:
    """Put a flag into words.

    Parameters
    ----------
    flag : mapping
        Its row of the document.
    zone : str
        The block's time zone: a ruling is dated by its local day.
    say : callable
        Gives a word in the page's language.

    Returns
    -------
    FlagShown
        Unescaped.
    """
    ruling = flag["ruling"]
    return FlagShown(
        flag["name"], flag_title(flag["rule"], say), flag["about"], flag["cell"] or "",
        sentence(flag["why"]), sure_words(flag, say),
        "" if ruling is None else _ruling_words(ruling, zone, say),
        is_settled(flag), _record_words(flag, say))


def _ruling_words(ruling: Mapping[str, Any], zone: str, say: Say) -> str:
    day = datetime.fromisoformat(ruling["at"]).astimezone(ZoneInfo(zone)).date()
    parts = [say("{ruling}, by {who} on {day} ({record}).").format(
        ruling=": ".join(say(part) for part in RULING_WORDS[ruling["says"]]), who=ruling["by"],
        day=day_words(day.isoformat(), say), record=ruling["record"])]
    if ruling["note"]:
        parts.append(say("Note: {note}").format(note=sentence(ruling["note"])))
    if not ruling["stands"]:
        parts.append(say("It has changed since: the flag is open again."))
    return " ".join(parts)


def _record_words(flag: Mapping[str, Any], say: Say) -> str:
    names, count = flag["records"][:_NAMED], flag["record_count"]
    if not count:
        return ""
    more = " …" if count > len(names) else ""
    head = say("one record") if count == 1 else say("{count} records").format(count=f"{count:,}")
    return f"{head}: {', '.join(names)}{more}"


def sentence(text: str) -> str:
    """Begin a sentence with a capital and end it with a point."""
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) else ".")
