"""Words: what they say in each language, and that nothing makes them fall silent."""

import gettext
import io
import os
import subprocess
import sys
import zipfile
from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from babel.messages import Catalog
from babel.messages.mofile import write_mo

from fieldapp.phone.say import NOTHING, count, figure, joined, raw, say
from fieldapp.words import LANGUAGES, Words, catalogue, message, tell

ROOT = Path(__file__).parents[3]
BLOCK = ZoneInfo("Pacific/Auckland")
EN, ES = Words("en", BLOCK), Words("es", BLOCK)


@pytest.fixture
def odd(monkeypatch):
    """Words whose catalogue is made for the test: English to what is given."""
    def make(spanish):
        made = Catalog(locale="es")
        for english, translated in spanish.items():
            made.add(english, translated)
        file = io.BytesIO()
        write_mo(file, made)
        file.seek(0)
        monkeypatch.setattr(catalogue, "_translations",
                            lambda language: gettext.GNUTranslations(file))
        return Words("es", BLOCK)
    return make


def test_english_says_what_stands_in_the_code():
    assert EN("You are {distance} from plot {plot}", distance="41 m", plot="031") == (
        "You are 41 m from plot 031")


def test_spanish_says_the_same_with_the_same_figures():
    assert ES("You are {distance} from plot {plot}", distance="41 m", plot="031") == (
        "Está a 41 m del punto 031")


def test_what_has_no_spanish_is_said_in_english():
    assert ES("no such message: {cell}", cell="D07") == "no such message: D07"


def test_no_text_says_nothing():
    assert (ES(""), EN("")) == ("", "")


@pytest.mark.parametrize("spanish", [
    "a {celda}", "a", "a {cell} {more}", "a {cell", "a {0}", "a {}", "a } {cell}"])
def test_a_translation_whose_blanks_do_not_fit_is_said_in_english(odd, spanish):
    assert odd({"to {cell}": spanish})("to {cell}", cell="D07") == "to D07"


def test_a_translation_may_change_the_order_of_its_blanks(odd):
    words = odd({"{a} before {b}": "{b} tras {a}"})
    assert words("{a} before {b}", a="1", b="2") == "2 tras 1"


@pytest.mark.parametrize("text", ["to {cell}", "half {", "by number {0}", "{}"])
def test_a_value_that_lacks_leaves_the_words_and_raises_nothing(text):
    assert EN(text) == text


@pytest.mark.parametrize(("n", "english", "spanish"), [
    (0, "0 bags", "0 sacos"), (0.5, "½ bag", "½ saco"), (1, "1 bag", "1 saco"),
    (1.5, "1½ bags", "1½ sacos"), (2, "2 bags", "2 sacos"), (14, "14 bags", "14 sacos"),
    (10.5, "10½ bags", "10½ sacos")])
def test_bags_are_counted_to_the_half(n, english, spanish):
    assert EN.count(n, "{n} bag", "{n} bags") == english
    assert ES.count(n, "{n} bag", "{n} bags") == spanish


def test_a_count_takes_other_values_too():
    said = EN.count(12, "left here: {n} bag ({day})", "left here: {n} bags ({day})", day="24 Nov")
    assert said == "left here: 12 bags (24 Nov)"


def test_a_language_nobody_wrote_speaks_english():
    assert Words("xx", UTC)("READY") == "READY"


def test_a_catalogue_that_cannot_be_read_leaves_english(monkeypatch, tmp_path):
    folder = tmp_path / "locale/es/LC_MESSAGES"
    folder.mkdir(parents=True)
    monkeypatch.setattr(catalogue.resources, "files", lambda package: tmp_path)
    assert Words("es", UTC)("READY") == "READY"

    (folder / "fieldapp.mo").write_bytes(b"no catalogue at all")
    assert Words("es", UTC)("READY") == "READY"

    whole = (ROOT / "fieldapp/words/locale/es/LC_MESSAGES/fieldapp.mo").read_bytes()
    for length in range(0, len(whole), 997):
        (folder / "fieldapp.mo").write_bytes(whole[:length])
        assert Words("es", UTC)("READY") in ("READY", "LISTA")


def test_each_language_has_its_own_name():
    assert dict(LANGUAGES) == {"en": "English", "es": "Español"}


def test_a_marked_message_is_the_text_itself():
    assert message("READY") == "READY"


def test_spanish_is_read_out_of_a_packed_program_with_no_folder_to_write_to(tmp_path):
    packed = tmp_path / "fallow.zip"
    with zipfile.ZipFile(packed, "w") as file:
        for path in ROOT.glob("fieldapp/**/*"):
            if path.suffix in (".py", ".mo"):
                file.write(path, path.relative_to(ROOT))
    program = ("from datetime import timezone; import fieldapp.words as w;"
               "print(w.__file__, w.Words('es', timezone.utc)('RESTING'))")
    said = subprocess.run(
        [sys.executable, "-OO", "-c", program],
        env={"PYTHONPATH": str(packed), "TMPDIR": "/nowhere", "PATH": os.environ["PATH"]},
        cwd=tmp_path, capture_output=True, text=True, check=True, timeout=60).stdout
    assert said.startswith(str(packed))
    assert said.strip().endswith("EN DESCANSO")


def test_what_the_phone_says_is_told_with_its_figures_in_each_language():
    said = say("{distance} {wind} of gate", distance=figure("metres", 1240.0),
               wind=figure("wind", "SW"))
    assert tell(EN, said) == "1.2 km SW of gate"
    assert tell(ES, said) == "1,2 km SO del portón"


def test_messages_within_messages_and_counts_are_told():
    said = joined(count(1.5, "{n} bag", "{n} bags"), say("pile {label}", label="P3-014"),
                  raw("C07"), None)
    assert tell(ES, said) == "1½ sacos · pila P3-014 · C07"
    assert tell(ES, say("last: {thing}", thing=say("hazard"))) == "último: peligro"


def test_a_raw_text_with_braces_is_told_as_it_is():
    assert tell(ES, raw("{odd} name")) == "{odd} name"
    assert tell(ES, joined(raw("{odd}"), raw("C07"))) == "{odd} · C07"
    assert tell(ES, NOTHING) == ""


@pytest.mark.parametrize(("kind", "value", "digits", "told"), [
    ("bags", 1.5, 0, "1½"), ("metres", 31.2, 0, "31 m"), ("kg", 61.5, 1, "61,5 kg"),
    ("pct", 71.0, 0, "71 %"), ("number", -12.5, 1, "−12,5"), ("day", date(2028, 3, 14), 0,
                                                              "14 mar 2028"),
    ("short_day", date(2026, 11, 25), 0, "25 nov"), ("span", 130.0, 0, "2 min"),
    ("clock", datetime(2026, 11, 24, 18, 40, tzinfo=UTC), 0, "07:40"), ("wind", "NW", 0, "NO"),
    ("degrees", 46.8, 0, "47°"), ("latitude", -46.12345, 0, "S 46,12345"),
    ("longitude", -168.54321, 0, "O 168,54321")])
def test_each_kind_of_figure_is_written_in_the_language(kind, value, digits, told):
    assert tell(ES, say("= {it}", it=figure(kind, value, digits))) == f"= {told}"
