"""A flag's page on a terminal: at most a hundred columns."""

import textwrap
from collections.abc import Iterator

from sync.report.flag_case.told import Folio
from sync.report.table import Shown

WIDE = 100
_GAP = "  "


def case_text(folio: Folio) -> str:
    """Write a flag's page as text.

    Parameters
    ----------
    folio : Folio
        The page.

    Returns
    -------
    str
        Lines of at most 100 signs, unless one word is longer.
    """
    return "\n".join(_lines(folio)) + "\n"


def _lines(folio: Folio) -> Iterator[str]:
    yield from _wrapped(folio.title)
    yield from _wrapped(folio.under)
    for section in folio.sections:
        yield ""
        yield section.head.upper()
        for said in section.said:
            yield from _wrapped(said)
        if section.table is not None:
            yield from table_lines(section.table)
        for said in section.after:
            yield from _wrapped(said)


def _wrapped(said: str) -> list[str]:
    return textwrap.wrap(said, WIDE, break_long_words=False, break_on_hyphens=False)


def table_lines(table: Shown) -> Iterator[str]:
    """Write a table in columns; the last column is cut where there is no room for it."""
    widths = [max(len(row[i]) for row in (table.columns, *table.rows))
              for i in range(len(table.columns))]
    for row in (table.columns, *table.rows):
        cells = [text.ljust(widths[i]) if i in table.left else text.rjust(widths[i])
                 for i, text in enumerate(row)]
        line = _GAP.join(cells).rstrip()
        yield line if len(line) <= WIDE else line[:WIDE - 1] + "…"
