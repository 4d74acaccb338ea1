import pytest

from fieldapp.device.sheet import keep_sheet, kept_sheet
from fieldapp.ground import GroundError, pack_sheet

KEY = b"k" * 32
SQUARE = [[[[0, 0], [100, 0], [100, 100], [0, 100], [0, 0]]]]


def sheet_file(made_at="2026-01-09T05:00:00.000Z", *, key=KEY, block="km7q2x4a", left_kg=900):
    return pack_sheet({
        "sheet": 1, "id": "0a1b2c3d", "block": {"id": block, "name": "Kettle Mire"}, "for": "p3",
        "made_at": made_at, "good_until": "2026-02-16T05:00:00.000Z", "zone": "Pacific/Auckland",
        "season_start": "07-01", "cell_m": 100, "outline": SQUARE,
        "map": {"at": [-42.86, 169.69], "to_m": [[0, 0, 81600, 0, 0, 0], [0, 111100, 0, 0, 0, 0]],
                "to_deg": [[0, 0, 1 / 111100, 0, 0, 0], [0, 1 / 81600, 0, 0, 0, 0]]},
        "cells": [{"cell": "A01", "shape": SQUARE, "ground_class": "lawn", "state": "ready",
                   "why": "", "rest_ends": None, "then": None, "left_kg": left_kg,
                   "left_bags": 130}],
        "closures": [], "pegs": [], "marks": [], "permits": [], "people": [], "plots": [],
        "probes": 3, "frame_m": 0.5, "check_in_min": 60, "declination_deg": 23.6, "gate": None,
        "bag_types": [{"type": "sack", "wet_kg": 88, "dry_kg": 6.8}], "label_from": 15,
        "held": [[1, 8]], "held_of": "p3-k7f2"}, program="0.1.0", key=key)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "sheet.json"


def test_the_newest_sheet_is_kept_and_read_back(path):
    assert kept_sheet(path) is None

    kept = keep_sheet(path, sheet_file(), key=KEY)

    assert kept_sheet(path) == kept
    assert kept.cells[0].left_kg == 900
    newer = keep_sheet(path, sheet_file("2026-01-10T05:00:00.000Z", left_kg=400), key=KEY)
    assert kept_sheet(path) == newer != kept


def test_an_older_sheet_is_refused_and_the_newer_stands(path):
    newer = keep_sheet(path, sheet_file("2026-01-10T05:00:00.000Z"), key=KEY)

    with pytest.raises(GroundError, match="2026-01-10"):
        keep_sheet(path, sheet_file(), key=KEY)

    assert kept_sheet(path) == newer


def test_the_same_sheet_again_changes_nothing(path):
    keep_sheet(path, sheet_file(), key=KEY)
    before = path.stat().st_mtime_ns

    keep_sheet(path, sheet_file(), key=KEY)

    assert path.stat().st_mtime_ns == before
    assert not path.with_name("sheet.json.before").exists()


def test_a_sheet_sealed_for_another_phone_is_refused(path):
    with pytest.raises(GroundError):
        keep_sheet(path, sheet_file(key=b"j" * 32), key=KEY)

    assert kept_sheet(path) is None


def test_a_damaged_sheet_gives_way_to_the_one_before(path):
    first = keep_sheet(path, sheet_file(), key=KEY)
    keep_sheet(path, sheet_file("2026-01-10T05:00:00.000Z"), key=KEY)
    path.write_bytes(path.read_bytes()[:300])

    assert kept_sheet(path) == first


def test_a_phone_turned_to_another_block_takes_that_blocks_sheet(path):
    keep_sheet(path, sheet_file("2026-01-10T05:00:00.000Z"), key=KEY)

    other = keep_sheet(path, sheet_file(block="zz3b8c1d"), key=KEY)

    assert kept_sheet(path) == other
