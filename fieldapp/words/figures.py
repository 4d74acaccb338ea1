"""How figures are written in each language.

Rule 1: units are always written; minus is the sign itself (U+2212), not a hyphen.
Rule 2: a figure is rounded for the eye only; nothing reads it back.
"""

from collections.abc import Mapping
from datetime import date
from types import MappingProxyType

_COMMA = ("es",)
_MONTHS: Mapping[str, tuple[str, ...]] = MappingProxyType({
    "en": ("Jan", "Feb", "Mar", "Apr", "May", "Jun",
           "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"),
    "es": ("ene", "feb", "mar", "abr", "may", "jun",
           "jul", "ago", "sep", "oct", "nov", "dic")})
_KM_FROM_M = 1000
_MINUTE_S, _HOUR_S = 60, 3600


def number(value: float, digits: int = 0, language: str = "en") -> str:
    """Write a number.

    Parameters
    ----------
    value : float
        Any.
    digits : int
        Places after the decimal mark.
    language : str
        Sets the mark.

    Returns
    -------
    str
        Thousands stand plain; what rounds to nothing has no sign.
    """
    size = f"{abs(value):.{digits}f}"
    sign = "−" if value < 0 and size.strip("0.") else ""
    return sign + (size.replace(".", ",") if language in _COMMA else size)


def bags(n: float) -> str:
    """Write a number of bags to the half: ½, 1, 1½, 14."""
    whole, half = divmod(round(2 * n), 2)
    if not half:
        return number(whole)
    return f"{number(whole) if whole else ''}½"


def metres(distance_m: float, language: str = "en") -> str:
    """Write a distance.

    Parameters
    ----------
    distance_m : float
        How far. [m]
    language : str
        Sets the decimal mark.

    Returns
    -------
    str
        Whole metres, from 1000 m up kilometres to a tenth: 620 m, 1.2 km.
    """
    if round(distance_m) < _KM_FROM_M:
        return f"{number(distance_m)} m"
    return f"{number(distance_m / _KM_FROM_M, 1, language)} km"


def day(on: date, language: str = "en") -> str:
    """Write a day with its year: 14 Mar 2028, 14 mar 2028."""
    return f"{short_day(on, language)} {on.year}"


def short_day(on: date, language: str = "en") -> str:
    """Write a day without its year: 25 Nov, 25 nov."""
    return f"{on.day} {_MONTHS.get(language, _MONTHS['en'])[on.month - 1]}"


def span(seconds: float) -> str:
    """Write how long something lasts, begun minutes left away.

    Parameters
    ----------
    seconds : float
        Not negative. [s]

    Returns
    -------
    str
        12 s, 2 min, 3 h, 3 h 12 min.
    """
    whole = int(seconds)
    if whole < _MINUTE_S:
        return f"{whole} s"
    hours, minutes = divmod(whole // _MINUTE_S, _HOUR_S // _MINUTE_S)
    parts = ((hours, "h"), (minutes, "min"))
    return " ".join(f"{much} {unit}" for much, unit in parts if much)


def wind(name: str, language: str = "en") -> str:
    """Write one of the eight winds, given in English: SW is SO in Spanish (oeste)."""
    return name.replace("W", "O") if language == "es" else name


def degrees(bearing_deg: float) -> str:
    """Write a bearing [deg] to the whole degree, from 0 to 359: 47°."""
    return f"{round(bearing_deg) % 360}°"


def latitude(lat: float, language: str = "en") -> str:
    """Write a latitude [deg] to five places, about a metre: S 46.12345."""
    return f"{'S' if lat < 0 else 'N'} {number(abs(lat), 5, language)}"


def longitude(lon: float, language: str = "en") -> str:
    """Write a longitude [deg] to five places, about a metre: E 168.54321."""
    return f"{wind('W' if lon < 0 else 'E', language)} {number(abs(lon), 5, language)}"
