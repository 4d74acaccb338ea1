"""P5 OK·HELP: "I'm OK", and a call for help as far as a phone without signal can.

Rule 1: it says that nobody has been told unless the shed is known to hold the call.
Rule 2: the place stands in digits to be read out, with its age where it is not fresh.
"""

import dataclasses
from datetime import datetime

from fieldapp.capture.places import way_to
from fieldapp.ground import FIX_STALE_S
from fieldapp.ground.shapes import wind_of
from fieldapp.phone.footer import BACK
from fieldapp.phone.keys import NO_KEY, Act, Done, Key, Pressed, opens
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, figure, joined, raw, say
from fieldapp.record import Where

#: What waits if a call cannot be written.
CALL = say("HELP")


@dataclasses.dataclass(frozen=True)
class HelpShown:
    """What P5 shows.

    Attributes
    ----------
    running : bool
        A call for help runs: the whole screen is red.
    since : Say
        Since when.
    lat, lon, radius, place : Say
        The place in digits; its radius and age; cell, and the way from the gate.
    told : Say
        Whether anybody has been told, and what to do.
    fine, help : Key
        I'M OK or I'M OK NOW; HELP, a key with no name while it runs.
    footer : tuple of Key
        Three.
    """

    running: bool
    since: Say
    lat: Say
    lon: Say
    radius: Say
    place: Say
    told: Say
    fine: Key
    help: Key
    footer: tuple[Key, ...]


class Help:
    """The page of check-ins."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone

    def shown(self) -> HelpShown:
        """Give what P5 shows now."""
        since = self._phone.check_in.help_since
        fix = self._place()
        running = since is not None
        fine = (Key("fine", say("HOLD 2 s: I'M OK NOW"), kind="hold", tone="main") if running
                else Key("fine", say("I'M OK"), tone="main"))
        return HelpShown(
            running=running,
            since=NOTHING if since is None else say("HELP since {clock}",
                                                    clock=figure("clock", since)),
            lat=say("No position yet") if fix is None else _lat(fix),
            lon=NOTHING if fix is None else _lon(fix),
            radius=_radius(fix), place=self._named(fix), told=self._told(since), fine=fine,
            help=NO_KEY if running else Key("help", say("HOLD 2 s: HELP"), kind="hold",
                                            tone="trouble"),
            footer=(NO_KEY, NO_KEY, BACK))

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        phone, now, where = self._phone, self._phone.now(), self._place()
        if pressed.name == "fine":
            def fine() -> Done:
                phone.check_in.fine(now=now, where=where, press_ms=pressed.press_ms)
                return Done("B1", "home", self._next_due())
            return say("I'M OK"), fine
        if pressed.name == "help":
            def call() -> Done:
                phone.check_in.help(now=now, where=where, press_ms=pressed.press_ms)
                return Done("B4")
            return CALL, call
        return NOTHING, opens("home")

    def back(self) -> Done:
        """Leave the page; a call goes on."""
        return Done("B0", "home")

    def _place(self) -> Where | None:
        """Give the newest place, in a pause too: it is shown to be read out, and kept by HELP."""
        return self._phone.parts.location.at(self._phone.now())

    def _named(self, fix: Where | None) -> Say:
        sheet = self._phone.sheet
        if fix is None or sheet is None:
            return NOTHING
        answer = self._phone.answer()
        cell = None if answer is None or answer.cell is None else raw(answer.cell)
        return joined(cell, _from_gate(self._phone, fix))

    def _told(self, since: datetime | None) -> Say:
        if since is None:
            return say("This phone cannot call from here. Use the radio or beacon.")
        if self._shed_has_it():
            return say("The shed has it. Use the radio or beacon too.")
        return say("Nobody has been told yet. Use the radio or beacon.")

    def _shed_has_it(self) -> bool:
        calls = [one for one in self._phone.outing.noted.of("check_in")
                 if one.record["state"] == "help"]
        held = self._phone.journal.acknowledged()
        return bool(calls) and any(first <= calls[-1].seq <= last for first, last in held)

    def _next_due(self) -> Say:
        due = self._phone.check_in.due_at
        return say("I'M OK") if due is None else joined(
            say("I'M OK"), say("next by {clock}", clock=figure("clock", due)))


def read_out(fix: Where) -> Say:
    """Give a place in one line of digits, with its radius, and its age where it is not fresh."""
    return joined(_lat(fix), _lon(fix), _radius(fix), by="  ")


def _lat(fix: Where) -> Say:
    return say("{lat}", lat=figure("latitude", fix.lat))


def _lon(fix: Where) -> Say:
    return say("{lon}", lon=figure("longitude", fix.lon))


def _radius(fix: Where | None) -> Say:
    if fix is None:
        return NOTHING
    radius = None if fix.acc_m is None else say("± {radius}", radius=figure("metres", fix.acc_m))
    old = say("position {span} old", span=figure("span", fix.age_s)) \
        if fix.age_s > FIX_STALE_S else None
    return joined(radius, old)


def _from_gate(phone: Phone, fix: Where) -> Say | None:
    sheet = phone.sheet
    if sheet is None or sheet.gate is None:
        return None
    lat, lon = sheet.map.to_deg(*sheet.gate)
    gate = Where(lat, lon, 0.0)
    x, y = sheet.map.to_m(fix.lat, fix.lon)
    distance_m, bearing = way_to(sheet, gate, (x, y))
    return say("{distance} {wind} of gate", distance=figure("metres", distance_m),
               wind=figure("wind", wind_of(bearing)))
