"""The made-up block: its story comes out of the register, not out of its text."""

import json
import shutil
from datetime import UTC, date, datetime

import jsonschema
import pytest

from fieldapp.device.journal import Journal
from sync.demo.special import EARLY_GROUPS
from sync.demo.story import ON, make_demo
from sync.disk.folder import load_block
from sync.disk.load import load_inputs
from sync.disk.taking import Options, take_files
from sync.flags.raised import flags_of
from sync.register.build import build
from sync.report.document import register_document, register_json

BEFORE_PAPER = datetime(2025, 4, 1, tzinfo=UTC)


def read(folder, on=ON, known_by=None):
    register = build(load_inputs(folder, known_by=known_by), on=on)
    flags = flags_of(register)
    return register, {f.name: f for f in flags}, register_document(register, flags)


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo") / "block"
    made = make_demo(folder, seed=417, tell=lambda _: None)
    assert made.on == ON
    return folder


@pytest.fixture(scope="module")
def told(demo):
    return read(demo)


def row(document, cell):
    return next(one for one in document["cells"] if one["cell"] == cell)


def test_the_early_pick_is_found_sure_with_the_bags_of_the_story(told):
    _, flags, document = told
    early = flags["early_pick:C08:2025"]
    expected = sum(bags * chance for _, bags, chance in EARLY_GROUPS)
    assert early.how_sure == "sure"
    assert early.probability > 0.999
    assert early.figures["bags"] == pytest.approx(expected, abs=0.02)
    assert early.figures["picked_from"] == date(2026, 1, 22)
    assert early.figures["rest_ends"].isoformat() == row(document, "C08")["rest_ends"]
    assert len(early.records) == 16


def test_no_other_cell_is_called_picked_early(told):
    _, flags, _ = told
    assert [n for n in flags if n.startswith("early_pick")] == ["early_pick:C08:2025"]


def test_the_cell_they_were_sent_to_is_only_touched_and_stays_ready(told):
    register, _, document = told
    assert row(document, "C09")["state"] == "ready"
    assert row(document, "C09")["last_picked"] is None
    assert [p.touch for p in register.crop.cells["C09"].picks] == [True]


def test_the_lost_file_is_missed_until_the_paper_count_stands_for_it(demo, told):
    _, flags, document = told
    assert not [n for n in flags if n.startswith("missing_records")]
    assert row(document, "K04")["complete"] is True
    _, before, then = read(demo, on=date(2025, 3, 31), known_by=BEFORE_PAPER)
    (name,) = [n for n in before if n.startswith("missing_records")]
    assert name.startswith("missing_records:p2-")
    (hole,) = before[name].figures["holes"]
    assert hole["paper_bags"] is None
    assert hole["bags"] > 0
    assert row(then, "K04")["complete"] is False


def test_the_wrong_clock_is_mended_and_said(told):
    register, flags, document = told
    (name,) = [n for n in flags if n.startswith("clock_wrong")]
    assert name.startswith("clock_wrong:p4-")
    assert flags[name].figures["lag_s"] == -5_270_400
    bags = [p.bag for p in register.known.placed
            if p.bag.name in flags[name].records]
    assert sum(bag.bags for bag in bags) == 23
    assert {bag.day for bag in bags} == {date(2026, 1, 19)}
    assert row(document, "F09")["last_picked"]["from"] == "2026-01-19"


def test_the_pool_on_no_map_counts_as_bare_ground(told):
    register, _, document = told
    readings = register.crop.cells["I07"].readings
    assert [r.reading.plot for r in readings if r.reading.bare] == ["118"]
    assert row(document, "I07")["quadrats"] == 4
    mean = [r.index.volume_l_m2 for r in readings]
    assert 0.0 in mean


def test_the_weak_fix_on_the_border_goes_to_the_confirmed_cell(told):
    register, _, _ = told
    weak = [p for p in register.known.placed if p.sigma_m and p.sigma_m > 15]
    assert len(weak) == 2
    assert {p.how for p in weak} == {"confirmed"}
    assert all(p.chances == {"F08": 1.0} for p in weak)


def test_one_cell_was_picked_half_as_much_again_as_it_allowed(demo):
    _, _, before = read(demo, on=date(2024, 11, 10))
    _, _, after = read(demo, on=date(2024, 12, 31))
    allowed = row(before, "D06")["may_take_kg"]
    assert row(after, "D06")["last_picked"]["kg"]["low"] > 1.3 * allowed


def test_only_the_class_without_clips_is_called_assumed(told):
    _, flags, document = told
    assert [n for n in flags if n.startswith("density_assumed")] == ["density_assumed:edge:2025"]
    assert document["block"]["densities"]["edge"]["clips"] == 0


def test_the_permit_binds_the_block_and_every_figure_fits_the_schema(told):
    from importlib.resources import files

    _, _, document = told
    text = (files("sync.report") / "schemas" / "register.schema.json").read_text()
    jsonschema.validate(json.loads(register_json(document)), json.loads(text))
    (permit,) = document["permits"]
    assert document["block"]["may_take_t"] == pytest.approx(permit["left"] / 1000, abs=0.05)
    left = sum(one["left_kg"] or 0 for one in document["cells"])
    assert left > permit["left"]


def test_every_record_of_every_journal_that_was_handed_over_is_at_the_shed(demo, told):
    register, _, _ = told
    missing = 0
    for path in sorted((demo / "demo" / "phones").glob("*.sqlite")):
        device = path.stem
        with Journal.open(path, device=device) as journal:
            numbers = {record["seq"] for record in journal.records()}
        held = set(register.merged.numbers[device])
        assert held <= numbers
        missing += len(numbers - held)
    (lost,) = register.holes
    assert missing == lost.last - lost.first + 1


def test_all_files_in_another_order_give_the_same_bytes(demo, told, tmp_path):
    _, _, document = told
    other = tmp_path / "other"
    other.mkdir()
    for path in demo.iterdir():
        if path.suffix in {".toml", ".geojson"} or path.name in {"plots.json", "keys"}:
            (shutil.copytree if path.is_dir() else shutil.copy)(path, other / path.name)
    block, _ = load_block(other)
    shelf = demo / "demo"
    taken = {line.split("'")[1] for line in (demo / "intake.log").read_text().splitlines()}
    files = [p for p in (*shelf.glob("hand-overs/*.zip"), *shelf.glob("*.csv")) if p.name in taken]
    found = take_files(other, block, sorted(files, key=lambda p: p.name[::-1]), Options(),
                       now=datetime(2026, 2, 1, tzinfo=UTC))
    assert not [one for one in found if one.refused or one.aside]
    assert register_json(read(other)[2]) == register_json(document)
