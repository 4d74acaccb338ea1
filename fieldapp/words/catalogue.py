"""The phone's sentences in the language chosen.

Rule 1: a message's id is its English text; English needs no catalogue.
Rule 2: no word raises: what has no translation, or one that does not fit, is said in English.
Rule 3: figures are written by `figures` before they enter a sentence, so that none has a point
where the language wants a comma.

After `fieldapp.po` was changed, compile it and commit both files:

    pybabel compile -d fieldapp/words/locale -D fieldapp
"""

import gettext
import struct
from collections.abc import Mapping
from datetime import date, datetime, tzinfo
from importlib import resources
from string import Formatter
from types import MappingProxyType

from fieldapp.words import figures

#: What may be chosen, each in its own words.
LANGUAGES: Mapping[str, str] = MappingProxyType({"en": "English", "es": "Español"})
#: Longer spans are told in days. [s]
_DAYS_FROM_S = 48 * 3600.0
_DAY_S = 24 * 3600.0


def message(text: str) -> str:
    """Mark an English text that is looked up elsewhere as a message; it comes back unchanged."""
    return text


class Words:
    """All that the phone says, in one language and by the block's clock.

    Parameters
    ----------
    language : str
        One of `LANGUAGES`; any other speaks English.
    zone : tzinfo
        The block's time zone.
    """

    def __init__(self, language: str, zone: tzinfo) -> None:
        self.language = language
        self.zone = zone
        self._translations = _translations(language)

    def __call__(self, text: str, /, **values: str | int) -> str:
        """Say a message.

        Parameters
        ----------
        text : str
            Its English, with a {name} for each value.
        **values : str or int
            What stands for each name; a figure with a fraction or a sign is written first.

        Returns
        -------
        str
            In English if there is no translation with the same names; as it is if a value lacks.
        """
        said = self._translations.gettext(text) if text else ""
        return _filled(said, text, values)

    def count(self, n: float, one: str, many: str, /, **values: str | int) -> str:
        """Say a message about a number of things, halves among them.

        Parameters
        ----------
        n : float
            How many; up to one is said as one: ½ bag, 1 bag, 1½ bags, 0 bags.
        one, many : str
            The English of either, with {n} for the number.
        **values : str or int
            What stands for the other names.

        Returns
        -------
        str
            As `__call__`.
        """
        like = 1 if 0 < n <= 1 else 2
        said = self._translations.ngettext(one, many, like)
        return _filled(said, one if like == 1 else many, {**values, "n": self.bags(n)})

    def number(self, value: float, digits: int = 0) -> str:
        """Write a number: see `figures.number`."""
        return figures.number(value, digits, self.language)

    def bags(self, n: float) -> str:
        """Write a number of bags to the half: see `figures.bags`."""
        return figures.bags(n)

    def metres(self, distance_m: float) -> str:
        """Write a distance [m]: see `figures.metres`."""
        return figures.metres(distance_m, self.language)

    def kg(self, mass_kg: float, digits: int = 0) -> str:
        """Write a mass [kg] with its unit."""
        return f"{self.number(mass_kg, digits)} kg"

    def pct(self, share_pct: float) -> str:
        """Write a share [%] with its sign, to the whole percent."""
        return f"{self.number(share_pct)} %"

    def day(self, on: date) -> str:
        """Write a day with its year; an instant is the block's day: see `figures.day`."""
        return figures.day(self._local_day(on), self.language)

    def short_day(self, on: date) -> str:
        """Write a day without its year; an instant is the block's day."""
        return figures.short_day(self._local_day(on), self.language)

    def clock(self, at: datetime) -> str:
        """Write an instant's time of day by the block's clock, 24 hours: 07:40."""
        return at.astimezone(self.zone).strftime("%H:%M")

    def span(self, seconds: float) -> str:
        """Write how long something lasts or is off [s]: see `figures.span`; days from 48 h."""
        length_s = abs(seconds)
        if length_s >= _DAYS_FROM_S:
            return self.count(length_s // _DAY_S, "{n} day", "{n} days")
        return figures.span(length_s)

    def wind(self, name: str) -> str:
        """Write one of the eight winds, given in English: see `figures.wind`."""
        return figures.wind(name, self.language)

    def degrees(self, bearing_deg: float) -> str:
        """Write a bearing [deg] to the whole degree: 47°."""
        return figures.degrees(bearing_deg)

    def latitude(self, lat: float) -> str:
        """Write a latitude [deg] to be read out: S 46.12345."""
        return figures.latitude(lat, self.language)

    def longitude(self, lon: float) -> str:
        """Write a longitude [deg] to be read out: E 168.54321, O in Spanish for west."""
        return figures.longitude(lon, self.language)

    def position(self, lat: float, lon: float) -> tuple[str, str]:
        """Write a place [deg] to be read out, in two lines."""
        return self.latitude(lat), self.longitude(lon)

    def _local_day(self, on: date) -> date:
        return on.astimezone(self.zone).date() if isinstance(on, datetime) else on


def _translations(language: str) -> gettext.NullTranslations:
    """Open a language's catalogue out of the package; English if there is none to be read."""
    if language == "en" or language not in LANGUAGES:
        return gettext.NullTranslations()
    path = f"locale/{language}/LC_MESSAGES/fieldapp.mo"
    try:
        with resources.files("fieldapp.words").joinpath(path).open("rb") as file:
            return gettext.GNUTranslations(file)
    except (OSError, ValueError, LookupError, struct.error):  # none there, or a broken one
        return gettext.NullTranslations()


def _filled(said: str, english: str, values: Mapping[str, str | int]) -> str:
    pattern = said if _names(said) == _names(english) else english
    try:
        return pattern.format(**values)
    except (KeyError, IndexError, ValueError):
        return pattern


def _names(pattern: str) -> set[str] | None:
    """Give the names in braces; None where the braces do not match."""
    try:
        return {name for _, name, _, _ in Formatter().parse(pattern) if name is not None}
    except ValueError:
        return None
