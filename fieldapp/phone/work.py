"""P2 WORK for the picker: one more bag, and without a press: may I pick here.

Rule 1: a bag is written whatever the ground says; the key only tells what the ground is.
Rule 2: in a pause bags can be noted, without a place, and the one big key goes on.
"""

import dataclasses
from datetime import datetime

from fieldapp.ground import Answer
from fieldapp.phone.footer import MORE, help_key, undo_act, undo_key
from fieldapp.phone.keys import Act, Done, Key, Pressed, opens
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, count, figure, joined, say
from fieldapp.phone.things import bags
from fieldapp.record import Where

STATES: dict[str, Say] = {
    "closed": say("closed"), "resting": say("resting"), "unsurveyed": say("not surveyed"),
    "taken": say("taken"), "ready": say("ready")}


@dataclasses.dataclass(frozen=True)
class WorkShown:
    """What P2 shows the picker.

    Attributes
    ----------
    answer : Answer or None
        For the band; None without a sheet.
    paused : bool
        Location is off.
    counts, pile : Say
        Bags of today; the pile bags go to, with those on it.
    bag, resume : Key
        The main key; CONTINUE, a key with no name unless paused.
    footer : tuple of Key
        Three.
    """

    answer: Answer | None
    paused: bool
    counts: Say
    pile: Say
    bag: Key
    resume: Key
    footer: tuple[Key, ...]


class Work:
    """The picker's work."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone

    def shown(self) -> WorkShown:
        """Give what P2 shows now."""
        phone, now = self._phone, self._phone.now()
        pile = self._pile(phone.where(), now)
        paused = phone.outing.state == "paused"
        answer = phone.answer()
        return WorkShown(
            answer=answer, paused=paused, counts=bags(phone.tally.bags_today(now)),
            pile=NOTHING if pile is None else say(
                "pile {label}: {n}", label=pile, n=figure("bags", phone.tally.bags_on(pile, now))),
            bag=_bag_key(answer),
            resume=Key("resume", say("CONTINUE"), tone="main") if paused else Key(),
            footer=(undo_key(phone), MORE, help_key(phone)))

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        if pressed.name == "bag":
            return self._bag(0.5 if pressed.half else 1.0, pressed.press_ms)
        if pressed.name == "undo":
            return undo_act(self._phone, pressed.press_ms)
        if pressed.name == "resume":
            return resume_act(self._phone, pressed.press_ms)
        return NOTHING, opens(pressed.name)

    def _bag(self, number: float, press_ms: int) -> tuple[Say, Act]:
        phone, now, where = self._phone, self._phone.now(), self._phone.where()
        pile = self._pile(where, now)

        def act() -> Done:
            phone.tally.bag(now=now, where=where, bags=number, pile=pile, press_ms=press_ms)
            return Done("B1", said=joined(bags(number), saved(now)))
        return bags(number), act

    def _pile(self, where: Where | None, now: datetime) -> str | None:
        return self._phone.notes.pile_near(where, now)


def saved(now: datetime) -> Say:
    """Say that it is on disk, and when it was noted."""
    return say("saved {clock}", clock=figure("clock", now))


def resume_act(phone: Phone, press_ms: int) -> tuple[Say, Act]:
    """Make the act of CONTINUE after a pause."""
    now, where = phone.now(), phone.parts.location.at(phone.now())

    def act() -> Done:
        phone.outing.resume(now=now, where=where, press_ms=press_ms)
        return Done("B1", "work")
    return say("CONTINUE"), act


def _bag_key(answer: Answer | None) -> Key:
    text = count(1, "{n} BAG", "{n} BAGS")
    if answer is None or answer.band in ("ready", "cannot_tell", "near_edge"):
        return Key("bag", text, kind="half", tone="main")
    if answer.state is None:
        return Key("bag", text, sub=say("outside the block"), kind="half", tone="framed")
    return Key("bag", text, sub=say("{cell} {state}", cell=answer.cell or "",
                                    state=STATES[answer.state]), kind="half", tone="framed")
