"""Draws are kept, one after another, and a broken file is told with draw and value."""

import json
from datetime import date

import pytest

from sync.block import TrialDraw, TrialPair
from sync.disk.trials import TRIALS_FILE, add_draw, trials_in
from sync.errors import SettingsError

FIRST = TrialDraw("rolling", "rolled", date(2023, 9, 1), 417,
                  (TrialPair("A01", "A02", "lawn", 44.25, 1 / 3),))
SECOND = TrialDraw("rolling", "rolled", date(2024, 9, 1), 5,
                   (TrialPair("B01", "B02", "lawn", 50.0, 51.0),))


def test_a_draw_is_added_and_those_before_are_kept_to_the_last_digit(tmp_path):
    assert trials_in(tmp_path, []) == ()
    add_draw(tmp_path, FIRST)
    one = (tmp_path / TRIALS_FILE).read_bytes()
    add_draw(tmp_path, SECOND)
    assert trials_in(tmp_path, []) == (FIRST, SECOND)
    assert (tmp_path / "trials.before.json").read_bytes() == one


@pytest.mark.parametrize(("change", "said"), [
    (lambda v: v["draws"][0].pop("seed"), "draw 1: KeyError 'seed'"),
    (lambda v: v["draws"][0].update(seed="x"), "draw 1: ValueError seed = 'x'"),
    (lambda v: v["draws"][0].update(drawn_on="soon"), "draw 1: ValueError"),
    (lambda v: v["draws"][0]["pairs"][0].update(other="a1"), "draw 1: ValueError cell 'a1'"),
    (lambda v: v["draws"][0]["pairs"][0].update(other="A01"), "cell 'A01': is in 2 pairs"),
    (lambda v: v["draws"].append(5), "draw 2: TypeError"),
    (lambda v: v.update(draws=5), 'write {"trials": 1'),
    (lambda v: v.update(trials=2), 'write {"trials": 1'),
])
def test_a_broken_file_is_told_and_not_written_over(tmp_path, change, said):
    add_draw(tmp_path, FIRST)
    path = tmp_path / TRIALS_FILE
    value = json.loads(path.read_text())
    change(value)
    path.write_text(json.dumps(value))
    mistakes = []
    trials_in(tmp_path, mistakes)
    assert said in mistakes[0]
    before = path.read_bytes()
    with pytest.raises(SettingsError):
        add_draw(tmp_path, SECOND)
    assert path.read_bytes() == before


def test_a_file_that_is_no_json_is_told(tmp_path):
    (tmp_path / TRIALS_FILE).write_text("{")
    mistakes = []
    assert trials_in(tmp_path, mistakes) == ()
    assert "not readable as JSON" in mistakes[0]
