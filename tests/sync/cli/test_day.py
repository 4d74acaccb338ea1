"""`fallow day`, as the owner types it in the evening."""

from datetime import UTC, datetime

import pytest


def test_a_day_is_told_by_what_had_come_in_and_by_what_came_later(season, fallow, tmp_path):
    made, files = season
    evening = datetime(2026, 1, 21, 6, tzinfo=UTC)
    late = {"d.handover.zip", "e.csv"}
    made.take({"x.handover.zip": b"no zip"}, now=evening)
    made.take({k: v for k, v in files.items() if k not in late}, now=evening)
    made.take({k: files[k] for k in late}, now=datetime(2026, 1, 25, tzinfo=UTC))

    code, out, err = fallow("day", made.folder, "--on", "2026-01-21",
                            "--known-by", "2026-01-21T07:00:00Z")

    assert code == 0, err
    assert max(map(len, out.splitlines())) <= 100
    said = " ".join(out.split())
    assert "p2-aaaa 5 to 8, 09:05 to 11:35: 3.6 ± 1.9 bags expected" in said
    assert "x.handover.zip REFUSED:" in said
    assert "3 files taken, 1 refused: 48 new records" in said
    assert "by person RK 8" in said
    code, out, _ = fallow("day", made.folder, "--on", "2026-01-21", "--out", tmp_path / "day.txt")
    assert (code, out) == (0, "")
    later = (tmp_path / "day.txt").read_text()
    assert "by person  RK 1" in later
    assert "1 record taken back or corrected" in later  # the paper count, since its records came
    assert "No number of any phone is missing" in later


@pytest.mark.parametrize(("words", "said"), [
    (("--on", "2999-01-01"), "is a day to come"), (("--on", "1066-10-14"), "1066-10-14"),
    (("--on", "yesterday"), "'yesterday' is no day"),
    (("--known-by", "noon"), "'noon' is no time"),
])
def test_an_odd_day_ends_with_2(small, fallow, words, said):
    code, _, err = fallow("day", small().folder, *words)
    assert code == 2
    assert said in err


def test_a_new_block_has_an_evening_too_and_a_folder_without_one_has_none(small, fallow, tmp_path):
    code, out, _ = fallow("day", small().folder)
    assert code == 0
    assert "BAGS 0 by 0 records" in out
    assert fallow("day", tmp_path)[0] == 3
