"""Readers of one value each, for text from outside: what passes has its type and its limits.

Rule 1: a reader takes a value and the path it stood at, and gives the value or raises.
Rule 2: a refusal names the path and shows the value, cut to a line.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeVar

from fieldapp.ground.sheet import GroundError

T = TypeVar("T")
Fields = Mapping[str, Any]
Reader = Callable[[object, str], T]

_SHOWN = 80


def wrong(path: str, value: object, reason: str) -> GroundError:
    """Make the refusal of one value."""
    return GroundError(f"{path}={repr(value)[:_SHOWN]}: {reason}")


def field(obj: Fields, key: str, read: Reader[T], path: str = "") -> T:
    """Read one field of an object.

    Parameters
    ----------
    obj : mapping
        The object.
    key : str
        The field's name.
    read : Reader
        What its value must be.
    path : str
        Where the object stood, with its dot.

    Returns
    -------
    T
        What the reader gives.

    Raises
    ------
    GroundError
        If the field is missing or its reader refuses it.
    """
    if key not in obj:
        raise GroundError(f"{path}{key} is missing")
    return read(obj[key], path + key)


def each(read: Reader[T]) -> Reader[tuple[T, ...]]:
    """Make a reader of a list out of a reader of its items."""
    return lambda value, path: tuple(
        read(item, f"{path}[{index}]") for index, item in enumerate(items(value, path)))


def maybe(read: Reader[T]) -> Reader[T | None]:
    """Make a reader that lets null through."""
    return lambda value, path: None if value is None else read(value, path)


def one_of(words: Sequence[T]) -> Reader[T]:
    """Make a reader of one of some words."""
    def read(value: object, path: str) -> T:
        for word in words:
            if isinstance(value, str) and value == word:
                return word
        raise wrong(path, value, "must be one of " + ", ".join(map(str, words)))
    return read


def matching(pattern: re.Pattern[str]) -> Reader[str]:
    """Make a reader of text of one shape."""
    def read(value: object, path: str) -> str:
        if not isinstance(value, str) or not pattern.match(value):
            raise wrong(path, value, "has another shape than it should")
        return value
    return read


def between(low: float, high: float) -> Reader[float]:
    """Make a reader of numbers within limits, the limits included."""
    def read(value: object, path: str) -> float:
        given = number(value, path)
        if not low <= given <= high:
            raise wrong(path, value, f"must lie between {low:g} and {high:g}")
        return given
    return read


def whole_between(low: int, high: int) -> Reader[int]:
    """Make a reader of whole numbers within limits, the limits included."""
    def read(value: object, path: str) -> int:
        given = whole(value, path)
        if not low <= given <= high:
            raise wrong(path, value, f"must lie between {low} and {high}")
        return given
    return read


def number(value: object, path: str) -> float:
    """Read a finite number."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise wrong(path, value, "must be a number")
    if not -1e300 < value < 1e300:
        raise wrong(path, value, "must be a finite number")
    return float(value)


def whole(value: object, path: str) -> int:
    """Read a whole number, with or without a point."""
    if not isinstance(value, int | float) or isinstance(value, bool) or value % 1 != 0:
        raise wrong(path, value, "must be a whole number")
    return int(value)


def text(value: object, path: str) -> str:
    """Read text."""
    if not isinstance(value, str):
        raise wrong(path, value, "must be text")
    return value


def truth(value: object, path: str) -> bool:
    """Read true or false."""
    if not isinstance(value, bool):
        raise wrong(path, value, "must be true or false")
    return value


def items(value: object, path: str) -> list[Any]:
    """Read a list, its items unread."""
    if not isinstance(value, list):
        raise wrong(path, value, "must be a list")
    return value


def fields(value: object, path: str) -> Fields:
    """Read an object, its fields unread."""
    if not isinstance(value, Mapping):
        raise wrong(path, value, "must be an object")
    return value
