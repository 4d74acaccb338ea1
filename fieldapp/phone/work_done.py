"""WORK DONE: what, in which cells, how many hours, SAVE.

Rule 1: nothing is a record before SAVE; my cell stands in the middle and is not lit.
"""

from fieldapp.ground import cell_at
from fieldapp.phone.footer import BACK
from fieldapp.phone.keys import NO_KEY, Act, Done, Key, Pressed, opens, stay
from fieldapp.phone.pages import ChoiceShown, PadShown, value_keys
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, joined, raw, say
from fieldapp.phone.things import WORKS
from fieldapp.phone.work import saved

WHAT = {"scrub_cut": say("SCRUB CUT"), "rolled": say("ROLLED"),
        "slash_stacked": say("SLASH STACKED"), "reseeded": say("RESEEDED"),
        "drain_blocked": say("DRAIN BLOCKED")}
HOURS = (0.5, 1, 1.5, 2, 3, 4, 5, 6, 7, 8, 9, 10)


class WorkDone:
    """The pages of work done."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone
        self._what = ""
        self._cells: list[str] = []
        self._on_hours = False
        self._hours: float | None = None

    def shown(self) -> PadShown | ChoiceShown:
        """Give the page that is up."""
        foot = (NO_KEY, NO_KEY, BACK)
        if not self._what:
            return ChoiceShown(say("WHAT WORK?"), tuple(
                Key(f"what {what}", text) for what, text in WHAT.items()), foot)
        if not self._on_hours:
            return PadShown(say("WHICH CELLS?"), raw(" ".join(self._cells)), (),
                            self._cell_keys(), foot)
        save = Key("save", say("SAVE"), tone="lit" if self._hours else "plain")
        told = joined(WORKS[self._what], raw(" ".join(self._cells)), by=" ")
        return PadShown(say("HOURS"), told, (), value_keys(HOURS, self._hours),
                        (NO_KEY, save, BACK))

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        word, _, what = pressed.name.partition(" ")
        if word == "save":
            return self._save(pressed.press_ms)
        if word in ("what", "cell", "value", "next"):
            return NOTHING, lambda: self._choose(word, what)
        return NOTHING, opens("more")

    def back(self) -> Done:
        """Step back by one page."""
        if self._on_hours:
            self._on_hours = False
            return stay()
        if self._what:
            self._what, self._cells = "", []
            return stay()
        return Done("B0", "more")

    def _choose(self, word: str, what: str) -> Done:
        if word == "what":
            self._what = what
        elif word == "cell":
            self._cells = [one for one in self._cells if one != what] if what in self._cells \
                else [*self._cells, what]
        elif word == "value":
            self._on_hours, self._hours = True, float(what)
        else:
            self._on_hours = True
        return stay()

    def _save(self, press_ms: int) -> tuple[Say, Act]:
        phone, now, where = self._phone, self._phone.now(), self._phone.where()
        what, cells, hours = self._what, list(self._cells), self._hours
        told = joined(WORKS[what], raw(" ".join(cells)), by=" ")

        def act() -> Done:
            phone.notes.work(what, cells, now=now, where=where, hours=hours, press_ms=press_ms)
            return Done("B1", "work", joined(told, saved(now)))
        return told, act

    def _cell_keys(self) -> tuple[Key, ...]:
        around = cells_around(self._phone)
        keys = [NO_KEY if name is None else
                Key(f"cell {name}", raw(name), tone="lit" if name in self._cells else "plain")
                for name in around]
        next_key = Key("next", say("NEXT")) if self._cells else NO_KEY
        return (*keys, NO_KEY, next_key, NO_KEY)


def cells_around(phone: Phone) -> tuple[str | None, ...]:
    """Give the nine cells about the phone, row by row from the north; None is no cell there.

    Without a fix they lie about the cell confirmed for today, else about the sheet's first.
    """
    sheet, fix = phone.sheet, phone.fix()
    if sheet is None or not sheet.cells:
        return (None,) * 9
    if fix is not None:
        x, y = sheet.map.to_m(fix.lat, fix.lon)
    else:
        named = [one for one in sheet.cells if one.name == phone.outing.cell]
        box = (named or sheet.cells)[0].box
        x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    side = sheet.cell_m
    found = [cell_at(sheet, x + east * side, y + north * side)
             for north in (1, 0, -1) for east in (-1, 0, 1)]
    return tuple(None if one is None else one.name for one in found)
