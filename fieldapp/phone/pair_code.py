"""PAIR BY CODE: where the shed is, the eight digits on its page, and what came of it.

Rule 1: the address of the last time is offered and taken by one press.
Rule 2: the digits are forgotten as soon as they were used.
"""

from typing import Literal

from fieldapp.device.link.address import address_of
from fieldapp.device.link.trouble import LinkError
from fieldapp.phone.footer import BACK
from fieldapp.phone.keys import NO_KEY, Act, Done, Key, Pressed, opens, stay
from fieldapp.phone.pages import ChoiceShown, PadShown, address_keys, code_keys
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, raw, say

_DIGITS = 8
_HALF = 4
#: As `255.255.255.255:65535`.
_LONGEST = 21
_Page = Literal["where", "address", "code", "told"]
_NO_ADDRESS = say("No address: read it again")


class PairCode:
    """The pages of a pairing by code."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone
        self._last = phone.parts.folder.last_address()
        self._page: _Page = "where" if self._last else "address"
        self._address = self._typed = self._code = ""
        if phone.link.running:
            self._page = "told"

    def shown(self) -> ChoiceShown | PadShown:
        """Give the page that is up."""
        if self._page == "where":
            return self._where()
        if self._page == "told":
            return self._told()
        return self._digits() if self._page == "code" else self._pad()

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        word, _, what = pressed.name.partition(" ")
        if word == "pair":
            return NOTHING, self._pair
        if word == "same":
            return say("the shed's address"), self._move
        if word == "next":
            return NOTHING, lambda: self._take(self._typed)
        if word == "last":
            return NOTHING, lambda: self._take(self._last)
        if word in ("digit", "clear"):
            return NOTHING, lambda: self._type(what)
        if word == "type":
            return NOTHING, lambda: self._turn("address")
        if word == "again":
            return NOTHING, lambda: self._turn("code" if self._address else "address")
        return NOTHING, opens("hand_over")

    def back(self) -> Done:
        """Step back by one page; what goes on goes on."""
        if self._page == "code":
            return self._turn("where" if self._last else "address")
        if self._page == "address" and self._last:
            return self._turn("where")
        return Done("B0", "hand_over")

    def _where(self) -> ChoiceShown:
        lines = [say("The shed shows its address and eight digits on its page.")]
        if self._phone.install.pin:
            lines.append(say("Is it the same shed at another address? SAME SHED needs no digits."))
        keys = (Key("last", raw(self._last), sub=say("as the last time"), tone="main"),
                Key("type", say("TYPE THE ADDRESS")))
        return ChoiceShown(say("WHERE IS THE SHED?"), keys, (NO_KEY, NO_KEY, BACK), tuple(lines),
                           columns=1)

    def _pad(self) -> PadShown:
        following = Key("next", say("NEXT"), tone="main" if self._typed else "faint")
        return PadShown(say("THE SHED'S ADDRESS"), raw(self._typed or "_"), (), address_keys(),
                        (Key("clear", say("CLEAR")), following, BACK))

    def _digits(self) -> PadShown:
        whole = len(self._code) == _DIGITS
        same = (Key("same", say("SAME SHED")),) if self._phone.install.pin else ()
        typed = self._code.ljust(_DIGITS, "_")
        return PadShown(say("THE SHED'S 8 DIGITS"), raw(f"{typed[:_HALF]} {typed[_HALF:]}"), same,
                        code_keys(), (Key("clear", say("CLEAR")),
                                      Key("pair", say("PAIR"), tone="main" if whole else "faint"),
                                      BACK))

    def _told(self) -> ChoiceShown:
        link = self._phone.link
        again = () if link.running else (
            Key("again", say("TYPE THE DIGITS AGAIN")), Key("type", say("TYPE THE ADDRESS")))
        lines = (link.going(),) if link.running else link.told
        return ChoiceShown(say("PAIR BY CODE"), again, (NO_KEY, NO_KEY, BACK), lines, columns=1,
                           told_much=True)

    def _turn(self, page: _Page) -> Done:
        self._page, self._code = page, ""
        return stay()

    def _type(self, what: str) -> Done:
        if self._page == "code":
            self._code = (self._code + what)[:_DIGITS] if what else self._code[:-1]
        else:
            self._typed = (self._typed + what)[:_LONGEST] if what else self._typed[:-1]
        return stay()

    def _take(self, address: str) -> Done:
        try:
            self._address = str(address_of(address))
        except LinkError:
            return Done("B3", said=_NO_ADDRESS)
        return self._turn("code")

    def _pair(self) -> Done:
        if len(self._code) < _DIGITS:
            return Done("B0", said=say("Type all eight digits first"))
        phone = self._phone
        phone.link.pair(self._address, self._code, now=phone.now(), program=phone.parts.program)
        return self._turn("told")

    def _move(self) -> Done:
        self._phone.parts.folder.shed_at(self._address)
        self._phone.reopen()
        return Done("B1", "hand_over", say("The address is kept"))
