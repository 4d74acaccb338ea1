"""What a section of the plan is made of: sentences, tables and links.

Rule 1: plain values; `watched_part.html` shows them and chooses nothing.
Rule 2: of a long table the first rows are shown; how many there are is said, and a link shows all.
"""

import dataclasses
from collections.abc import Sequence
from typing import Any

from sync.shed.browser.page import Page

#: Rows of a table that stand on the page; with no more than a few beyond them, all do.
_FIRST, _FEW = 10, 3


@dataclasses.dataclass(frozen=True)
class Fold:
    """The rows shown; of a table that was cut how many of how many, and the link to all."""

    rows: Sequence[Any]
    said: str
    more: str
    href: str


@dataclasses.dataclass(frozen=True)
class Table:
    """A table for cards and for wide pages.

    Attributes
    ----------
    name : str
        Its place on the page.
    left : frozenset of int
        Columns that stand to the left.
    fold : Fold
        Its rows: name, link, and the other boxes, each with whether it is a number.
    """

    name: str
    caption: str
    heads: Sequence[str]
    left: frozenset[int]
    fold: Fold


@dataclasses.dataclass(frozen=True)
class Part:
    """The register's own sentences before a table, the table if any, and sentences after it."""

    before: Sequence[str]
    table: Table | None
    after: Sequence[str]


@dataclasses.dataclass(frozen=True)
class Section:
    """A head with the name a link finds it by, a lead, links to its maps, and its parts."""

    name: str
    title: str
    lead: str
    links: Sequence[tuple[str, str]]
    parts: Sequence[Part]


def fold_of(page: Page, name: str, rows: Sequence[Any]) -> Fold:
    """Cut a long table, unless the address asks for all of it.

    Parameters
    ----------
    page : Page
        For its words and address.
    name : str
        Of the table.
    rows : sequence
        All of them.

    Returns
    -------
    Fold
        With nothing to say where all rows are shown.
    """
    if len(rows) <= _FIRST + _FEW or page.visit.request.query_params.get("all") == name:
        return Fold(rows, "", "", "")
    words = page.words
    return Fold(rows[:_FIRST], words("{n} of {all} rows.", n=_FIRST, all=len(rows)),
                words("Show all {n} rows", n=len(rows)),
                page.link("/plan", all=name) + f"#{name}-table")
