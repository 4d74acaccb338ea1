"""The press: what a wet, gloved thumb meant, told from the contacts on the screen.

Rule 1: keys act on release, and one contact gives at most one press.
Rule 2: a contact counts only if it was the one contact on the whole screen throughout, long and
still enough, ended on its key, and the key was armed when it was touched; anything else does
nothing, and all but a hold key let go early and a key not yet armed again raise the wet count.
Rule 3: a hold key alone bears splashes, as a call for help must be possible in rain: a contact
that began after the hold and lasts less than 80 ms does not spoil it, a longer one does from its
80th ms on, ended or not; the splash itself gives nothing and counts as wet.
Rule 4: a contact on no key counts as wet too: drops fall anywhere, a thumb aims at keys.
Rule 5: no clock and no screen in here: moments are monotonic [s], lengths are [dp], y goes up.
"""

from collections.abc import Hashable

from fieldapp.phone.keys import Kind, Pressed
from fieldapp.phone.tunables import HALF_MS, HOLD_MS, LOST_S, PRESS_MIN_MS, SLOW_PRESS_MS
from fieldapp.ui.contact import Box, Contact, Target, Why, whole_ms
from fieldapp.ui.rain_guard import RainGuard

__all__ = ["Box", "Kind", "Press", "Pressed", "Target", "Why"]

#: A hold let go early is a change of mind, a press too soon after the last a bounce: no rain.
_NOT_WET = ("early", "rearm")


class Press:
    """All contacts of one screen; the keys that were pressed come out of it.

    Parameters
    ----------
    guard_always : bool
        Whether every key is slow whatever the weather.
    """

    def __init__(self, *, guard_always: bool = False) -> None:
        self.guard_always = guard_always
        self._covered = False
        self._contacts: dict[Hashable, Contact] = {}
        self._released_s: dict[str, float] = {}
        self._guard = RainGuard()
        self._rejected: Why | None = None

    @property
    def covered(self) -> bool:
        """Whether a pocket or a flap lies over the phone: then contacts are not even counted."""
        return self._covered

    @covered.setter
    def covered(self, covered: bool) -> None:
        self._covered = covered
        if covered:
            self.cancel()

    def down(self, contact: Hashable, x: float, y: float, *, target: Target | None,
             now_s: float) -> None:
        """Take note of a contact that begins; rules 2 and 3 say which it spoils.

        Parameters
        ----------
        contact : hashable
            What names it until its end; one that comes again without an end begins anew.
        x, y : float
            Where. [dp]
        target : Target or None
            The key under it, if any; it stays the one meant.
        now_s : float
            Monotonic. [s]
        """
        if self._covered:
            return
        self._spoil_splashed(now_s)
        others = {name: one for name, one in self._contacts.items()
                  if name != contact and whole_ms(one.last_s, now_s) < LOST_S * 1000}
        least_ms, shown = self._least(target, now_s)
        new = Contact(target, x, y, now_s, self._armed(target, now_s), least_ms, shown)
        if others:
            new.spoil("two")
        for one in others.values():
            if not one.is_hold:
                one.spoil("two")
        self._contacts = {**others, contact: new}

    def move(self, contact: Hashable, x: float, y: float, *, now_s: float) -> None:
        """Take note of where a contact is now [dp]; an unknown one is ignored."""
        one = self._contacts.get(contact)
        if one is not None:
            one.go(x, y, now_s)

    def up(self, contact: Hashable, x: float, y: float, *, now_s: float) -> Pressed | None:
        """Take note of the end of a contact, the only place where a press happens.

        Parameters
        ----------
        contact : hashable
            An unknown one, or one begun under cover or before `cancel`, is ignored.
        x, y : float
            Where. [dp]
        now_s : float
            Monotonic. [s]

        Returns
        -------
        Pressed or None
            The press, if it counts; else `rejected` says why not.
        """
        self._rejected = None
        self._spoil_splashed(now_s)
        one = self._contacts.pop(contact, None)
        if one is None:
            return None
        one.go(x, y, now_s)
        self._rejected = one.why_not(now_s)
        if one.target is None or self._rejected is not None:
            if self._rejected not in _NOT_WET:
                self._guard.refuse(now_s)
            return None
        self._released_s[one.target.name] = now_s
        held_ms = one.held_ms(now_s)
        half = one.target.kind == "half" and held_ms >= HALF_MS
        return Pressed(one.target.name, held_ms, half)

    def cancel(self) -> None:
        """Drop all contacts, as when the screen changes or the app pauses; none counts as wet."""
        self._contacts.clear()

    def ticked(self, now_s: float) -> str | None:
        """Name the key whose half or whole hold is reached, once for each contact.

        Parameters
        ----------
        now_s : float
            Monotonic. [s]

        Returns
        -------
        str or None
            A half key from 1 s on, a hold key from 2 s on, if let go now it would count so.
        """
        one = self._sound(now_s)
        if one is None or one.target is None or one.ticked:
            return None
        due_ms = {"half": HALF_MS, "hold": HOLD_MS}.get(one.target.kind)
        if due_ms is None or one.held_ms(now_s) < due_ms:
            return None
        one.ticked = True
        return one.target.name

    def progress(self, now_s: float) -> tuple[str, float] | None:
        """Give how full the bar or ring of the key held is.

        Parameters
        ----------
        now_s : float
            Monotonic. [s]

        Returns
        -------
        tuple of (str, float) or None
            Key and 0–1, of a slow or hold key or, under the guard, of any; None once the contact
            can no longer count.
        """
        one = self._sound(now_s)
        if one is None or one.target is None or not one.shown:
            return None
        return one.target.name, min(1.0, max(0, one.held_ms(now_s)) / one.least_ms)

    def rejected(self) -> Why | None:
        """Say why the last `up` gave nothing; None if it gave a press or was not known."""
        return self._rejected

    def guard_on(self, now_s: float) -> bool:
        """Say whether every key is slow: for rain on the screen, or always by choice."""
        return self.guard_always or self._guard.on(now_s)

    def guard_entered(self, now_s: float) -> bool:
        """Say once, each time rain has brought the guard on, that it is time for the advice."""
        return self._guard.entered(now_s)

    def _armed(self, target: Target | None, now_s: float) -> bool:
        if target is None or whole_ms(target.arms_at_s, now_s) < 0:
            return False
        released_s = self._released_s.get(target.name)
        return released_s is None or whole_ms(released_s, now_s) >= target.rearm_ms

    def _least(self, target: Target | None, now_s: float) -> tuple[int, bool]:
        kind = None if target is None else target.kind
        if kind == "hold":
            return HOLD_MS, True
        if kind == "slow" or self.guard_on(now_s):
            return SLOW_PRESS_MS, True
        return PRESS_MIN_MS, False

    def _spoil_splashed(self, now_s: float) -> None:
        """Spoil a hold once a contact that began after it is too old to end as a splash."""
        in_order = list(self._contacts.values())  # only the first can be a sound hold
        if len(in_order) > 1 and in_order[1].held_ms(now_s) >= PRESS_MIN_MS:
            in_order[0].spoil("two")

    def _sound(self, now_s: float) -> Contact | None:
        self._spoil_splashed(now_s)
        for one in self._contacts.values():
            if one.armed and one.why_not(now_s) in (None, "short", "early"):
                return one  # there is but one: of two, the later is spoilt
        return None
