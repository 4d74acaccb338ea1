"""The words: one for a thing, the same in README, code and screens."""

import re
from pathlib import Path

import pytest

from fieldapp.record import KINDS
from sync.flags.raised import RULES

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
#: The glossary that several pieces of work agreed on.
WORDS = (
    "block", "cell", "ground class", "plot", "quadrat", "second reading", "survey", "cover",
    "depth", "clip", "standing crop", "rested crop", "living layer", "may take", "left",
    "sustainable-harvest %", "bag", "pile", "pick", "touched", "rest period", "rest ends",
    "season", "label", "batch", "lot", "lift", "permit", "hand-over", "ground sheet", "form",
    "register", "flag", "ruling",
)
#: Other words for the same things; one of them in the code is a second name.
STRANGERS = (
    "biomass", "paddock", "polygon_id", "stockpile", "sackful", "harvest unit", "yield class",
    "allowable cut", "transect", "fallow period", "regrow period", "allotment",
)
CODE = sorted((*ROOT.glob("fieldapp/**/*.py"), *ROOT.glob("sync/**/*.py")))


@pytest.mark.parametrize("word", WORDS)
def test_the_glossary_explains_each_word(word):
    assert re.search(rf"^\| {re.escape(word)} \|", README, re.MULTILINE)


@pytest.mark.parametrize("path", CODE, ids=lambda p: str(p.relative_to(ROOT)))
def test_code_has_no_second_name_for_a_thing(path):
    text = path.read_text(encoding="utf-8").lower()
    assert [word for word in STRANGERS if word in text] == []


def test_every_kind_of_record_is_named_by_words_of_the_trade():
    assert set(KINDS) >= {"bag", "quadrat", "clip", "mark", "batch", "ruling", "outing"}


def test_every_flag_is_raised_and_readme_has_none_that_is_not_yet():
    assert len({rule.__name__ for rule in RULES}) == 22
    assert "and the flags" not in README


def test_the_first_two_code_blocks_of_the_readme_are_one_line_each():
    blocks = re.findall(r"^```\n(.*?)^```", README, re.MULTILINE | re.DOTALL)
    assert [block.count("\n") for block in blocks[:2]] == [1, 1]
    assert blocks[0].rstrip().endswith("fallow demo")
    assert blocks[1].rstrip().endswith("pytest")
