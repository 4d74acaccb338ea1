"""Places as pilots and receivers read them: degrees and decimal minutes."""

_MINUTES = 60
#: A thousandth of a minute is under two metres.
_THOUSANDTHS = 1000


def degrees_minutes(lat: float, lon: float) -> str:
    """Write a place in degrees and decimal minutes.

    Parameters
    ----------
    lat, lon : float
        WGS 84. [deg]

    Returns
    -------
    str
        Such as 42°51.487' S 169°42.007' E, to a thousandth of a minute; common practice, no
        source.
    """
    return f"{_half(lat, 'N', 'S')} {_half(lon, 'E', 'W')}"


def _half(value: float, plus: str, minus: str) -> str:
    # Rounded as a whole, so that 59.9996 minutes become the next degree.
    whole = round(abs(value) * _MINUTES * _THOUSANDTHS)
    minutes, part = divmod(whole, _THOUSANDTHS)
    degrees, minutes = divmod(minutes, _MINUTES)
    return f"{degrees}°{minutes:02d}.{part:03d}' {minus if value < 0 and whole else plus}"
