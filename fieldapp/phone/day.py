"""P6 DAY: see, mend, take along, hand over, set, pause, stop.

Rule 1: END is held, and asks once which cells are finished; it loses nothing.
"""

import dataclasses

from fieldapp.phone.footer import BACK
from fieldapp.phone.keys import NO_KEY, Act, Done, Key, Pressed, opens, stay
from fieldapp.phone.pages import ChoiceShown
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, count, figure, joined, raw, say
from fieldapp.phone.start import ROLE_WORDS
from fieldapp.phone.things import bags
from fieldapp.phone.work import resume_act

#: Cells that END asks about at most.
ASKED_CELLS = 6


@dataclasses.dataclass(frozen=True)
class DayShown:
    """What P6 shows: who, the rows, the footer."""

    title: Say
    rows: tuple[Key, ...]
    footer: tuple[Key, ...]


class Day:
    """The rows of the day."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone

    def shown(self) -> DayShown:
        """Give what P6 shows now."""
        phone, state = self._phone, self._phone.outing.state
        rows = [Key("history", say("HISTORY, CORRECT")),
                Key("hand_over", say("HAND OVER"), sub=unsent(phone)),
                Key("settings", say("SETTINGS"))]
        if state == "open":
            rows.append(Key("pause", say("PAUSE: location off")))
        elif state == "paused":
            rows.append(Key("resume", say("CONTINUE")))
        if state != "none":
            rows.append(Key("end", say("HOLD: END OUTING"), kind="hold"))
        return DayShown(self._title(), tuple(rows),
                        (NO_KEY, Key("my_data", say("MY DATA")), BACK))

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        if pressed.name == "pause":
            return self._pause(pressed.press_ms)
        if pressed.name == "resume":
            return resume_act(self._phone, pressed.press_ms)
        if pressed.name == "end":
            if self._phone.tally.cells_picked():
                return NOTHING, opens("finish")
            return end_act(self._phone, (), pressed.press_ms)
        return NOTHING, opens(pressed.name)

    def back(self) -> Done:
        """Leave the page."""
        return Done("B0", "home")

    def _pause(self, press_ms: int) -> tuple[Say, Act]:
        phone, now, where = self._phone, self._phone.now(), self._phone.where()

        def act() -> Done:
            phone.track.flush(now)
            phone.outing.pause(now=now, where=where, press_ms=press_ms)
            return Done("B1", "work")
        return say("PAUSE"), act

    def _title(self) -> Say:
        outing = self._phone.outing
        if outing.since is None or outing.role is None:
            return say("No outing is open")
        return joined(raw(self._phone.call(outing.person)), ROLE_WORDS[outing.role],
                      say("since {clock}", clock=figure("clock", outing.since)))


class Finish:
    """END: which cells are finished, then the outing is over."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone
        self._cells = phone.tally.cells_picked()[:ASKED_CELLS]
        self._finished: list[str] = []

    def shown(self) -> ChoiceShown:
        """Give the cells picked on this outing, none lit beforehand."""
        cells = tuple(Key(f"cell {name}", raw(name),
                          tone="lit" if name in self._finished else "plain")
                      for name in self._cells)
        end = Key("end", say("END OUTING"), tone="main")
        title = say("Which cells are finished?") if cells else say("END THE OUTING?")
        lines = (say("A finished cell rests from today."),) if cells else ()
        return ChoiceShown(title, cells, (NO_KEY, NO_KEY, BACK), lines, main=end)

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        word, _, cell = pressed.name.partition(" ")
        if word == "end":
            return end_act(self._phone, tuple(self._finished), pressed.press_ms)
        return NOTHING, lambda: self._toggle(cell)

    def back(self) -> Done:
        """Leave the page; the outing goes on."""
        return Done("B0", "home")

    def _toggle(self, cell: str) -> Done:
        self._finished = [one for one in self._cells
                          if (one in self._finished) != (one == cell)]
        return stay()


def end_act(phone: Phone, finished: tuple[str, ...], press_ms: int) -> tuple[Say, Act]:
    """Make the act that ends the outing and says what it was."""
    now, where, since = phone.now(), phone.where(), phone.outing.since

    def act() -> Done:
        phone.track.flush(now)
        told = joined(bags(phone.tally.bags_today(now)),
                      None if since is None else say(
                          "{span}", span=figure("span", (now - since).total_seconds())))
        phone.outing.end(finished, now=now, where=where, press_ms=press_ms)
        return Done("B1", "hand_over", joined(say("Outing ended"), told))
    return say("END OUTING"), act


def unsent(phone: Phone) -> Say:
    """Say how many records the shed is not known to hold."""
    left = phone.journal.unsent()
    return count(left, "{n} unsent", "{n} unsent") if left else say("all handed over")
