"""`fallow pay`, as the owner types it at the end of a fortnight."""

import csv
import io
import stat

import pytest

SPAN = ("--from", "2025-11-01", "--to", "2026-02-20")


@pytest.fixture
def taken(season):
    made, files = season
    made.take(files)
    return made.folder


def test_bags_by_person_and_day_as_table_and_csv(fallow, taken):
    code, out, _ = fallow("pay", taken, *SPAN)
    assert code == 0
    assert max(map(len, out.splitlines())) <= 100
    rows = [line.split() for line in out.splitlines()]
    assert ["MT", "2025-11-11", "62", "–", "–", "–", "21"] in rows  # 20 × 3, and 3 mended to 2
    assert "p2-aaaa:10 came with two contents" in " ".join(out.split())
    code, text, _ = fallow("pay", taken, *SPAN, "--csv", "--person", "MT")
    (row,) = csv.DictReader(io.StringIO(text))
    assert code == 0
    assert (row["person"], row["bags"]) == ("MT", "62")
    assert len(row["records"].split()) == 21


def test_a_sheet_is_one_persons_and_readable_by_its_owner_alone(fallow, taken, tmp_path):
    out = tmp_path / "MT.html"
    code, _, err = fallow("pay", taken, *SPAN, "--person", "MT", "--sheet", "--language", "es",
                          "--out", out)
    assert code == 0, err
    assert stat.S_IMODE(out.stat().st_mode) == 0o600
    assert '<html lang="es">' in out.read_text()
    assert "RK" not in out.read_text()


@pytest.mark.parametrize(("words", "code", "said"), [
    (("--from", "2026-02-20", "--to", "2026-02-01"), 2, "is after --to"),
    (("--from", "2026-02-20", "--to", "2999-02-01"), 2, "a day to come"),
    (("--from", "soon", "--to", "2026-02-01"), 2, "is no day"),
    (("--from", "1900-01-01", "--to", "2026-02-01"), 2, "1900-01-01"),
    (("--to", "2026-02-01"), 2, "--from"),
    ((*SPAN, "--person", "ZZ"), 1, "'ZZ'"),
    ((*SPAN, "--sheet"), 2, "--person"),
    ((*SPAN, "--sheet", "--csv", "--person", "MT"), 2, "say one of"),
    ((*SPAN, "--language", "es"), 2, "--language"),
    ((*SPAN, "--sheet", "--person", "MT", "--language", "fr"), 2, "'fr'"),
])
def test_odd_words_are_refused(fallow, taken, words, code, said):
    ended, out, err = fallow("pay", taken, *words)
    assert (ended, out) == (code, "")
    assert said in " ".join(err.split())
