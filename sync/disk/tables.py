"""Reading the owner's hand-written tables (TOML) with every mistake named at once.

Rule 1: a mistake names file, key and value, and says what would be right.
Rule 2: a missing key is a mistake only where the block cannot do without it.
"""

import math
import re
import sys
import tomllib
from collections.abc import Callable, Mapping
from datetime import date, datetime
from pathlib import Path
from typing import Any

from sync.errors import DiskError, SettingsError

_MONTH_DAY = re.compile(r"\A[0-9]{2}-[0-9]{2}\Z")


def read_toml(path: Path) -> dict[str, Any]:
    """Read a TOML file.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    dict
        Its tables.

    Raises
    ------
    SettingsError
        If it is no TOML, with line and column.
    DiskError
        If it cannot be read.
    """
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as wrong:
        raise SettingsError([f"{path.name}: not readable as TOML: {wrong}"]) from wrong
    except OSError as wrong:
        raise DiskError(f"{path}: {wrong.strerror}") from wrong


class Table:
    """One table of a file, read key by key; mistakes gather in `mistakes`.

    Parameters
    ----------
    values : mapping
        The table.
    title : str
        What to call it in a message, e.g. `block.toml [grid]`.
    mistakes : list of str
        Where mistakes are added.
    """

    def __init__(self, values: Mapping[str, Any], title: str, mistakes: list[str]) -> None:
        self.values = values
        self.title = title
        self.mistakes = mistakes

    def _wrong(self, key: str, should: str) -> None:
        said = "is missing" if key not in self.values else f"= {self.values[key]!r}"
        self.mistakes.append(f"{self.title} {key} {said}: {should}")

    def text(self, key: str, default: str | None = None, *, one_of: tuple[str, ...] = ()) -> str:
        """Read a text, one of a list if the list is given."""
        value = self.values.get(key, default)
        if not isinstance(value, str) or not value.strip():
            self._wrong(key, f"write one of {', '.join(one_of)}" if one_of else "write a text")
            return ""
        if one_of and value not in one_of:
            self._wrong(key, f"write one of {', '.join(one_of)}")
        return value

    def number(
        self,
        key: str,
        default: float | None = None,
        *,
        low: float = -math.inf,
        high: float = math.inf,
        above: bool = False,
    ) -> float:
        """Read a number between two limits; `above` leaves out the lower one itself."""
        value = self.values.get(key, default)
        wrong = isinstance(value, bool) or not isinstance(value, int | float)
        if wrong or not abs(value) <= sys.float_info.max or not low <= value <= high or (
            above and value == low
        ):
            self._wrong(key, f"write a number {'above' if above else 'from'} {low:g} to {high:g}")
            return 0.0 if default is None else default
        return float(value)

    def whole(self, key: str, default: int | None = None, *, low: int, high: int) -> int:
        """Read a whole number between two limits."""
        value = self.number(key, default, low=low, high=high)
        if value != int(value):
            self._wrong(key, "write a whole number")
        return int(value)

    def optional_number(
        self, key: str, *, low: float = -math.inf, high: float = math.inf
    ) -> float | None:
        """Read a number that may be left out."""
        return None if self.values.get(key) is None else self.number(key, low=low, high=high)

    def day(self, key: str) -> date | None:
        """Read a day that may be left out."""
        value = self.values.get(key)
        if isinstance(value, str):
            value = _day_of(value)
        if value is None and key not in self.values:
            return None
        if not isinstance(value, date) or isinstance(value, datetime):
            self._wrong(key, "write a day such as 2026-07-01")
            return None
        return value

    def span(self) -> tuple[date | None, date | None]:
        """Read the first and the last day of what holds for a time, `from` and `until`."""
        since, until = self.day("from"), self.day("until")
        if since is not None and until is not None and until < since:
            self._wrong("until", "write a day not before from")
        return since, until

    def only(self, *keys: str) -> None:
        """Name every key that has no meaning here; misspelt, it would hold nothing."""
        for key in self.values:
            if key not in keys:
                self._wrong(key, f"no such key; write {', '.join(keys)}")

    def month_day(self, key: str, default: str) -> tuple[int, int]:
        """Read a day of the year written `MM-DD`; 29 February is refused."""
        value = str(self.values.get(key, default))
        try:
            if not _MONTH_DAY.match(value):
                raise ValueError
            read = date.fromisoformat(f"2001-{value}")
        except ValueError:
            self._wrong(key, "write month and day such as 07-01")
            return (1, 1)
        return (read.month, read.day)

    def truth(self, key: str, default: bool) -> bool:
        """Read true or false."""
        value = self.values.get(key, default)
        if not isinstance(value, bool):
            self._wrong(key, "write true or false")
            return default
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        """Read a list of texts that may be left out."""
        value = self.values.get(key, [])
        if not isinstance(value, list) or not all(isinstance(v, str) for v in value):
            self._wrong(key, "write a list of texts")
            return ()
        return tuple(value)

    def read_with(self, key: str, reader: Callable[[Any], Any], should: str) -> Any:
        """Read a value with a function that raises ValueError where it is wrong."""
        try:
            return reader(self.values.get(key))
        except (ValueError, TypeError, OverflowError):
            self._wrong(key, should)
            return None


def _day_of(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def tables_in(
    values: Mapping[str, Any], key: str, file: str, mistakes: list[str]
) -> list[Table]:
    """Give the tables of a list in a file, each with its number in its title."""
    value = values.get(key, [])
    if not isinstance(value, list) or not all(isinstance(v, Mapping) for v in value):
        mistakes.append(f"{file} [[{key}]]: write one table for each")
        value = []
    return [Table(v, f"{file} [[{key}]] number {i}", mistakes) for i, v in enumerate(value, 1)]
