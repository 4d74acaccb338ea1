"""The shed's words: the phone's where the phone has them, and never a page that falls silent."""

from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from string import Formatter
from zoneinfo import ZoneInfo

import pytest
from babel.messages.pofile import read_po

from fieldapp.words import Words
from fieldapp.words import message as phone_message
from sync.report.map_words import MONTHS
from sync.shed.words import LANGUAGES, STATE_WORDS, ShedWords, message

ROOT = Path(__file__).parents[4]
BLOCK = ZoneInfo("Pacific/Auckland")
EN, ES = ShedWords("en", BLOCK), ShedWords("es", BLOCK)
PHONE = Words("es", BLOCK)


def catalogue(name: str) -> dict[str, str]:
    with next(ROOT.glob(f"*/**/es/LC_MESSAGES/{name}.po")).open("rb") as file:
        return {one.id: one.string for one in read_po(file, locale="es")
                if one.id and isinstance(one.id, str)}


OWN, OF_PHONE = catalogue("shed"), catalogue("fieldapp")
#: Words of one English and two meanings, with what each means on a page.
TWO_MEANINGS = {"left": "queda", "right": "en hora"}


def blanks(text: str) -> Iterator[str]:
    return (name for _, name, _, _ in Formatter().parse(text) if name)


def test_a_word_that_the_phone_has_is_said_as_the_phone_says_it():
    shared = sorted(set(OF_PHONE) - set(TWO_MEANINGS))
    assert len(shared) > 200
    for text in shared:
        given = dict.fromkeys(blanks(text), "7")
        assert ES(text, **given) == PHONE(text, **given)


def test_a_word_of_two_meanings_is_said_as_a_page_means_it():
    assert {text: ES(text) for text in TWO_MEANINGS} == TWO_MEANINGS
    assert {text: PHONE(text) for text in TWO_MEANINGS} == {"left": "izquierda",
                                                            "right": "derecha"}


@pytest.mark.parametrize(("term", "sentences"), [
    ("celda", ("Cell", "No such cell")), ("recogida", ("Past pick", "last picked")),
    ("descanso", ("rest ends", "Rest ends within 18 months")), ("saco", ("Bags", "bags")),
    ("pila", ("Bags waiting on piles", "Label of the pile")),
    ("entrega", ("last hand-over",)), ("cuadrante", ("measured, {n} quadrats on {day}",)),
    ("hoja de terreno", ("Phone {phone} is paired and fetches its ground sheet.",)),
    ("aviso", ("Flags", "open flag")), ("matorral", ("Scrub is spreading",)),
    ("decisión", ("You may change a ruling",)),
    ("muestra", ("Clip weights", "Label of the clip")), ("galpón", ("the shed",)),
    ("musgo en pie", ("Standing crop", "rested crop")), ("bloque", ("Block", "the block")),
])
def test_a_term_of_the_trade_is_the_same_in_every_sentence(term, sentences):
    for part in sentences:
        said = [spanish for english, spanish in OWN.items() if part in english]
        assert said
        assert all(term in one.lower() for one in said)


def test_a_cell_is_in_the_same_state_on_page_and_phone():
    assert {state: ES.state(state) for state in STATE_WORDS} == {
        "ready": "lista", "taken": "cosechada", "resting": "en descanso",
        "unsurveyed": "sin medir", "closed": "cerrada"}
    assert all(ES.on_map(state) == PHONE(STATE_WORDS[state]) for state in STATE_WORDS)


@pytest.mark.parametrize("text", sorted(OWN), ids=lambda text: text[:40])
def test_no_message_raises_and_each_says_what_it_is_given(text):
    given = {name: f"<{name}>" for name in blanks(text)}
    for words in (EN, ES):
        said = words(text, **given)
        assert all(value in said for value in given.values())
        assert "{" not in said

    assert ES(text) == OWN[text]


def test_a_value_that_lacks_or_is_too_many_raises_nothing():
    assert ES("of {cap}", cop="7") == "of {cap}"
    assert ES("of {cap}", cap="7", more="8") == "de 7"


@pytest.mark.parametrize("text", ["", "no such message", "half {", "{0}", "100 % of it"])
def test_what_has_no_spanish_is_said_as_it_stands(text):
    assert ES(text) == EN(text) == text


def test_what_somebody_typed_is_not_taken_for_a_blank():
    assert ES("of {cap}", cap="{cell} {0}") == "de {cell} {0}"


def test_numbers_have_a_decimal_comma_and_no_other():
    assert (ES.number(61.5, 1), EN.number(61.5, 1)) == ("61,5", "61.5")
    assert (ES.number(-0.04, 1), ES.number(-1234.56, 2)) == ("0,0", "−1234,56")
    assert ES.spread({"value": 5.4, "low": 3.66, "high": 7.6}, 1) == "3,7–7,6"
    assert ES("Permit {name}: left", name="KM 1.2") == "Permiso KM 1.2: queda"


def test_what_is_not_known_is_a_dash():
    assert ES.number(None, 1) == "–"
    assert ES.spread(None) == ES.spread({"low": None, "high": None}) == "–"
    assert ES.day(None) == "–"


def test_days_and_hours_are_the_blocks():
    assert (ES.day("2028-03-14"), EN.day(date(2028, 3, 14))) == ("14 mar 2028", "14 Mar 2028")
    assert ES.clock(datetime(2026, 1, 20, 18, 5, tzinfo=UTC)) == "21 ene 2026 07:05"
    assert (ES.span(61 * 24 * 3600), EN.span(61 * 24 * 3600)) == ("61 días", "61 days")


def test_a_month_on_the_map_is_the_month_of_a_date():
    assert [f"1 {ES(month)} 2026" for month in MONTHS] == [
        ES.day(date(2026, number, 1)) for number in range(1, 13)]


def test_a_language_nobody_wrote_speaks_english():
    assert ShedWords("xx", BLOCK)("Flags") == "Flags"
    assert ShedWords("xx", BLOCK).language == "en"
    assert set(LANGUAGES) == {"en", "es"}


def test_a_marked_message_is_the_text_itself():
    assert message("Flags") == "Flags"
    assert message is phone_message
