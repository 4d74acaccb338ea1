"""MANY BAGS: several at once, and bags for somebody else.

Rule 1: a name pressed first says whose the next press is; it stands for that press alone.
"""

from fieldapp.phone.footer import BACK
from fieldapp.phone.keys import NO_KEY, Act, Done, Key, Pressed, opens, stay
from fieldapp.phone.pages import ChoiceShown, PadShown, value_keys
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, figure, joined, raw, say
from fieldapp.phone.things import bags
from fieldapp.phone.work import saved

VALUES = ((0.5, 1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20), (25, 30, 35, 40))
_NAMES = 2


class Many:
    """The pad of bags."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone
        self._page = 0
        self._for = ""
        self._type = 0
        self._asks_name = False

    def shown(self) -> PadShown | ChoiceShown:
        """Give what the page shows now."""
        if self._asks_name:
            keys = tuple(Key(f"for {code}", raw(call)) for code, call in self._others())
            return ChoiceShown(say("WHOSE BAGS?"), keys[:10], (NO_KEY, NO_KEY, BACK))
        who = self._phone.call(self._for) if self._for else ""
        title = say("BAGS for {call}", call=who) if who else say("BAGS")
        page = VALUES[self._page % len(VALUES)]
        turn = VALUES[(self._page + 1) % len(VALUES)][0]
        foot = (self._type_key(),
                Key("page", say("{n} >", n=figure("bags", turn))), BACK)
        return PadShown(title, NOTHING, self._names(), value_keys(page), foot)

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        word, _, what = pressed.name.partition(" ")
        if word == "value":
            return self._bags(float(what), pressed.press_ms)
        if word in ("for", "names", "page", "type"):
            return NOTHING, lambda: self._choose(word, what)
        return NOTHING, opens("more")

    def back(self) -> Done:
        """Leave the page."""
        if self._asks_name:
            self._asks_name = False
            return stay()
        return Done("B0", "more")

    def _choose(self, word: str, what: str) -> Done:
        if word == "for":
            self._for = "" if self._for == what else what
        self._asks_name = word == "names"
        self._page += word == "page"
        self._type += word == "type"
        return stay()

    def _bags(self, number: float, press_ms: int) -> tuple[Say, Act]:
        phone, now, where = self._phone, self._phone.now(), self._phone.where()
        pile, whose, kind = phone.notes.pile_near(where, now), self._for or None, self._kind()
        told = joined(bags(number), say("for {call}", call=phone.call(whose)) if whose else None)

        def act() -> Done:
            phone.tally.bag(now=now, where=where, bags=number, for_=whose, type_=kind, pile=pile,
                            press_ms=press_ms)
            return Done("B1", "work", joined(told, saved(now)))
        return told, act

    def _others(self) -> list[tuple[str, str]]:
        return [one for one in self._phone.people() if one[0] != self._phone.outing.person]

    def _names(self) -> tuple[Key, ...]:
        others = self._others()
        chosen = [one for one in others if one[0] == self._for]
        first = (chosen + [one for one in others if one[0] != self._for])[:_NAMES]
        keys = [Key(f"for {code}", say("FOR {call}", call=call),
                    tone="lit" if code == self._for else "plain") for code, call in first]
        return (*keys, Key("names", say("MORE NAMES"))) if len(others) > _NAMES else tuple(keys)

    def _types(self) -> list[str]:
        sheet = self._phone.sheet
        return [one.name for one in sheet.bag_types] if sheet else []

    def _kind(self) -> str | None:
        types = self._types()
        at = self._type % len(types) if types else 0
        return types[at] if at else None

    def _type_key(self) -> Key:
        types = self._types()
        if len(types) < 2:
            return NO_KEY
        return Key("type", raw(types[self._type % len(types)]), sub=say("kind"))
