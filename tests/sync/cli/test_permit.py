"""`fallow permit`, as the owner types it before the return goes out, and a year later."""

import hashlib
import json
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fieldapp.record import stamp
from sync.disk.journal import ShedJournal

PERMITS = """
[[permit]]
permit = "TM-1"
from = 2024-09-01
until = 2030-08-31
year_start = "09-01"
cap = 1000
cap_unit = "kg_dry"
keep_pct = 30
notice_days = 20
"""
TWO = PERMITS + """
[[permit]]
permit = "TM/2"
year_start = "07-01"
cap = 50
cap_unit = "bags"
"""
FORMS = ("--json", "--html", None)


@pytest.fixture
def held(season):
    """The season's block under a permit, with the files in the order they came."""
    made, files = season
    (made.folder / "permits.toml").write_text(PERMITS)
    return made, files


def told(fallow, folder, *words):
    """The return in all three forms."""
    found = []
    for form in FORMS:
        code, out, err = fallow("permit", folder, *words, *([form] if form else ()))
        assert code == 0, err
        found.append(out)
    return found


@settings(max_examples=3, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(order=st.permutations("abcde"), early=st.integers(0, 4))
def test_a_return_by_a_time_is_the_same_bytes_whatever_comes_in_later(
    fallow, small, season, order, early
):
    _, files = season
    name = f"block-{''.join(order)}-{early}"
    made = small(name, permits=PERMITS)
    if (made.folder / "journal.sqlite").exists():
        return  # an example tried twice
    for phone, key in (("p1", bytes(range(32))), ("p2", bytes(range(1, 33)))):
        made.phone(phone, key=key)
    arrived = datetime(2026, 3, 1, tzinfo=UTC)
    by_letter = {file[0]: file for file in files}
    for i, letter in enumerate(order):
        if i == early:
            known = stamp(arrived + timedelta(days=i) - timedelta(milliseconds=1))
            before = told(fallow, made.folder, "--year", "2025", "--known-by", known)
        file = by_letter[letter]
        (took,) = made.take({file: files[file]}, arrived + timedelta(days=i))
        assert took.refused is None
    assert told(fallow, made.folder, "--year", "2025", "--known-by", known) == before
    code, now, _ = fallow("permit", made.folder, "--year", "2025", "--json")
    assert (code, now == before[0]) == (0, False)


def test_a_filed_return_stands_and_later_bags_show_beside_it(fallow, held):
    made, files = held
    made.take({"a.handover.zip": files["a.handover.zip"]})
    code, out, err = fallow("permit", made.folder, "--year", "2025", "--json", "--filed")
    assert code == 0
    assert "filed as shed:1; the copy is" in err
    (copy,) = (made.folder / "reports").iterdir()
    assert copy.read_text() == out
    with ShedJournal(made.folder) as journal:
        record = next(one.record for one in journal.held() if one.name == "shed:1")
    (filed,) = json.loads(out)["returns"]
    assert record["sum"] == hashlib.sha256(out.encode()).hexdigest()
    assert (record["person"], record["year"], record["taken"]) == (
        "O", 2025, filed["taken"]["value"])
    assert record["known_by"] == filed["known_by"]
    assert permit_of(fallow, made.folder)["filed"]["same"] is True

    made.take({name: files[name] for name in files if name != "a.handover.zip"},
              datetime.now(UTC))
    people = made.folder / "people.toml"
    people.write_text(people.read_text() + '[NW]\nname = "new since"\ncall = "N."\n')
    again = fallow("permit", made.folder, "--year", "2025", "--known-by", record["known_by"],
                   "--json")[1]
    assert again == out, "the same bytes after late data"
    now = permit_of(fallow, made.folder)["filed"]
    assert (now["same"], now["taken"], now["record"]) == (
        False, filed["taken"]["value"], "shed:1")
    assert now["taken_now"] > now["taken"]
    text = " ".join(fallow("permit", made.folder, "--year", "2025")[1].split())
    assert "as shed:1, by what was known at" in text
    assert "no longer the same." in text


def permit_of(fallow, folder):
    code, out, err = fallow("register", folder, "--json")
    assert code == 0, err
    return json.loads(out)["permits"][0]


def test_filing_the_same_figures_twice_writes_once_and_others_anew(fallow, held):
    made, files = held
    made.take({"a.handover.zip": files["a.handover.zip"]})
    words = ("permit", made.folder, "--year", "2025", "--filed", "--by", "MT")
    assert fallow(*words)[0] == 0
    code, _, err = fallow(*words)
    assert code == 0
    assert "filed already on" in err
    assert "as shed:1 with the same figures; nothing was written" in err
    made.take({"b.handover.zip": files["b.handover.zip"]})
    code, _, err = fallow(*words)
    assert code == 0
    assert "shed:1 of" in err
    assert "said otherwise; the last filed counts" in err
    assert "filed as shed:2" in err
    assert permit_of(fallow, made.folder)["filed"]["record"] == "shed:2"


def test_filing_by_a_time_that_is_past_is_of_what_was_known_then(fallow, held):
    made, files = held
    made.take({"a.handover.zip": files["a.handover.zip"]}, datetime(2026, 3, 1, tzinfo=UTC))
    made.take({"b.handover.zip": files["b.handover.zip"]}, datetime(2026, 3, 3, tzinfo=UTC))
    known = "2026-03-02T00:00:00.000Z"
    before = fallow("permit", made.folder, "--year", "2025", "--known-by", known, "--json")[1]
    code, out, err = fallow("permit", made.folder, "--year", "2025", "--known-by", known,
                            "--filed", "--json")
    assert (code, out) == (0, before)
    assert "the permit year ends on 2026-08-31; file it again if more is picked" in err
    assert permit_of(fallow, made.folder)["filed"]["same"] is False


def test_several_permits_are_told_and_filed_each(fallow, held, tmp_path):
    made, files = held
    (made.folder / "permits.toml").write_text(TWO)
    made.take(files)
    code, out, _ = fallow("permit", made.folder, "--year", "2025", "--json", "--filed")
    assert code == 0
    assert [one["permit"]["permit"] for one in json.loads(out)["returns"]] == ["TM-1", "TM/2"]
    assert [one["year"]["from"] for one in json.loads(out)["returns"]] == [
        "2025-09-01", "2025-07-01"]
    names = sorted(path.name[:-14] for path in (made.folder / "reports").iterdir())
    assert names == ["return-TM-1-2025", "return-TM-2-2025"]
    page = tmp_path / "return.html"
    code, out, err = fallow("permit", made.folder, "TM/2", "--year", "2025", "--html", "--out",
                            page)
    assert (code, out) == (0, "")
    assert str(page) in err
    assert "<svg" in page.read_text()
    assert "TM-1" not in page.read_text()


ODD = (
    (("--json", "--html"), 2, "say one of"),
    (("--by", "O"), 2, "--filed"),
    (("--filed", "--on", "2026-01-01"), 2, "leave out --on"),
    (("--filed", "--known-by", "2999-01-01T00:00:00Z"), 2, "still to come"),
    (("--known-by", "soon"), 2, "is no time"),
    (("--year", "12"), 2, "--year"),
    (("TM-9",), 1, "permit 'TM-9': permits.toml names none so; there are: TM-1"),
    (("--year", "2031"), 1, "in force from 2024-09-01 until 2030-08-31, on no day of its year"),
    (("--year", "2026", "--on", "2026-08-31"), 1, "begins on 2026-09-01, after 2026-08-31"),
)


def test_odd_words_are_refused_and_write_nothing(fallow, held):
    made, _ = held
    for words, code, said in ODD:
        ended, out, err = fallow("permit", made.folder, *words)
        assert (ended, out) == (code, ""), words
        assert said in " ".join(err.split())
    assert not list((made.folder / "reports").glob("*"))
    (made.folder / "permits.toml").unlink()
    code, _, err = fallow("permit", made.folder)
    assert code == 1
    assert "this block has no permit" in err


def test_a_person_code_that_is_none_files_nothing(fallow, held):
    made, files = held
    made.take({"a.handover.zip": files["a.handover.zip"]})
    code, out, err = fallow("permit", made.folder, "--year", "2025", "--filed", "--by", "nobody")
    assert (code, out) == (1, "")
    assert "nobody" in err
    assert permit_of(fallow, made.folder)["filed"] is None


@pytest.mark.parametrize("day", ["9999-12-31", "0001-01-01", "3000-01-01"])
@pytest.mark.parametrize("word", ["permit", "register", "lots"])
def test_2026_11_28_a_day_of_a_year_that_nobody_can_mean_is_refused(fallow, held, word, day):
    code, out, err = fallow(word, held[0].folder, "--on", day)

    assert (code, out) == (2, "")
    assert f"'{day}' is no day such as 2026-02-20, of a year from 1900" in " ".join(err.split())


def test_2026_11_28_a_return_filed_by_nobody_known_is_written_and_said(fallow, held):
    folder = held[0].folder
    words = ("permit", folder, "--year", 2025, "--filed")
    code, _, err = fallow(*words, "--by", "ZZ")

    assert code == 0
    assert "--by ZZ: people.toml has nobody of that code" in " ".join(err.split())
    assert "filed as shed:" in err
    assert "nobody of that code" not in fallow(*words, "--by", "O")[2]
