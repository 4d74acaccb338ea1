"""The pages that ask one thing: why a plot cannot be done, and whether to note far from it."""

from fieldapp.capture.walk import Why
from fieldapp.phone.footer import BACK
from fieldapp.phone.keys import NO_KEY, Act, Done, Key, Pressed, opens
from fieldapp.phone.pages import ChoiceShown
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, figure, joined, say
from fieldapp.phone.survey import begin
from fieldapp.phone.things import REASONS
from fieldapp.phone.work import saved

_WHY: dict[Why, tuple[Say, Say]] = {
    "pool": (say("POOL"), say("no moss there")), "scrub": (say("SCRUB"), say("no moss there")),
    "flooded_today": (say("FLOODED"), say("not seen today")),
    "unsafe": (say("UNSAFE"), say("not seen")), "other": (say("OTHER"), say("not seen"))}
_FOOT = (NO_KEY, NO_KEY, BACK)


class Cant:
    """CAN'T: the reason why a plot is left out."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone
        walk = phone.walk
        way = None if walk is None else walk.next(phone.now(), phone.where())
        self._plot = None if way is None else way.plot

    def shown(self) -> ChoiceShown:
        """Give the five reasons."""
        name = "" if self._plot is None else self._plot.name
        return ChoiceShown(say("plot {plot}: why not?", plot=name), tuple(
            Key(f"why {why}", text, sub=sub) for why, (text, sub) in _WHY.items()), _FOOT,
            columns=1)

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        phone, plot, now, where = self._phone, self._plot, self._phone.now(), self._phone.where()
        chosen = [why for why in _WHY if pressed.name == f"why {why}"]
        if not chosen or plot is None or phone.walk is None:
            return NOTHING, opens("work")
        walk, why = phone.walk, chosen[0]
        told = joined(say("plot {plot}", plot=plot.name), REASONS[why])

        def act() -> Done:
            walk.skip(plot, why, now=now, where=where, press_ms=pressed.press_ms)
            return Done("B1", "work", joined(told, saved(now)))
        return told, act

    def back(self) -> Done:
        """Leave the page."""
        return Done("B0", "work")


class Far:
    """AT THE PLOT pressed where the plot is not, or where no position tells."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone
        walk = phone.walk
        self._way = None if walk is None else walk.next(phone.now(), phone.where())

    def shown(self) -> ChoiceShown:
        """Give what is known, and the two ways on."""
        way = self._way
        if way is None or way.distance_m is None:
            return ChoiceShown(say("Position not known"), (
                Key("anyway", say("NOTE ANYWAY"), tone="main"), Key("work", say("WAIT"))), _FOOT,
                columns=1)
        title = say("You are {distance} from plot {plot}",
                    distance=figure("metres", way.distance_m), plot=way.plot.name)
        return ChoiceShown(title, (Key("by_eye", say("NOTE HERE, BY EYE"), tone="main"),
                                   Key("work", say("GO ON"))), _FOOT, columns=1)

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        if pressed.name == "anyway":
            return begin(self._phone, None if self._way is None else self._way.plot)
        if pressed.name == "by_eye":
            return begin(self._phone, None)
        return NOTHING, opens("work")

    def back(self) -> Done:
        """Leave the page."""
        return Done("B0", "work")
