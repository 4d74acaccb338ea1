"""Each message of the phone has a Spanish one that fits; none is kept that nobody says."""

import ast
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from string import Formatter

import pytest
from babel.messages.mofile import read_mo
from babel.messages.pofile import read_po

ROOT = Path(__file__).parents[3]
PO = ROOT / "fieldapp/words/locale/es/LC_MESSAGES/fieldapp.po"
COMPILE = "pybabel compile -d fieldapp/words/locale -D fieldapp"
#: What takes a message first, by the last part of its name; `count` takes two after a number.
SAYING = ("words", "_words", "say", "_say", "_w", "message")
#: Problems whose reason is shown to a person as it is asked.
ASKING = ("fieldapp/record/asks.py", "fieldapp/capture/quadrat.py")
#: Words that put the blame on somebody, or say nothing of what to do.
NOT_SAID = re.compile(r"\b(errors?|please|invalid|fail(ed|ure)?|illegal|forbidden|abort|oops|sorry"
                      r"|mistakes?|error(es)?|por favor|inválid[oa]|fall[oó]|culpa"
                      r"|tu|tus|ti|tienes|puedes|debes)\b", re.IGNORECASE)


def _strings(node: ast.expr) -> Iterator[str]:
    """Give the literal texts that an argument may be."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from _strings(node.body)
        yield from _strings(node.orelse)


def _name(call: ast.Call) -> str:
    called = call.func
    return called.attr if isinstance(called, ast.Attribute) else getattr(called, "id", "")


def _messages(call: ast.Call) -> Iterator[tuple[str, ...]]:
    """Give the messages of a call: (text,), or (one, many) for a number of things."""
    name = _name(call)
    if name in SAYING and call.args:
        for text in _strings(call.args[0]):
            yield (text,)
    elif name == "count" and len(call.args) >= 3:
        pair = [list(_strings(arg)) for arg in call.args[1:3]]
        if all(len(texts) == 1 for texts in pair):
            yield pair[0][0], pair[1][0]


def _calls(path: Path) -> Iterator[ast.Call]:
    text = path.read_text(encoding="utf-8")
    trees = _kv_calls(text) if path.suffix == ".kv" else [ast.parse(text)]
    for tree in trees:
        yield from (node for node in ast.walk(tree) if isinstance(node, ast.Call))


def _kv_calls(text: str) -> Iterator[ast.AST]:
    for found in re.finditer(r"(?<![\w.])(?:\w+\.)*(?:words|say)\(", text):
        for end in re.finditer(r"\)", text[found.start():]):
            try:
                yield ast.parse(text[found.start():found.start() + end.end()], mode="eval")
                break
            except SyntaxError:
                continue


SOURCES = sorted(path for ending in ("py", "kv") for path in ROOT.glob(f"fieldapp/**/*.{ending}"))
SAID = {(messages, path.relative_to(ROOT).as_posix(), call.lineno)
        for path in SOURCES for call in _calls(path) for messages in _messages(call)}
ASKED = {((reason,), path, call.lineno)
         for path in ASKING for call in _calls(ROOT / path)
         if _name(call) == "Problem" and len(call.args) == 3
         for reason in _strings(call.args[2])}
MESSAGES = {messages: f"{path}:{line}"
            for messages, path, line in sorted(SAID | ASKED, reverse=True) if messages != ("",)}


def _spanish() -> Mapping[tuple[str, ...], tuple[str, ...]]:
    with PO.open("rb") as file:
        catalogue = read_po(file, locale="es")
    return {_tuple(one.id): _tuple(one.string) for one in catalogue if one.id}


def _tuple(text: object) -> tuple[str, ...]:
    return (text,) if isinstance(text, str) else tuple(text)


SPANISH = _spanish()


def _to_paste(messages: tuple[str, ...], place: str) -> str:
    quoted = [text.replace("\\", "\\\\").replace('"', '\\"') for text in messages]
    if len(quoted) == 1:
        return f'#. {place}\nmsgid "{quoted[0]}"\nmsgstr ""\n'
    return (f'#. {place}\nmsgid "{quoted[0]}"\nmsgid_plural "{quoted[1]}"\n'
            'msgstr[0] ""\nmsgstr[1] ""\n')


def _blanks(text: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(text) if name is not None}


def _has_words(messages: tuple[str, ...]) -> bool:
    """Say whether anything is left to translate beside the blanks."""
    return any(letter.isalpha() for text in messages
               for piece, *_ in Formatter().parse(text) for letter in piece)


def test_there_are_messages_of_each_way_to_say_one():
    ways = {path.split("/")[1] for _, path, _ in SAID | ASKED}
    assert {"words", "phone", "record", "capture"} <= ways
    assert len(MESSAGES) > 100


def test_a_message_in_a_kv_rule_is_found():
    kv = ("Label:\n    text: app.words('31 m to {cell}', cell=root.cell)\n"
          "    other: root.words(\"I'M OK (\") + crosswords('no')\n")
    found = {text for tree in _kv_calls(kv) for node in ast.walk(tree)
             if isinstance(node, ast.Call) for text in _messages(node)}
    assert found == {("31 m to {cell}",), ("I'M OK (",)}


def test_each_message_has_its_spanish():
    lacking = [_to_paste(messages, MESSAGES[messages]) for messages in sorted(MESSAGES)
               if _has_words(messages) and not all(SPANISH.get(messages, ("",)))]
    assert not lacking, (f"{len(lacking)} to translate in {PO.name}, in their place by msgid, "
                         f"then `{COMPILE}`:\n\n" + "\n".join(lacking))


def test_no_message_is_kept_that_nobody_says():
    idle = sorted(set(SPANISH) - set(MESSAGES))
    assert not idle, "take out of fieldapp.po:\n" + "\n".join(text[0] for text in idle)


@pytest.mark.parametrize("messages", sorted(SPANISH), ids=lambda messages: messages[0][:40])
def test_spanish_has_the_blanks_of_the_english(messages):
    spanish = SPANISH[messages]
    assert len(spanish) == len(messages)
    for english, translated in zip(messages, spanish, strict=True):
        assert _blanks(translated) == _blanks(english)


def test_messages_stand_sorted_and_once():
    written = re.findall(r'^msgid "(.+)"$', PO.read_text(encoding="utf-8"), re.MULTILINE)
    assert written == sorted(set(written))
    assert len(written) == len(SPANISH)


def test_the_compiled_catalogue_is_that_of_the_written_one():
    with PO.with_suffix(".mo").open("rb") as file:
        compiled = {_tuple(one.id): _tuple(one.string) for one in read_mo(file) if one.id}
    assert compiled == SPANISH, f"compile anew and commit: {COMPILE}"


def test_each_value_that_a_message_asks_for_is_given():
    for path in SOURCES:
        for call in _calls(path):
            given = {word.arg for word in call.keywords}
            for messages in _messages(call):
                own = {"n"} if len(messages) == 2 else set()
                asked = set().union(*map(_blanks, messages)) - own
                takes = _name(call) == "message" or None in given
                assert takes or asked == given, f"{path}:{call.lineno} {messages[0]!r}"


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_no_message_is_put_together_from_pieces(path):
    pieced = [call.lineno for call in _calls(path) if _name(call) in SAYING and call.args
              and isinstance(call.args[0], ast.JoinedStr | ast.BinOp)]
    assert pieced == []


def test_nothing_said_blames_or_begs_and_spanish_says_usted():
    told = [text for pair in SPANISH.items() for texts in pair for text in texts]
    told += [text for messages in MESSAGES for text in messages]
    assert [text for text in told if NOT_SAID.search(text)] == []
