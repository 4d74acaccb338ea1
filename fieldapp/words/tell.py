"""From what is said to how it is said: a message with its figures becomes a line of text.

Rule 1: each figure is written in the manner of the language before it enters its sentence.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from fieldapp.phone.say import Figure, FigureKind, Say, Value
from fieldapp.words.catalogue import Words


def tell(words: Words, said: Say) -> str:
    """Say a message in the language of the words.

    Parameters
    ----------
    words : Words
        The language.
    said : Say
        The message; what is raw is not translated, but the figures and messages in it are.

    Returns
    -------
    str
        Empty for nothing.
    """
    values = {name: _told(words, value) for name, value in said.values.items()}
    if said.raw:
        return said.text.format(**values) if values else said.text
    if said.count is not None:
        return words.count(said.count, said.text, said.many, **values)
    return words(said.text, **values)


def _told(words: Words, value: Value) -> str | int:
    if isinstance(value, Say):
        return tell(words, value)
    return _written(words, value) if isinstance(value, Figure) else value


def _written(words: Words, figure: Figure) -> str:
    if figure.kind in ("kg", "number"):
        write = words.kg if figure.kind == "kg" else words.number
        return write(float(figure.value), figure.digits)  # type: ignore[arg-type]  # kind says so
    return _WRITERS[figure.kind](words, figure.value)


#: How each kind of figure is written; the kind promises the type of the value.
_WRITERS: Mapping[FigureKind, Callable[[Words, Any], str]] = MappingProxyType({
    "bags": Words.bags, "metres": Words.metres, "pct": Words.pct, "day": Words.day,
    "short_day": Words.short_day, "clock": Words.clock, "span": Words.span, "wind": Words.wind,
    "degrees": Words.degrees, "latitude": Words.latitude, "longitude": Words.longitude})
