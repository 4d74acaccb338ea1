"""The pages of words: the glossary, the line of the day, and who sees a person's location."""

from datetime import UTC, date, timedelta
from typing import get_args

import pytest

from fieldapp.ground import State
from fieldapp.words import Words
from fieldapp.words.glossary import GLOSSARY
from fieldapp.words.ground_words import state_words
from fieldapp.words.safety import location_words, safety_line

EN, ES = Words("en", UTC), Words("es", UTC)


@pytest.mark.parametrize(("word", "sentence"), GLOSSARY, ids=[word for word, _ in GLOSSARY])
def test_each_word_has_one_plain_sentence_in_both_languages(word, sentence):
    for words in (EN, ES):
        told = words(sentence)
        assert told[0].isupper()
        assert told.endswith(".")
        assert ". " not in told
        assert len(told) <= 90
    assert ES(word) != word
    assert ES(sentence) != sentence


def test_the_glossary_has_each_word_once_and_each_state():
    explained = [word for word, _ in GLOSSARY]
    assert len(set(explained)) == len(explained)
    assert {state_words(EN, state) for state in get_args(State)} <= set(explained)


def test_the_line_of_the_day_stays_all_day_and_each_comes_in_turn():
    first = date(2026, 11, 25)
    told = [safety_line(EN, first + timedelta(days=later)) for later in range(12)]
    assert told[:6] == told[6:]
    assert len(set(told)) == 6
    assert all(safety_line(ES, first + timedelta(days=later)) != told[later]
               for later in range(6))


def test_no_line_claims_that_the_phone_keeps_anyone_safe():
    for later in range(6):
        line = safety_line(EN, date(2026, 1, 1) + timedelta(days=later)).lower()
        assert "safe" not in line


def test_who_sees_a_location_says_purpose_readers_time_and_how_to_mend():
    titles = [title for title, _ in location_words(EN)]
    assert titles == ["WHAT FOR", "WHEN", "WHO SEES IT", "HOW LONG", "SEE IT, MEND IT"]
    text = " ".join(paragraph for _, paragraph in location_words(EN))
    for fact in ("START to END", "100 m", "wiped", "the owner decides", "pauses", "two weeks"):
        assert fact in text
    assert all(here != there for here, there in zip(location_words(EN), location_words(ES),
                                                    strict=True))
