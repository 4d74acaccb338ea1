"""HAND OVER: what is unsent, sent over Wi-Fi or as a file, and what was brought to the phone.

Rule 1: handing over twice is harmless, and it says so.
Rule 2: each file brought is said, taken or refused with the reason; none is lost.
Rule 3: a phone that knows its shed sends; the file is there for all others, and for it too.
"""

from fieldapp.device.inbox import TakenIn
from fieldapp.phone.day import unsent
from fieldapp.phone.footer import BACK
from fieldapp.phone.keys import NO_KEY, Act, Done, Key, Pressed, opens
from fieldapp.phone.pages import ChoiceShown
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, count, figure, joined, raw, say


class HandOver:
    """The page, and what its keys have done."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone
        self._told: tuple[Say, ...] = ()
        self._taken: tuple[TakenIn, ...] = ()

    def shown(self) -> ChoiceShown:
        """Give what the page shows now."""
        link = self._phone.link
        last = self._phone.parts.folder.last_made()
        made = say("no file made yet") if last is None else say(
            "last file {day} {clock}", day=figure("short_day", last[0]),
            clock=figure("clock", last[0]))
        about = (joined(unsent(self._phone), made), joined(self._paired(), self._sheet()))
        told = (unsent(self._phone), link.going()) if link.running else (
            unsent(self._phone), *link.told) if link.told else (*about, *self._told)
        keys, foot = self._keys()
        return ChoiceShown(say("HAND OVER"), keys, foot, told, columns=1,
                           told_much=bool(link.told))

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        if pressed.name in ("send", "take") and self._phone.link.running:
            return NOTHING, lambda: Done("B0", said=say("Talking with the shed: wait"))
        if pressed.name == "send":
            return say("SEND TO SHED"), self._send
        if pressed.name == "make":
            return say("MAKE FILE"), self._make
        if pressed.name == "take":
            return say("TAKE FILES IN"), self._take
        return NOTHING, opens("pair_code")

    def back(self) -> Done:
        """Leave the page, and with it what was told; what goes on goes on."""
        self._phone.link.told = ()
        return Done("B0", "day")

    def _keys(self) -> tuple[tuple[Key, ...], tuple[Key, ...]]:
        """Give the keys and the footer: what this phone does most is large."""
        install, running = self._phone.install, self._phone.link.running
        knows = bool(install.key and install.pin and install.address)
        make = Key("make", say("MAKE FILE"), tone="plain" if knows else "main")
        take = Key("take", say("TAKE FILES IN"))
        pair = Key("pair", say("PAIR BY CODE"))
        if not knows:
            return (make, take), (pair, NO_KEY, BACK)
        send = Key("send", say("SEND TO SHED"), tone="faint" if running else "main")
        return (send, make), (pair, take, BACK)

    def _send(self) -> Done:
        phone = self._phone
        phone.track.flush(phone.now())
        self._told = ()
        phone.link.send(phone.install, now=phone.now(), program=phone.parts.program)
        return Done("B0")

    def _make(self) -> Done:
        phone = self._phone
        phone.link.told = ()
        made = phone.parts.folder.make_hand_overs(now=phone.now(), program=phone.parts.program)
        if not made:
            self._told = (say("Nothing new: all is handed over"),)
            return Done("B0")
        self._told = tuple(say("{device} {first}–{last}: {records}", device=one.device,
                               first=one.first, last=one.last,
                               records=count(one.count, "{n} record", "{n} records"))
                           if one.path_name else raw(one.why) for one in made)
        if not any(one.path_name for one in made):
            return Done("B3")
        return Done("B1", said=say("File made. Carry it to the shed."))

    def _take(self) -> Done:
        phone = self._phone
        phone.link.told = ()
        # Tried again, it finds no file any more: what it took before is still to be opened.
        taken = self._taken = self._taken + phone.parts.folder.take_in()
        if not taken:
            self._told = (say("No file is waiting"),)
            return Done("B0")
        phone.reopen()
        self._taken = ()
        self._told = tuple(joined(raw(one.name), raw(one.why)) if one.kind == "refused"
                           else joined(_KINDS[one.kind], say("taken in")) for one in taken)
        refused = any(one.kind == "refused" for one in taken)
        return Done("B3" if refused else "B1")

    def _paired(self) -> Say:
        install = self._phone.install
        if install.key is None:
            return say("not paired: pair by code, or bring the shed's pairing file")
        return say("paired with {block} as {phone}", block=install.block_name or "",
                   phone=install.device.partition("-")[0])

    def _sheet(self) -> Say:
        sheet = self._phone.sheet
        if sheet is None:
            return say("no sheet yet")
        return joined(say("sheet of {day}", day=figure("short_day", sheet.made_at)),
                      count(len(sheet.plots), "{n} plot", "{n} plots"))


_KINDS = {"pairing": say("pairing"), "sheet": say("sheet")}
