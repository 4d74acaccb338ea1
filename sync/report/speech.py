"""How the words, figures and days of a table are said: as a terminal has them, or in a language.

Rule 1: a table is made of figures and messages; nobody reads them back out of what was written.
"""

import dataclasses
from collections.abc import Callable
from datetime import date
from typing import Protocol

#: All that the tables of what is watched pass to `say`, but for kinds of work.
SPEECH_WORDS = (
    "{low} to {high}", "{low} to {high}, {n} plots", "{low} to {high}, 1 plot",
    "{low} to {high}, means", "{change} points", "{change} mm")


class _Say(Protocol):
    def __call__(self, text: str, /, **values: str | int) -> str: ...


@dataclasses.dataclass(frozen=True)
class Speech:
    """A way to say things.

    Attributes
    ----------
    say : callable
        Gives a message with a value for each of its {names}.
    number : callable
        Writes a figure with so many places.
    day : callable
        Writes a day.
    """

    say: _Say
    number: Callable[[float, int], str]
    day: Callable[[date], str]

    def signed(self, value: float, places: int) -> str:
        """Write a change with its sign; what rounds to 0 has none."""
        said = self.number(value, places)
        return f"+{said}" if value > 0.0 and said.strip("0.,") else said

    def span(self, low: str, high: str) -> str:
        """Say a range, its ends as they are said alone."""
        return self.say("{low} to {high}", low=low, high=high)


def _english(text: str, /, **values: str | int) -> str:
    return text.format(**values) if values else text


def _number(value: float, places: int) -> str:
    said = f"{value:,.{places}f}"
    return said if said.strip("-0.,") else said.removeprefix("-")


#: English, days as ISO 8601, thousands parted: what the commands and files say.
PLAIN = Speech(_english, _number, date.isoformat)
