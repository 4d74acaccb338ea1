"""What flags and rulings are called on the pages."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from sync.shed.words import ShedWords, message

#: Title of each rule.
TITLES: Mapping[str, str] = MappingProxyType({
    "early_pick": message("Picked before rest ended"),
    "over_pick": message("More taken than allowed"),
    "outside_block": message("Picked outside the block"),
    "closed_ground": message("Picked on closed ground"),
    "missing_records": message("Records missing"),
    "weak_position": message("Position too weak to place"),
    "density_assumed": message("Crop density assumed"),
    "growth_assumed": message("Growth rate assumed"),
    "scrub_spreading": message("Scrub is spreading"),
    "drying": message("Ground is drying"),
    "odd_bag_weight": message("Unusual bag weight"),
    "clock_wrong": message("Phone clock was wrong"),
    "number_twice": message("One number, two contents"),
})
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
    return words(TITLES[rule]) if rule in TITLES else rule.replace("_", " ").capitalize()


def ruling_words(says: str, words: ShedWords) -> str:
    """Say a ruling."""
    return next((words(name) for key, name, _ in RULINGS if key == says), says)


def sure_words(how_sure: str, words: ShedWords) -> str:
    """Say how sure a flag is."""
    return words(_SURE.get(how_sure, how_sure))


def about_words(flag: Mapping[str, Any], words: ShedWords) -> str:
    """Say what a flag is about: a cell, a phone, a label, a class, or the block."""
    return words("the block") if flag["about"] == _BLOCK else str(flag["about"])
