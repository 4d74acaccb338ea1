"""CLIP: a label for the tag, how it was cut, and the layer cut; it is weighed at the shed.

Rule 1: the label goes to the quadrat half noted, else to the last one saved, so that the clip is
linked by its label alone.
"""

from fieldapp.capture.quadrat import DRAFT, Quadrat
from fieldapp.capture.tally import FRAME_M
from fieldapp.phone.footer import BACK
from fieldapp.phone.keys import NO_KEY, Act, Done, Key, Pressed, stay
from fieldapp.phone.pages import ChoiceShown, PadShown, digit_keys, value_keys
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, figure, joined, raw, say
from fieldapp.phone.work import saved

FROM_MM = (0, 10, 20, 30, 40, 50, 60, 70, 80, 90, 100, 120)
TO_MM = tuple(tuple(range(first, first + 120, 10)) for first in (10, 130, 250))
#: Sides of the square plugs that are usual. [cm]
PLUG_CM = (10, 15, 20, 25, 30, 40)


class Clip:
    """The pages of a clip."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone
        self._label = ""
        self._typed: str | None = None
        self._cut = ""
        self._area_m2: float | None = None
        self._from_mm: int | None = None
        self._page = 0

    def shown(self) -> PadShown | ChoiceShown:
        """Give the page that is up."""
        foot = (NO_KEY, NO_KEY, BACK)
        if self._typed is not None:
            save = Key("typed", say("TAKE THIS LABEL"), tone="main" if self._typed else "faint")
            return PadShown(say("OTHER LABEL"), raw(self._numbered()), (), digit_keys(),
                            (NO_KEY, save, BACK))
        if not self._label:
            return ChoiceShown(raw(self._phone.notes.label()), (
                Key("take", say("TAKE THIS LABEL"), tone="main"),
                Key("other", say("OTHER LABEL"))), foot, columns=1,
                lines=(say("Write it on the tag, in pencil."), self._goes_to()))
        if not self._cut:
            return ChoiceShown(say("WHAT WAS CUT?"), (
                Key("frame", say("FRAME"), sub=say("all moss in it")),
                *(Key(f"plug {cm}", say("PLUG {n} cm", n=cm), sub=say("in full cover"))
                  for cm in PLUG_CM)), foot)
        if self._from_mm is None:
            return PadShown(say("LAYER from, mm"), raw(self._label), (), value_keys(FROM_MM), foot)
        page = TO_MM[self._page % len(TO_MM)]
        turn = TO_MM[(self._page + 1) % len(TO_MM)][0]
        return PadShown(say("LAYER to, mm"), joined(raw(self._label), say(
            "from {n} mm", n=figure("number", self._from_mm))), (), value_keys(page),
            (NO_KEY, Key("page", say("{n} >", n=turn)), BACK))

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        word, _, what = pressed.name.partition(" ")
        if word in ("take", "typed"):
            return self._take(word, pressed.press_ms)
        if word == "value" and self._from_mm is not None:
            return self._save(int(what), pressed.press_ms)
        return NOTHING, lambda: self._choose(word, what)

    def back(self) -> Done:
        """Leave the page; a label that was taken stays with its quadrat."""
        if self._typed is not None:
            self._typed = None
            return stay()
        return Done("B0", self._home())

    def _choose(self, word: str, what: str) -> Done:
        if word == "other":
            self._typed = ""
        elif word == "digit" and self._typed is not None and what != ".":
            self._typed = (self._typed + what)[:4]
        elif word == "clear" and self._typed is not None:
            self._typed = self._typed[:-1]
        elif word == "frame":
            sheet = self._phone.sheet
            self._cut, self._area_m2 = "frame", (sheet.frame_m if sheet else FRAME_M) ** 2
        elif word == "plug":
            self._cut, self._area_m2 = "plug", (int(what) / 100.0) ** 2
        elif word == "value":
            self._from_mm = int(what)
        elif word == "page":
            self._page += 1
        return stay()

    def _take(self, word: str, press_ms: int) -> tuple[Say, Act]:
        phone, now, where = self._phone, self._phone.now(), self._phone.where()
        label = self._numbered() if word == "typed" else phone.notes.label()
        if word == "typed" and not self._typed:
            return NOTHING, lambda: Done("B0", said=say("Type the label's number first"))

        def act() -> Done:
            draft = Quadrat.resume(phone.outing)
            last = self._last_quadrat()
            if draft is not None:
                draft.add(clip=label)
            elif last is not None:
                phone.correct.change(last, now=now, where=where, press_ms=press_ms, clip=label)
            self._label, self._typed = label, None
            return Done("B1" if draft is None and last is not None else "B0")
        return say("clip {label}", label=label), act

    def _save(self, to_mm: int, press_ms: int) -> tuple[Say, Act]:
        phone, now, where = self._phone, self._phone.now(), self._phone.where()
        label, cut, area_m2, from_mm = self._label, self._cut, self._area_m2, self._from_mm or 0
        if to_mm <= from_mm:
            return NOTHING, lambda: Done("B3", said=say("The layer ends above where it begins"))
        told = say("clip {label}", label=label)

        def act() -> Done:
            phone.notes.clip(label, now=now, where=where, cut=cut, area_m2=area_m2,
                             from_mm=from_mm, to_mm=to_mm, press_ms=press_ms)
            return Done("B1", self._home(), joined(told, saved(now)))
        return told, act

    def _home(self) -> str:
        return "work" if self._phone.journal.draft(DRAFT) is None else "quadrat"

    def _numbered(self) -> str:
        code = self._phone.notes.label().rpartition("-")[0]
        return f"{code}-{int(self._typed or 0):03d}"

    def _last_quadrat(self) -> int | None:
        outing = self._phone.outing
        found = outing.noted.of("quadrat", first_seq=outing.first_seq)
        return found[-1].seq if found else None

    def _goes_to(self) -> Say:
        draft = Quadrat.resume(self._phone.outing)
        if draft is not None:
            return say("for the quadrat half noted")
        return say("for the last quadrat") if self._last_quadrat() else say("for no quadrat yet")
