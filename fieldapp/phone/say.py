"""What is said, before it is said in a language: a message's English and the figures in it.

Rule 1: a message's id is its English text; `fieldapp.words` turns it into the person's language.
Rule 2: a figure keeps its kind, so that each language writes it in its own way.
"""

import dataclasses
from collections.abc import Mapping
from datetime import date, datetime
from types import MappingProxyType
from typing import Any, Literal

FigureKind = Literal["bags", "metres", "kg", "pct", "number", "day", "short_day", "clock", "span",
                     "wind", "degrees", "latitude", "longitude"]


_NONE: Mapping[str, Any] = MappingProxyType({})


@dataclasses.dataclass(frozen=True)
class Figure:
    """A figure that a language is to write: metres [m], kg, pct [%], span [s], degrees [deg]."""

    kind: FigureKind
    value: float | date | datetime | str
    digits: int = 0


@dataclasses.dataclass(frozen=True)
class Say:
    """One message.

    Attributes
    ----------
    text : str
        Its English, with a {name} for each value; as it is where `raw`.
    values : mapping
        What stands for each name.
    count : float or None
        How many of something it speaks of; then `many` is its English for more than one.
    raw : bool
        A name or label, the same in each language.
    """

    text: str
    values: Mapping[str, "Value"] = dataclasses.field(default_factory=lambda: _NONE)
    count: float | None = None
    many: str = ""
    raw: bool = False


Value = Figure | Say | str | int
NOTHING = Say("", raw=True)


def say(text: str, **values: Value) -> Say:
    """Make a message."""
    return Say(text, MappingProxyType(values))


def count(n: float, one: str, many: str, **values: Value) -> Say:
    """Make a message about n things, halves among them; {n} stands for the number."""
    return Say(one, MappingProxyType(values), n, many)


def raw(text: str) -> Say:
    """Make what is the same in each language: a name, a label, a unit."""
    return Say(text, raw=True)


def joined(*parts: Say | None, by: str = " · ") -> Say:
    """Join messages into one line, leaving out what is empty."""
    told = [part for part in parts if part is not None and part != NOTHING]
    names = {f"part{index}": part for index, part in enumerate(told)}
    return Say(by.join(f"{{{name}}}" for name in names), MappingProxyType(names), raw=True)


def figure(kind: FigureKind, value: float | date | datetime | str, digits: int = 0) -> Figure:
    """Make a figure."""
    return Figure(kind, value, digits)
