"""Checks of one field's value, put together from parts.

Rule 1: a check takes any JSON value and gives None, or the reason why the value cannot stand.
Rule 2: a check never raises, and True is no number.
"""

import math
import re
import sys
from collections.abc import Callable, Mapping
from datetime import date

from fieldapp.record.lines import has_lone_surrogate
from fieldapp.record.names import DAY, RecordError, instant

Check = Callable[[object], str | None]
_LARGEST = sys.float_info.max


def is_number(value: object) -> bool:
    """Say whether a JSON value is a number that a double can hold."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return -_LARGEST <= value <= _LARGEST


def shown(value: object) -> str:
    """Write a value for a message: at most 60 characters, whatever it is."""
    try:
        return repr(value)[:60].encode("utf-8", "backslashreplace").decode("utf-8")
    except (ValueError, RecursionError):
        return "a value too long to show"


def number(low: float = -math.inf, high: float = math.inf, *, step: float | None = None,
           above: bool = False) -> Check:
    """Make a check for numbers between two limits.

    Parameters
    ----------
    low, high : float
        Limits, both allowed. [the field's unit]
    step : float or None
        Only whole multiples of it. [the field's unit]
    above : bool
        True if `low` itself is refused.

    Returns
    -------
    Check
        For `int` and `float`.
    """
    span = _span(low, high, above=above)

    def check(value: object) -> str | None:
        if not is_number(value) or not isinstance(value, int | float):
            return "must be a number"
        if not low <= value <= high or (above and value == low):
            return f"must {span}: look again"
        if step is not None and not _is_multiple(value, step):
            return f"must be a multiple of {step:g}"
        return None
    return check


def whole(low: int | None = None, high: int | None = None) -> Check:
    """Make a check for whole numbers between two limits, both allowed; 3.0 is whole."""
    lowest = -math.inf if low is None else low
    highest = math.inf if high is None else high
    span = _span(lowest, highest, above=False)

    def check(value: object) -> str | None:
        if not is_number(value) or not isinstance(value, int | float):
            return "must be a whole number"
        if isinstance(value, float) and not value.is_integer():
            return "must be a whole number"
        return None if lowest <= value <= highest else f"must {span}: look again"
    return check


def one_of(*words: str) -> Check:
    """Make a check for a word out of a list."""
    def check(value: object) -> str | None:
        known = isinstance(value, str) and value in words
        return None if known else f"must be one of {', '.join(words)}"
    return check


def like(pattern: re.Pattern[str], what: str) -> Check:
    """Make a check for text that fits a pattern; `what` says in words what it should be."""
    def check(value: object) -> str | None:
        fits = isinstance(value, str) and pattern.match(value) and not has_lone_surrogate(value)
        return None if fits else f"must be {what}"
    return check


def text(longest: int | None = None) -> Check:
    """Make a check for text of at most so many characters."""
    def check(value: object) -> str | None:
        if not isinstance(value, str):
            return "must be text"
        if longest is not None and len(value) > longest:
            return f"must be {longest} characters at most: shorten it"
        return "holds half a surrogate pair" if has_lone_surrogate(value) else None
    return check


def list_of(check_item: Check, *, least: int = 0, most: int | None = None,
            distinct: bool = False) -> Check:
    """Make a check for a list whose every item passes another check."""
    def check(value: object) -> str | None:
        if not isinstance(value, list | tuple):
            return "must be a list"
        if len(value) < least or (most is not None and len(value) > most):
            return f"must have {least} to {'any number of' if most is None else most} entries"
        for place, item in enumerate(value):
            if reason := check_item(item):
                return f"entry {place + 1}, {shown(item)}: {reason}"
        if distinct and len(set(value)) != len(value):
            return "must name each only once"
        return None
    return check


def an_object(needed: Mapping[str, Check] | None = None) -> Check:
    """Make a check for an object that holds some fields, each passing its own check."""
    fields = needed or {}

    def check(value: object) -> str | None:
        if not isinstance(value, Mapping):
            return "must be an object"
        for key, check_field in fields.items():
            if key not in value:
                return f"has no {key}"
            if reason := check_field(value[key]):
                return f"{key}={shown(value[key])}: {reason}"
        return "holds half a surrogate pair" if has_lone_surrogate(value) else None
    return check


def yes_no(value: object) -> str | None:
    """Check for true or false."""
    return None if isinstance(value, bool) else "must be true or false"


def an_instant(value: object) -> str | None:
    """Check for an instant; its year is not judged."""
    try:
        instant(value)  # type: ignore[arg-type]  # what is no text is refused there too
    except RecordError:
        return "must be a UTC instant such as 2026-01-20T18:40:00.000Z"
    return None


def a_day(value: object) -> str | None:
    """Check for a day of the calendar."""
    try:
        if isinstance(value, str) and DAY.match(value):
            date.fromisoformat(value)
            return None
    except ValueError:
        pass
    return "must be a day such as 2026-01-20"


def _is_multiple(value: float, step: float) -> bool:
    return float(value / step).is_integer()


def _span(low: float, high: float, *, above: bool) -> str:
    if high < math.inf:
        return f"lie {'above' if above else 'between'} {low:g} and {high:g}"
    return f"be above {low:g}" if above else f"be {low:g} or more"
