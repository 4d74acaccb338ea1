"""The pages' sentences in the language chosen: the shed's own catalogue over the phone's.

Rule 1: a message's id is its English text; a word that the phone has too is said as the phone
says it, unless it means another thing on a page.
Rule 2: no word raises: what has no translation, or one that does not fit, is said in English.

After `shed.po` was changed, compile it and commit both files:

    pybabel compile -d sync/shed/words/locale -D shed
"""

import gettext
from collections.abc import Mapping
from datetime import date, datetime, tzinfo
from importlib import resources
from types import MappingProxyType
from typing import Any

from fieldapp.words.catalogue import LANGUAGES, Words, message

__all__ = ["LANGUAGES", "STATE_WORDS", "ShedWords", "message"]

_NONE = "–"
#: A cell's state, as the phone says it too.
STATE_WORDS: Mapping[str, str] = MappingProxyType({
    "ready": message("ready"), "taken": message("taken"), "resting": message("resting"),
    "unsurveyed": message("not surveyed"), "closed": message("closed")})


class ShedWords:
    """All that the pages say, in one language and by the block's clock.

    Parameters
    ----------
    language : str
        One of `LANGUAGES`; any other speaks English.
    zone : tzinfo
        The block's time zone.
    """

    def __init__(self, language: str, zone: tzinfo) -> None:
        self.language = language if language in LANGUAGES else "en"
        self.zone = zone
        self._phone = Words(self.language, zone)
        self._own = _translations(self.language)

    def __call__(self, text: str, /, **values: str | int) -> str:
        """Say a message.

        Parameters
        ----------
        text : str
            Its English, with a {name} for each value.
        **values : str or int
            What stands for each name.

        Returns
        -------
        str
            In English where there is no translation.
        """
        said = self._own.gettext(text) if text else ""
        if said == text:
            return self._phone(text, **values)
        try:
            return said.format(**values) if values else said
        except (KeyError, IndexError, ValueError):
            return self._phone(text, **values)

    def number(self, value: float | None, digits: int = 0) -> str:
        """Write a number; a dash where there is none."""
        return _NONE if value is None else self._phone.number(value, digits)

    def spread(self, found: Mapping[str, Any] | None, digits: int = 0) -> str:
        """Write the ends of a range, `low–high`; a dash where there is none."""
        if found is None or found["low"] is None or found["high"] is None:
            return _NONE
        return f"{self.number(found['low'], digits)}–{self.number(found['high'], digits)}"

    def day(self, on: date | str | None) -> str:
        """Write a day with its year, given as such or as ISO 8601; a dash where there is none."""
        if on is None:
            return _NONE
        return self._phone.day(date.fromisoformat(on) if isinstance(on, str) else on)

    def clock(self, at: datetime) -> str:
        """Write day, with its year, and time of day by the block's clock."""
        return f"{self._phone.day(at)} {self._phone.clock(at)}"

    def span(self, seconds: float) -> str:
        """Write how long something is off. [s]."""
        return self._phone.span(seconds)

    def on_map(self, text: str) -> str:
        """Say a word of the map, where a cell's state stands as the register has it."""
        return self.state(text) if text in STATE_WORDS else self(text)

    def state(self, state: str) -> str:
        """Say a cell's state."""
        return self(STATE_WORDS.get(state, state))


def _translations(language: str) -> gettext.NullTranslations:
    if language == "en":
        return gettext.NullTranslations()
    path = resources.files("sync.shed.words").joinpath(f"locale/{language}/LC_MESSAGES/shed.mo")
    try:
        with path.open("rb") as file:
            return gettext.GNUTranslations(file)
    except (OSError, ValueError):
        return gettext.NullTranslations()
