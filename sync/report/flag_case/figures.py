"""The figures of any flag in words: name, value, unit.

Rule 1: the unit is the one that the figure's name ends in; nothing is worked out.
"""

from collections.abc import Mapping
from typing import Any

from sync.report.map_words import day_words

#: How a figure's name ends, and its unit.
_UNITS = (
    ("kg_per_bag", "kg a bag"), ("kg", "kg"), ("m2", "m²"), ("pct", "%"), ("mm", "mm"),
    ("bags", "bags"),
)
#: Figures whose name says too little, as they are told.
_NAMES = {"lag_s": ("clock off by", "s"), "r68_m": ("68 % radius", "m"),
          "usual_kg": ("usual", "kg a bag"), "apart_m": ("marks apart", "m")}
_TOLD_WHOLE = 1000.0
_DAY_LENGTH = 10


def figure_words(figures: Mapping[str, Any]) -> list[str]:
    """Say each figure of a flag.

    Parameters
    ----------
    figures : mapping
        As the document has them: rounded, days as text.

    Returns
    -------
    list of str
        Such as "days early 1,044"; what nobody knows is left out.
    """
    return [_one(key, value) for key, value in figures.items() if value is not None]


def _one(key: str, value: Any) -> str:
    if key in _NAMES:
        name, unit = _NAMES[key]
        return f"{name} {_value(value)} {unit}"
    for ending, unit in _UNITS:
        if key == ending or key.endswith(f"_{ending}"):
            name = key.removesuffix(ending).strip("_").replace("_", " ")
            return f"{name} {_value(value)} {unit}".strip()
    return f"{key.replace('_', ' ')} {_value(value)}"


def _value(value: Any) -> str:
    if isinstance(value, Mapping):
        if set(value) == {"value", "low", "high"}:
            return (f"{_value(value['value'])} (90 % {_value(value['low'])} to "
                    f"{_value(value['high'])})")
        return "; ".join(f"{key} {_value(one)}" for key, one in value.items()) or "none"
    if isinstance(value, list | tuple):
        return ", ".join(_value(one) for one in value) or "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):  # a chance stays as computed in the document
        return f"{value:,.1f}" if abs(value) >= _TOLD_WHOLE else f"{value:.3g}"
    if isinstance(value, int):
        return f"{value:,}"
    text = str(value)
    return _day(text) if text[:4].isdigit() and text[4:5] == "-" else text


def _day(text: str) -> str:
    """Say a day or an instant; text that only looks like one stays."""
    try:
        said = day_words(text[:_DAY_LENGTH])
    except ValueError:
        return text
    rest = text[_DAY_LENGTH:]
    return said if not rest else f"{said} {rest[1:6]} UTC"
