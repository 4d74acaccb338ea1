"""What flags and rulings are called on the pages."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from sync.report.page_flags import FLAG_TITLES
from sync.shed.words import ShedWords, message

RULINGS = (
    ("upheld", message("Upheld"), message("it happened and was wrong")),
    ("not_so", message("Not so"), message("it did not happen")),
    ("agreed", message("Agreed"), message("it happened and was permitted")),
)
_SURE: Mapping[str, str] = MappingProxyType({
    "sure": message("sure"), "likely": message("likely"), "perhaps": message("perhaps")})
_BLOCK = "block"


def title_of(rule: str, words: ShedWords) -> str:
    """Give the title of a rule; of one that is newer than this page, its name in plain letters."""
    title = FLAG_TITLES.get(rule)
    return rule.replace("_", " ").capitalize() if title is None else words(title)


def ruling_words(says: str, words: ShedWords) -> str:
    """Say a ruling."""
    return next((words(name) for key, name, _ in RULINGS if key == says), says)


def sure_words(how_sure: str, words: ShedWords) -> str:
    """Say how sure a flag is."""
    return words(_SURE.get(how_sure, how_sure))


def about_words(flag: Mapping[str, Any], words: ShedWords) -> str:
    """Say what a flag is about: a cell, a phone, a label, a class, or the block."""
    return words("the block") if flag["about"] == _BLOCK else str(flag["about"])
