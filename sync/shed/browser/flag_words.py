"""What flags and rulings are called on the pages: as in the report, in the owner's language."""

from collections.abc import Mapping
from typing import Any

from sync.report.page_flags import RULING_WORDS
from sync.shed.words import ShedWords, message

#: How sure a flag is; said by its own word.
SURE = (message("sure"), message("likely"), message("perhaps"))
_BLOCK = "block"


def rulings_of(words: ShedWords) -> list[tuple[str, str, str]]:
    """Give each ruling: its word in a record, its name, and what it means."""
    return [(key, words(name), words(meaning)) for key, (name, meaning) in RULING_WORDS.items()]


def about_words(flag: Mapping[str, Any], words: ShedWords) -> str:
    """Say what a flag is about: a cell, a phone, a label, a class, or the block."""
    return words("the block") if flag["about"] == _BLOCK else str(flag["about"])
