"""Draws in plots.json: nothing is lost, nothing is written over that somebody changed."""

import json
from datetime import date

import pytest

from sync.disk.draws import keep_draw, read_draws
from sync.disk.folder import load_block
from sync.errors import DiskError, SettingsError

DRAW = {"drawn_on": "2026-06-15", "seed": 7, "how": "drawn", "when": "survey", "plots": [],
        "walked_again": [{"plot": "001", "cell": "A01", "chance": 1.0}]}


def test_a_file_changed_meanwhile_stays_as_it_is(small):
    folder = small().folder
    draws = read_draws(folder)
    changed = (folder / "plots.json").read_bytes() + b"\n"
    (folder / "plots.json").write_bytes(changed)
    with pytest.raises(DiskError, match="was changed"):
        keep_draw(folder, draws, DRAW, replaced=None, on=date(2026, 6, 15))
    assert (folder / "plots.json").read_bytes() == changed


def test_a_block_without_the_file_gets_one(small):
    folder = small().folder
    (folder / "plots.json").unlink()
    draw = {**DRAW, "walked_again": []}
    keep_draw(folder, read_draws(folder), draw, replaced=None, on=date(2026, 6, 15))
    assert json.loads((folder / "plots.json").read_text())["draws"] == [{"draw": 1, **draw}]
    assert not (folder / "plots.json.before").exists()


def test_a_plot_walked_again_keeps_its_place_and_knows_since_when(small):
    folder = small().folder
    keep_draw(folder, read_draws(folder), DRAW, replaced=None, on=date(2026, 6, 15))
    plots = {p.name: p for p in load_block(folder)[0].plots}
    assert plots["001"].asked_on == date(2026, 6, 15)
    assert plots["002"].asked_on is None


def test_a_name_that_is_no_plot_is_told(small):
    folder = small().folder
    wrong = {**DRAW, "walked_again": [{"plot": "999", "cell": "A01", "chance": 1.0}]}
    keep_draw(folder, read_draws(folder), wrong, replaced=None, on=date(2026, 6, 15))
    with pytest.raises(SettingsError, match="walked_again '999'"):
        load_block(folder)
