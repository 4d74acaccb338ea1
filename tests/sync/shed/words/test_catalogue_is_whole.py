"""Each message of the shed's pages has a Spanish one that fits; none is kept that nobody says."""

import ast
import json
import re
from collections.abc import Iterator, Mapping
from importlib.resources import files
from itertools import chain
from pathlib import Path
from string import Formatter
from zoneinfo import ZoneInfo

import pytest
from babel.messages.mofile import read_mo
from babel.messages.pofile import read_po
from jinja2 import nodes

from sync.report.map_words import MAP_WORDS
from sync.report.page_flags import FLAG_TITLES, RULING_WORDS
from sync.report.pay_sheet import PAY_WORDS
from sync.report.speech import SPEECH_WORDS
from sync.shed.browser.page import templates
from sync.shed.browser.typing_forms import FORMS
from sync.shed.browser.typing_page import record_of
from sync.shed.words import STATE_WORDS

ROOT = Path(__file__).parents[4]
PO = ROOT / "sync/shed/words/locale/es/LC_MESSAGES/shed.po"
PHONE_PO = ROOT / "fieldapp/words/locale/es/LC_MESSAGES/fieldapp.po"
COMPILE = "pybabel compile -d sync/shed/words/locale -D shed"
#: What takes a message first, by the last part of its name.
SAYING = ("words", "message")
#: Words of the phone that mean another thing on a page: what is left, a clock that is right.
NOT_AS_THE_PHONE = {"left", "right"}
#: Words that put the blame on somebody, or say nothing of what to do.
NOT_SAID = re.compile(r"\b(errors?|please|invalid|fail(ed|ure)?|illegal|forbidden|abort|oops|sorry"
                      r"|mistakes?|error(es)?|por favor|inválid[oa]|fall[oó]|culpa"
                      r"|tu|tus|ti|tienes|puedes|debes)\b", re.IGNORECASE)
SOURCES = sorted(ROOT.glob("sync/shed/**/*.py"))
TEMPLATES = sorted(ROOT.glob("sync/shed/browser/templates/*.html"))
#: What may be typed into a box and be no good there.
ROTTEN = ("x", "-1", "0", "3.3", "1e9", "99999999", "x y", "2026-13-40", "p2-c3d4 5 3", "Ä",
          "a" * 40, "y" * 1000, "y" * 2001, "\ud800")
#: Boxes that are good each by itself and do not go together.
AT_ODDS = (
    ("clip", {"from_mm": "50", "to_mm": "40"}), ("clip", {"wet_g": "10", "dry_g": "20"}),
    ("batch", {"bags": "1", "wet_kg": "9000"}),
    ("past_pick", {"from": "2025-02-01", "to": "2025-01-01"}),
    ("lot", {"moist_pct": "60", "pure_pct": "101"}), ("notice", {"start": ""}),
)
#: A reason that shows what was typed cannot stand in a catalogue.
WITH_A_VALUE = re.compile(r"entry \d+, ")


def _strings(node: ast.expr) -> Iterator[str]:
    """Give the literal texts that an argument may be."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from _strings(node.body)
        yield from _strings(node.orelse)


def _calls(path: Path) -> Iterator[tuple[str, ast.Call]]:
    """Give the calls that say or mark something, with the name called."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and node.args:
            called = node.func
            name = called.attr if isinstance(called, ast.Attribute) else (
                getattr(called, "id", ""))
            if name in SAYING:
                yield name, node


def _of_python(path: Path) -> Iterator[tuple[str, int, set[str] | None]]:
    """Give messages with their lines and the values given; None where they are given later."""
    for name, call in _calls(path):
        given = {word.arg for word in call.keywords if word.arg}
        open_call = name == "message" or any(word.arg is None for word in call.keywords)
        for text in _strings(call.args[0]):
            yield text, call.lineno, None if open_call else given


def _of_template(path: Path) -> Iterator[tuple[str, int, set[str] | None]]:
    parsed = templates().parse(path.read_text(encoding="utf-8"))
    for call in parsed.find_all(nodes.Call):
        if isinstance(call.node, nodes.Name) and call.node.name == "_":
            text = call.args[0]
            assert isinstance(text, nodes.Const), f"{path.name}:{call.lineno}"
            yield text.value, call.lineno, {word.key for word in call.kwargs}


def _reasons() -> Iterator[str]:
    """Give what the forms for paper say of a wrong box, by filling them in wrongly."""
    for form in FORMS.values():
        for field in form.fields:
            for text in ROTTEN:
                yield from _told(form.kind, {field.name: text})
    for kind, given in AT_ODDS:
        yield from _told(kind, given)


def _told(kind: str, given: Mapping[str, str]) -> Iterator[str]:
    form = FORMS[kind]
    day = "day" if any(field.name == "day" for field in form.fields) else "from"
    typed = {**{field.name: "" for field in form.fields}, day: "2026-01-20", **given}
    _, mistakes = record_of(form, typed, zone=ZoneInfo("Pacific/Auckland"))
    yield from (one.reason for one in mistakes if not WITH_A_VALUE.match(one.reason))


def _cap_units() -> list[str]:
    schema = json.loads((files("sync.report") / "schemas/register.schema.json").read_text("utf-8"))
    found = [node["enum"] for node in _under(schema, "cap_unit") if "enum" in node]
    return [unit.replace("_", " ") for unit in found[0] if unit is not None]


def _under(node: object, key: str) -> Iterator[Mapping[str, object]]:
    if isinstance(node, Mapping):
        if isinstance(node.get(key), Mapping):
            yield node[key]
        for value in node.values():
            yield from _under(value, key)


IN_CODE = [(text, f"{path.relative_to(ROOT)}:{line}", given)
           for path in SOURCES for text, line, given in _of_python(path)]
IN_TEMPLATES = [(text, f"{path.relative_to(ROOT)}:{line}", given)
                for path in TEMPLATES for text, line, given in _of_template(path)]
ELSEWHERE = {
    **{STATE_WORDS.get(word, word): "MAP_WORDS" for word in MAP_WORDS},
    **dict.fromkeys(SPEECH_WORDS, "SPEECH_WORDS"),
    **dict.fromkeys(FLAG_TITLES.values(), "FLAG_TITLES"), **dict.fromkeys(PAY_WORDS, "PAY_WORDS"),
    **dict.fromkeys(chain.from_iterable(RULING_WORDS.values()), "RULING_WORDS"),
    **dict.fromkeys(_cap_units(), "cap_unit"), **dict.fromkeys(_reasons(), "a wrong box"),
}
MESSAGES = {**ELSEWHERE, **{text: place for text, place, _ in (*IN_CODE, *IN_TEMPLATES)}}


def _spanish(path: Path) -> Mapping[str, str]:
    with path.open("rb") as file:
        return {one.id: one.string for one in read_po(file, locale="es")
                if one.id and isinstance(one.id, str)}


SPANISH, PHONE = _spanish(PO), _spanish(PHONE_PO)
#: Keys of the phone, as a page that explains them names them.
KEYS = {text: said for text, said in PHONE.items() if text.isupper() and len(text) > 2}


def _blanks(text: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(text) if name is not None}


def _has_words(text: str) -> bool:
    """Say whether anything is left to translate beside the blanks."""
    return any(letter.isalpha() for piece, *_ in Formatter().parse(text) for letter in piece)


def _to_paste(text: str) -> str:
    quoted = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'#. {MESSAGES[text]}\nmsgid "{quoted}"\nmsgstr ""\n'


def test_messages_are_found_wherever_one_is_said():
    assert len(IN_CODE) > 100
    assert len(IN_TEMPLATES) > 100
    assert {"kg dry", "Jan", "Scrub is spreading", "write a number", "Clip weights",
            "Skip the map", "{span} behind",
            "must lie between 0.0001 and 4: look again"} <= set(MESSAGES)


def test_each_message_has_its_spanish_here_or_on_the_phone():
    lacking = [_to_paste(text) for text in sorted(MESSAGES)
               if _has_words(text) and not SPANISH.get(text) and not PHONE.get(text)]
    assert not lacking, (f"{len(lacking)} to translate in {PO.name}, in their place by msgid, "
                         f"then `{COMPILE}`:\n\n" + "\n".join(lacking))


def test_no_message_is_kept_that_nobody_says():
    idle = sorted(set(SPANISH) - set(MESSAGES))
    assert not idle, f"take out of {PO.name}:\n" + "\n".join(idle)


def test_what_the_phone_says_stands_in_its_catalogue_alone():
    assert set(SPANISH) & set(PHONE) == NOT_AS_THE_PHONE


@pytest.mark.parametrize("english", sorted(SPANISH), ids=lambda text: text[:40])
def test_spanish_has_the_blanks_of_the_english(english):
    assert _blanks(SPANISH[english]) == _blanks(english)


def test_spanish_ends_with_the_sign_that_the_english_ends_with():
    other = [english for english, spanish in SPANISH.items() for sign in ".:?"
             if english.endswith(sign) != spanish.endswith(sign)]
    assert other == []


def test_figures_in_spanish_have_a_comma():
    assert [text for text in SPANISH.values() if re.search(r"\d\.\d", text)] == []


def test_a_key_of_the_phone_is_named_as_the_phone_names_it():
    longest_first = "|".join(map(re.escape, sorted(KEYS, key=len, reverse=True)))
    named = {(text, key) for text in SPANISH
             for key in re.findall(rf"(?<![\w'-])(?:{longest_first})(?![\w'-])", text)}
    assert {key for _, key in named} >= {"DAY", "HAND OVER", "SEND TO SHED", "PAIR BY CODE", "END"}
    assert [(text, key) for text, key in sorted(named) if KEYS[key] not in SPANISH[text]] == []


def test_messages_stand_sorted_and_once():
    written = re.findall(r'^msgid "(.+)"$', PO.read_text(encoding="utf-8"), re.MULTILINE)
    written = [text.replace('\\"', '"').replace("\\\\", "\\") for text in written]
    assert written == sorted(set(written))
    assert len(written) == len(SPANISH)


def test_the_compiled_catalogue_is_that_of_the_written_one():
    with PO.with_suffix(".mo").open("rb") as file:
        compiled = {one.id: one.string for one in read_mo(file) if one.id}
    assert compiled == SPANISH, f"compile anew and commit: {COMPILE}"


def test_each_value_that_a_message_asks_for_is_given():
    lacking = [(place, text) for text, place, given in (*IN_CODE, *IN_TEMPLATES)
               if given is not None and _blanks(text) != given]
    assert lacking == []


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_no_message_is_put_together_from_pieces(path):
    pieced = [call.lineno for _, call in _calls(path)
              if isinstance(call.args[0], ast.JoinedStr | ast.BinOp)]
    assert pieced == []


def test_nothing_said_blames_or_begs_and_spanish_says_usted():
    told = [*SPANISH, *SPANISH.values(), *MESSAGES]
    assert [text for text in told if NOT_SAID.search(text)] == []


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_a_template_has_no_words_beside_its_messages(path):
    """What stands between the tags of a template is said through the catalogue, or is a unit."""
    source = path.read_text(encoding="utf-8")
    html = "".join(value for _, kind, value in templates().lex(source) if kind == "data")
    bare = re.sub(r"<[^>]*>?|^[^<>]*>", " ", html)
    attributes = re.findall(r'(?:aria-label|title|placeholder|alt)="([^"]*[a-z][^"]*)"', html)
    assert set(re.findall(r"[^\W\d_]{3,}", bare)) <= {"Fallow", "doctype"}
    assert attributes == []
