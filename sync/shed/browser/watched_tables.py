"""What a section of the plan is made of: sentences, tables and links.

Rule 1: plain values; `watched_part.html` shows them and chooses nothing.
"""

import dataclasses
from collections.abc import Sequence
from typing import Any


@dataclasses.dataclass(frozen=True)
class Table:
    """A table for cards and for wide pages.

    Attributes
    ----------
    name : str
        Its place on the page.
    left : frozenset of int
        Columns that stand to the left.
    rows : sequence of dict
        Name, link, and the other boxes, each with whether it is a number.
    more : str
        What the link to all rows says; empty where all are shown.
    """

    name: str
    caption: str
    heads: Sequence[str]
    left: frozenset[int]
    rows: Sequence[dict[str, Any]]
    more: str
    href: str


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
