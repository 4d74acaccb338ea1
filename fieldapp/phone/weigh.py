"""WEIGH: bags on the scale, with a label to tie on.

Rule 1: kg are typed digit by digit and shown as kg a bag, so that a slip of ten is seen.
"""

from fieldapp.phone.footer import BACK
from fieldapp.phone.keys import NO_KEY, Act, Done, Key, Pressed, opens, stay
from fieldapp.phone.pages import ChoiceShown, PadShown, digit_keys, value_keys
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, count, figure, joined, say

BAGS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25)
_LONGEST = 6


class Weigh:
    """The pages of a weighing."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone
        self._bags = 0.0
        self._typed = ""
        self._tied: str | None = None

    def shown(self) -> PadShown | ChoiceShown:
        """Give the page that is up."""
        if self._tied is not None:
            return ChoiceShown(say("Tie this label on: {label}", label=self._tied),
                               (), (NO_KEY, NO_KEY, BACK),
                               main=Key("work", say("DONE"), tone="main"))
        if not self._bags:
            return PadShown(say("HOW MANY BAGS?"), NOTHING, (), value_keys(BAGS),
                            (NO_KEY, NO_KEY, BACK))
        save = Key("save", say("SAVE"), tone="main" if self._kg() else "faint")
        return PadShown(say("kg of all of them"), self._slots(), (), digit_keys(),
                        (NO_KEY, save, BACK))

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        word, _, what = pressed.name.partition(" ")
        if word == "save":
            return self._save(pressed.press_ms)
        if word in ("value", "digit", "clear"):
            return NOTHING, lambda: self._type(word, what)
        return NOTHING, opens("work")

    def back(self) -> Done:
        """Step back by one page."""
        if self._tied is None and self._bags:
            self._bags, self._typed = 0.0, ""
            return stay()
        return Done("B0", "work" if self._tied else "more")

    def _type(self, word: str, what: str) -> Done:
        if word == "value":
            self._bags = float(what)
        elif word == "clear":
            self._typed = self._typed[:-1]
        elif len(self._typed) < _LONGEST and not (what == "." and "." in self._typed):
            self._typed += what
        return stay()

    def _save(self, press_ms: int) -> tuple[Say, Act]:
        phone, now, where = self._phone, self._phone.now(), self._phone.where()
        number, kg, label = self._bags, self._kg(), phone.notes.label()
        if not kg:
            return NOTHING, lambda: Done("B0", said=say("Type the kg first"))

        def act() -> Done:
            phone.notes.weigh(number, kg, now=now, where=where, label=label, press_ms=press_ms)
            self._tied = label
            return Done("B1")
        return self._slots(), act

    def _kg(self) -> float:
        try:
            return float(self._typed or 0)
        except ValueError:
            return 0.0

    def _slots(self) -> Say:
        phone, kg = self._phone, self._kg()
        told = count(self._bags, "{n} bag {kg}", "{n} bags {kg}",
                     kg=figure("kg", kg, _digits(self._typed)))
        if not kg:
            return told
        odd = phone.notes.weighing_questions(self._bags, kg, now=phone.now(),
                                             usual=phone.tally.usual(phone.now()))
        each = say("= {kg} each", kg=figure("number", kg / self._bags, 1))
        return joined(told, each, *(say(one.reason) for one in odd), by=" ")


def _digits(typed: str) -> int:
    return len(typed.partition(".")[2])
