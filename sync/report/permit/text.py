"""A return as text of 100 columns."""

import textwrap
from collections.abc import Mapping
from typing import Any

from sync.report.permit.facts import Said, facts, pick_table
from sync.report.permit.heads import head_lines, made_line, title
from sync.report.table import Shown

WIDE = 100
_NAME = 13


def return_text(document: Mapping[str, Any]) -> str:
    """Write a return as lines of at most 100 columns.

    Parameters
    ----------
    document : mapping
        The return.

    Returns
    -------
    str
        With an end of line at its end.
    """
    head = f"{document['block']}: {title(document).replace('Return', 'return', 1)}"
    lines = [line for one in (head, *head_lines(document)) for line in _wrapped(one)]
    lines += ["", *(line for one in facts(document) for line in _fact(one))]
    if document["picked"]["picks"]:
        lines += ["", *_table(pick_table(document))]
    lines += ["", *_wrapped(made_line(document))]
    return "\n".join(lines) + "\n"


def _fact(one: Said) -> list[str]:
    name, said = one
    return [line for i, sentence in enumerate(said) for line in _wrapped(
        sentence, f"{'' if i else name:{_NAME}}", " " * _NAME)]


def _wrapped(text: str, first: str = "", rest: str = "") -> list[str]:
    return textwrap.wrap(text, WIDE, initial_indent=first, subsequent_indent=rest,
                         break_on_hyphens=False)


def _table(shown: Shown) -> list[str]:
    rows = (shown.columns, *shown.rows)
    wide = [max(len(row[i]) for row in rows) for i in range(len(shown.columns))]
    return [
        "  ".join(text.ljust(width) if i in shown.left else text.rjust(width)
                  for i, (text, width) in enumerate(zip(row, wide, strict=True))).rstrip()
        for row in rows]
