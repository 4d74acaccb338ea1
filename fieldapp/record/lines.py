"""One line of `records.ndjson`, read as if whoever wrote it meant harm.

Rule 1: what is wrong with one line sets that line aside (`LineError`); a doubled key or a lone
surrogate makes two readers see two records, so the whole file is refused (`FileError`).
Rule 2: nothing is parsed before its length and depth are known to be bearable.
Rule 3: what comes back holds only finite numbers, and whole ones as `int`.
"""

import json
import math
import re
from collections import Counter
from typing import Any

#: Longest line of a track and of any other record; 1,000 fixes need some 20 kB. [bytes]
LONGEST_TRACK = 1_000_000
LONGEST_LINE = 100_000
DEEPEST = 64
#: A double has at most 309 digits before the point.
_MOST_DIGITS = 310
_SHOWN = 60
_BRACKETS = re.compile(rb'\\.|["\[\]{}]', re.DOTALL)
_SURROGATE = re.compile(rb"\\u[dD][89a-fA-F]")


class LineError(Exception):
    """One line is no record; the others of its file stand.

    Parameters
    ----------
    field : str
        What is wrong: a field, or ``line``.
    value : object
        What stands there, or the head of the line.
    reason : str
        What is wrong and what to do.
    """

    def __init__(self, field: str, value: object, reason: str) -> None:
        super().__init__(f"{field}={value!r}: {reason}")
        self.field, self.value, self.reason = field, value, reason


class FileError(Exception):
    """A line can be read in two ways, so its whole file is refused."""


def parse_line(line: bytes) -> dict[str, Any]:
    """Read one line of `records.ndjson`.

    Parameters
    ----------
    line : bytes
        UTF-8, with or without its end.

    Returns
    -------
    dict
        The record as written, its fields unchecked; whole numbers are `int`.

    Raises
    ------
    LineError
        Not UTF-8, no JSON object, NaN, Infinity or a number beyond a double, more than 64
        levels, more than 100 kB (tracks 1 MB).
    FileError
        A key stands twice in one object, or text holds half a surrogate pair.
    """
    line = line.rstrip(b"\r\n")
    record = parse_object(line, longest=LONGEST_TRACK)
    if len(line) > LONGEST_LINE and record.get("kind") != "track":
        raise _line_error(line, "longer than 100 kB: only a track may be")
    return record


def parse_object(data: bytes, *, longest: int) -> dict[str, Any]:
    """Read one JSON object, by the rules of a line but for its length.

    Parameters
    ----------
    data : bytes
        UTF-8.
    longest : int
        Most that is read. [bytes]

    Returns
    -------
    dict
        As written; whole numbers are `int`.

    Raises
    ------
    LineError, FileError
        As `parse_line`.
    """
    if len(data) > longest:
        raise _line_error(data, f"longer than {longest // 1000} kB")
    if data.count(b"[") + data.count(b"{") > DEEPEST and _depth(data) > DEEPEST:
        raise _line_error(data, f"nested deeper than {DEEPEST} levels")
    value = _object(data)
    if _SURROGATE.search(data) and has_lone_surrogate(value):
        raise FileError("text holds half a surrogate pair, which no reader can show")
    return value


def has_lone_surrogate(value: object) -> bool:
    """Say whether any text or key in a JSON value holds half a surrogate pair."""
    waiting = [value]
    while waiting:
        item = waiting.pop()
        if isinstance(item, str):
            if any("\ud800" <= letter <= "\udfff" for letter in item):
                return True
        elif isinstance(item, dict):
            waiting.extend(item)
            waiting.extend(item.values())
        elif isinstance(item, list | tuple):
            waiting.extend(item)
    return False


def _object(line: bytes) -> dict[str, Any]:
    endless: list[str] = []

    def number(text: str) -> float | int:
        value = float(text)
        if not math.isfinite(value):
            endless.append(text[:_SHOWN])
            return 0
        return int(value) if value.is_integer() else value

    def whole(text: str) -> int:
        if len(text) <= _MOST_DIGITS and math.isfinite(float(text)):
            return int(text)
        endless.append(text[:_SHOWN])
        return 0

    try:
        value = json.loads(line.decode("utf-8"), object_pairs_hook=_no_doubled_key,
                           parse_float=number, parse_int=whole, parse_constant=number)
    except UnicodeDecodeError:
        raise _line_error(line, "not UTF-8") from None
    except (ValueError, RecursionError):
        raise _line_error(line, "not JSON") from None
    if not isinstance(value, dict):
        raise _line_error(line, "not a JSON object")
    if endless:
        raise LineError("line", endless[0], "no finite number: leave the field out")
    return value


def _no_doubled_key(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    read = dict(pairs)
    if len(read) != len(pairs):
        counts = Counter(key for key, _ in pairs)
        twice = next(key for key, count in counts.items() if count > 1)
        raise FileError(f"key {twice[:_SHOWN]!a} stands twice in one object")
    return read


def _depth(line: bytes) -> int:
    depth = deepest = 0
    in_text = False
    for found in _BRACKETS.finditer(line):
        sign = found.group()
        if sign == b'"':
            in_text = not in_text
        elif not in_text and sign in b"[{":
            depth += 1
            deepest = max(deepest, depth)
        elif not in_text and sign in b"]}":
            depth -= 1
    return deepest


def _line_error(line: bytes, reason: str) -> LineError:
    return LineError("line", line[:_SHOWN].decode("utf-8", "replace"), reason)
