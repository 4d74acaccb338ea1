"""P1 START: who carries this phone, as what, and whether the phone is fit to go.

Rule 1: nobody is chosen beforehand; START is stopped by nothing but a journal that cannot write.
Rule 2: an outing that a killed app left open is offered again; going on makes no record.
Rule 3: a phone that serves two blocks asks which before it asks who.
"""

import dataclasses
from datetime import date

from fieldapp.capture.outing import Role
from fieldapp.phone.keys import Act, Done, Key, Pressed, opens, stay
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, figure, joined, raw, say
from fieldapp.phone.strip import Notice, health

#: Keys for names on one page.
NAMES = 6
ROLES: dict[str, Say] = {"picker": say("PICKER"), "surveyor": say("SURVEYOR")}
_NOTICE = say("Location is kept from START to END, to see which ground was picked and to find "
              "you. The owner can see it. PAUSE stops it.")


@dataclasses.dataclass(frozen=True)
class StartShown:
    """What P1 shows.

    Attributes
    ----------
    title : Say
        BLOCK?, WHO? or that an outing is still open.
    names : tuple of Key
        Up to six.
    roles : tuple of Key
        Two; none while a block is asked for or an outing is open.
    health : Notice or None
        The worst; None is PHONE OK.
    notice : Say or None
        What is kept of the person's place; None once a person is chosen: then today's safety
        line has the place.
    main : Key
        START or CONTINUE.
    day : Key
        The way to hand-over and settings.
    today : date
        The local day, for its safety line.
    """

    title: Say
    names: tuple[Key, ...]
    roles: tuple[Key, ...]
    health: Notice | None
    notice: Say | None
    main: Key
    day: Key
    today: date


class Start:
    """The choices made on P1 so far."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone
        self._person = ""
        self._role: Role | None = None
        self._page = 0
        self._blocks = tuple(one for one in phone.parts.folder.installs() if one.block)
        self._block_known = len(self._blocks) < 2

    def shown(self) -> StartShown:
        """Give what P1 shows now."""
        worst = health(self._phone)[:1]
        day = Key("day", say("DAY"))
        notice = _NOTICE if not self._person else None
        if self._phone.outing.state != "none":
            return StartShown(self._still_open(), (Key("end", say("END")),), (), _first(worst),
                              notice, Key("continue", say("CONTINUE"), tone="main"), day,
                              self._phone.today())
        if not self._block_known:
            blocks = tuple(Key(f"block {one.device}", raw(one.block_name or one.device))
                           for one in self._blocks)
            return StartShown(say("BLOCK?"), blocks[:NAMES], (), _first(worst), notice,
                              Key("start", say("CHOOSE BLOCK"), tone="faint"), day,
                              self._phone.today())
        return StartShown(say("WHO?"), self._names(), self._roles(), _first(worst), notice,
                          self._start_key(), day, self._phone.today())

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        word, _, what = pressed.name.partition(" ")
        if word == "start":
            return self._start(pressed.press_ms)
        if word == "continue":
            return NOTHING, opens("work")
        if word == "end":
            return NOTHING, opens("finish")
        if word == "day":
            return NOTHING, opens("day")
        return NOTHING, lambda: self._choose(word, what)

    def _choose(self, word: str, what: str) -> Done:
        if word == "block":
            self._phone.use(what)
            self._block_known = True
        elif word == "who":
            self._person = what
        elif word == "names":
            self._page += 1
        elif word == "role":
            self._role = "surveyor" if what == "surveyor" else "picker"
        return stay()

    def _start(self, press_ms: int) -> tuple[Say, Act]:
        phone, person, role = self._phone, self._person, self._role
        if not person or role is None:
            return NOTHING, lambda: Done("B0", said=self._lacks())
        now, fix, cell = phone.now(), phone.fix(), self._cell()

        def act() -> Done:
            phone.outing.start(person, role, now=now, where=fix, sheet=phone.sheet, cell=cell,
                               press_ms=press_ms)
            return Done("B1", "work")
        return say("START {who}", who=raw(phone.call(person))), act

    def _names(self) -> tuple[Key, ...]:
        people = self._phone.people()
        if len(people) <= NAMES:
            return tuple(map(self._name, people))
        each = NAMES - 1
        pages = -(-len(people) // each)
        first = self._page % pages * each
        return (*map(self._name, people[first:first + each]), Key("names", say("MORE NAMES")))

    def _name(self, person: tuple[str, str]) -> Key:
        code, call = person
        return Key(f"who {code}", raw(call), tone="lit" if code == self._person else "plain")

    def _roles(self) -> tuple[Key, ...]:
        return tuple(Key(f"role {role}", text, tone="lit" if role == self._role else "plain")
                     for role, text in ROLES.items())

    def _start_key(self) -> Key:
        if self._lacks() != NOTHING:
            return Key("start", self._lacks(), tone="faint")
        cell = self._cell()
        return Key("start", say("START"), tone="main",
                   sub=NOTHING if cell is None else say("today in {cell}", cell=cell))

    def _lacks(self) -> Say:
        if not self._block_known:
            return say("CHOOSE BLOCK")
        if not self._person:
            return say("CHOOSE WHO")
        return NOTHING if self._role else say("CHOOSE WORK")

    def _cell(self) -> str | None:
        answer = self._phone.answer()
        return None if answer is None or answer.cannot_tell or answer.outside else answer.cell

    def _still_open(self) -> Say:
        outing = self._phone.outing
        since = outing.since or self._phone.now()
        return joined(
            say("Outing still open since {clock}", clock=figure("clock", since)),
            raw(self._phone.call(outing.person)), ROLE_WORDS[outing.role or "picker"])


ROLE_WORDS: dict[str, Say] = {"picker": say("picker"), "surveyor": say("surveyor")}


def _first(notices: tuple[Notice, ...]) -> Notice | None:
    return notices[0] if notices else None
