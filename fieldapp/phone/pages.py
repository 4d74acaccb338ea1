"""The two kinds of page that most things are noted on: a pad of values, and a page of choices.

Rule 1: a pad's values ascend, stand always in the same place, and none is lit beforehand.
"""

import dataclasses
from collections.abc import Sequence

from fieldapp.phone.keys import NO_KEY, Key
from fieldapp.phone.say import Say, figure, raw, say


@dataclasses.dataclass(frozen=True)
class PadShown:
    """A pad.

    Attributes
    ----------
    title, slots : Say
        What is asked; what is noted so far.
    top : tuple of Key
        Names or one key above the pad; none for plain slots.
    values : tuple of Key
        Twelve, row by row; a key without a name is an empty place.
    footer : tuple of Key
        Three.
    """

    title: Say
    slots: Say
    top: tuple[Key, ...]
    values: tuple[Key, ...]
    footer: tuple[Key, ...]


@dataclasses.dataclass(frozen=True)
class ChoiceShown:
    """A page of choices.

    Attributes
    ----------
    title : Say
        What is asked.
    lines : tuple of Say
        What is told above the keys.
    keys : tuple of Key
        Up to ten.
    columns : int
        One or two.
    main : Key
        What ends the page, apart from the choices; or no key.
    footer : tuple of Key
        Three.
    told_much : bool
        The lines are sentences: they get as much room as the keys leave on the smallest phone.
    """

    title: Say
    keys: tuple[Key, ...]
    footer: tuple[Key, ...]
    lines: tuple[Say, ...] = ()
    columns: int = 2
    main: Key = NO_KEY
    told_much: bool = False


def value_keys(values: Sequence[float], lit: float | None = None) -> tuple[Key, ...]:
    """Make the twelve keys of a pad; what is left over stays empty."""
    keys = [Key(f"value {value:g}", _figure(value), tone="lit" if value == lit else "plain")
            for value in values]
    return (*keys, *[NO_KEY] * (12 - len(keys)))


def digit_keys() -> tuple[Key, ...]:
    """Make the keys of the one pad of digits."""
    return (*_one_to_nine(), Key("digit .", say(".")), _ZERO, Key("clear", say("CLEAR")))


def address_keys() -> tuple[Key, ...]:
    """Make the keys of the pad that an address is typed on."""
    return (*_one_to_nine(), Key("digit .", raw(".")), _ZERO, Key("digit :", raw(":")))


def code_keys() -> tuple[Key, ...]:
    """Make the keys of a pad of digits alone."""
    return (*_one_to_nine(), NO_KEY, _ZERO, NO_KEY)


_ZERO = Key("digit 0", raw("0"))


def _one_to_nine() -> tuple[Key, ...]:
    return tuple(Key(f"digit {name}", raw(name)) for name in "123456789")


def _figure(value: float) -> Say:
    return say("{n}", n=figure("bags" if value % 1 else "number", value))


def footer(left: Key = NO_KEY, middle: Key = NO_KEY, right: Key = NO_KEY) -> tuple[Key, ...]:
    """Make the footer's three places."""
    return (left, middle, right)
