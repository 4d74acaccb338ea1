"""P4 MORE: anything else, noted in two presses.

Rule 1: a mark names itself; what was noted is said for a while, with UNDO beside it.
"""

import dataclasses

from fieldapp.phone.footer import BACK, undo_act, undo_key
from fieldapp.phone.keys import NO_KEY, Act, Done, Key, Pressed, opens
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, figure, joined, say
from fieldapp.phone.things import mark_name, thing
from fieldapp.phone.work import saved
from fieldapp.record import instant

_MARKS = {"pile": say("NEW PILE"), "hazard": say("HAZARD"), "drain": say("DRAIN"),
          "weed": say("WEED"), "peg": say("PEG"), "other": say("OTHER")}


@dataclasses.dataclass(frozen=True)
class MoreShown:
    """What P4 shows: ten tiles, what was noted last, the footer."""

    tiles: tuple[Key, ...]
    last: Say
    footer: tuple[Key, ...]


class More:
    """The tiles."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone

    def shown(self) -> MoreShown:
        """Give what P4 shows now."""
        phone = self._phone
        tiles = [Key(f"mark {what}", text, icon=what) for what, text in _MARKS.items()]
        third = Key("clip", say("CLIP")) if phone.outing.role == "surveyor" else Key(
            "weigh", say("WEIGH"))
        tiles += [Key("many", say("MANY BAGS")), Key("work_done", say("WORK DONE")), third,
                  Key("day", say("DAY"))]
        return MoreShown(tuple(tiles), self._last(), (undo_key(phone), NO_KEY, BACK))

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        word, _, what = pressed.name.partition(" ")
        if word == "mark":
            return self._mark(what, pressed.press_ms)
        if word == "undo":
            return undo_act(self._phone, pressed.press_ms)
        return NOTHING, opens(word)

    def back(self) -> Done:
        """Leave the page."""
        return Done("B0", "work")

    def _mark(self, what: str, press_ms: int) -> tuple[Say, Act]:
        phone, now, where = self._phone, self._phone.now(), self._phone.where()
        name = phone.notes.name(what, now)
        named = mark_name(what, name)

        def act() -> Done:
            phone.notes.mark(what, now=now, where=where, name=name, press_ms=press_ms)
            return Done("B1", "work", joined(named, saved(now)))
        return named, act

    def _last(self) -> Say:
        outing = self._phone.outing
        found = [record for record in outing.noted.records()
                 if record["seq"] > outing.first_seq and record["kind"] not in ("void", "outing")]
        if not found:
            return NOTHING
        return joined(say("last: {thing}", thing=thing(found[-1])),
                      say("{clock}", clock=figure("clock", instant(found[-1]["at"]))))
