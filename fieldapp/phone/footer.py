"""The footer's three keys: UNDO names what it will undo, MORE, and OK·HELP with when it is due.

Rule 1: BACK lies on OK·HELP's place and never on UNDO's, so that a doubled press changes nothing.
"""

from fieldapp.capture.undo import Offer
from fieldapp.phone.keys import Act, Done, Key
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, count, figure, say
from fieldapp.phone.things import thing

BACK = Key("back", say("BACK"))
MORE = Key("more", say("MORE"))


def undo_key(phone: Phone) -> Key:
    """Give the undo key with what it would do now."""
    offer = phone.undo.offer(phone.now())
    if offer is None:
        return Key("undo", say("UNDO"), kind="slow", tone="faint")
    text = say("PUT BACK") if offer.action == "put_back" else say("UNDO")
    return Key("undo", text, sub=_named(phone, offer), kind="slow")


def help_key(phone: Phone) -> Key:
    """Give OK·HELP, with the time by which to check in."""
    state, due = phone.check_in.state(phone.now()), phone.check_in.due_at
    tone = {"soon": "look", "overdue": "trouble", "help": "trouble"}.get(state, "plain")
    sub = NOTHING if due is None else say("due {clock}", clock=figure("clock", due))
    return Key("help", say("OK·HELP"), sub=sub, tone=tone)  # type: ignore[arg-type]


def undo_act(phone: Phone, press_ms: int) -> tuple[Say, Act]:
    """Make the act of the undo key as it stands now."""
    now, where, offer = phone.now(), phone.where(), phone.undo.offer(phone.now())
    if offer is None:
        return NOTHING, lambda: Done("B0", said=say("Nothing to undo"))
    named = _named(phone, offer)

    def act() -> Done:
        if offer.action == "put_back":
            phone.undo.put_back(now=now, where=where, press_ms=press_ms)
            return Done("B1", said=say("{thing} is back", thing=named))
        phone.undo.undo(now=now, where=where, press_ms=press_ms)
        return Done("B2", said=say("{thing} undone", thing=named))
    return say("undo {thing}", thing=named), act


def _named(phone: Phone, offer: Offer) -> Say:
    record = offer.record
    if record["kind"] == "bag" and record["bags"] == 1:
        number = phone.tally.number_of(record["seq"], phone.now())
        if number is not None:
            return say("bag {n}", n=figure("bags", number))
    if record["kind"] == "bag":
        return count(record["bags"], "{n} bag", "{n} bags")
    return thing(record)
