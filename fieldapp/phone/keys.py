"""A key as a screen is told to show it, and what a press of it does.

Rule 1: a press gives an act, bound to its moment and place; running it writes, and a write that
failed can be run again as the same press.
Rule 2: signs of success come from what an act returns, so never before the record is on disk.
"""

import dataclasses
from collections.abc import Callable
from typing import Any, Literal, Protocol

from fieldapp.phone.say import NOTHING, Say

Kind = Literal["quick", "slow", "hold", "half"]
Tone = Literal["plain", "main", "framed", "look", "trouble", "lit", "faint"]
Code = Literal["", "B0", "B1", "B2", "B3", "B4"]


@dataclasses.dataclass(frozen=True)
class Key:
    """A key.

    Attributes
    ----------
    name : str
        What a press of it is called; empty for a place with no key.
    text, sub : Say
        Its word and its second line.
    kind : str
        quick, slow, hold, or half: the bag key, where a long press is half a bag.
    tone : str
        plain; main (white on ink); framed (main, on ground that is not ready); look; trouble;
        lit (chosen); faint (not yet of use, but pressable).
    icon : str
        A shape beside the word.
    arms_ms : int
        Deaf for so long after its page opened. [ms]
    """

    name: str = ""
    text: Say = NOTHING
    sub: Say = NOTHING
    kind: Kind = "quick"
    tone: Tone = "plain"
    icon: str = ""
    arms_ms: int = 0


NO_KEY = Key()


@dataclasses.dataclass(frozen=True)
class Done:
    """What a press has done.

    Attributes
    ----------
    code : str
        The sign to give: B0 tick, B1 saved, B2 undone, B3 look, B4 trouble; empty for none.
    go : str
        The screen to open; empty to stay.
    said : Say
        One line to show for a while.
    """

    code: Code = ""
    go: str = ""
    said: Say = NOTHING


@dataclasses.dataclass(frozen=True)
class Pressed:
    """A press that counted: the key's name, how long it was [ms], whether it was past the tick."""

    name: str
    press_ms: int
    half: bool = False


Act = Callable[[], Done]


class Screen(Protocol):
    """What a screen shows and forwards presses to; most have `back` too, as BACK does."""

    def shown(self) -> Any:
        """Give what it shows now, as values; None once there is nothing more to show."""
        ...

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press, and what waits in words should it not be written."""
        ...


def stay() -> Done:
    """Do nothing but tick."""
    return Done("B0")


def opens(screen: str) -> Act:
    """Make the act that opens a screen."""
    return lambda: Done("B0", screen)
