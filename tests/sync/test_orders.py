"""The register is a function of the set of records: order, repeats and splits change no byte."""

import itertools
import random
import shutil
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from fieldapp.handover import pack, unpack
from fieldapp.record import parse_line
from sync.disk.load import load_inputs
from sync.disk.taking import Options, take_files
from sync.flags.raised import flags_of
from sync.register.build import build
from sync.report.document import register_document, register_json

ON = date(2026, 2, 20)
ARRIVED = datetime(2026, 3, 1, tzinfo=UTC)


def register_bytes(folder: Path) -> str:
    register = build(load_inputs(folder), on=ON)
    return register_json(register_document(register, flags_of(register)))


@pytest.fixture
def shelf(season, tmp_path):
    made, files = season
    paths = {}
    for name, data in files.items():
        paths[name] = tmp_path / name
        paths[name].write_bytes(data)
    empty = tmp_path / "empty"
    shutil.copytree(made.folder, empty)

    def taken_in(order: list[Path]) -> str:
        folder = tmp_path / "trial"
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(empty, folder)
        for i, path in enumerate(order):
            (taken,) = take_files(folder, made.block, [path], Options(),
                                  now=ARRIVED + timedelta(hours=i))
            assert taken.refused is None
            assert not taken.aside
        return register_bytes(folder)

    return made, paths, taken_in, tmp_path


def test_all_orders_of_five_files_give_the_same_bytes(shelf):
    _, paths, taken_in, _ = shelf
    found = {taken_in(list(order)) for order in itertools.permutations(paths.values())}
    assert len(found) == 1


def test_the_five_files_hold_what_they_are_meant_to(shelf):
    _, paths, taken_in, tmp_path = shelf
    text = taken_in(list(paths.values()))
    assert '"rule": "number_twice"' in text
    register = build(load_inputs(tmp_path / "trial"), on=ON)
    bags = [c for c in register.merged.counted if c.kind == "bag"]
    assert not any("covers" in c.record for c in bags), "the hole's records came: paper is void"
    assert any(c.record.get("instead_of") for c in bags)


def test_200_random_orders_repeats_and_splits_give_the_same_bytes(shelf):
    made, paths, taken_in, tmp_path = shelf
    rng = random.Random(20251110)
    expected = taken_in(list(paths.values()))
    for trial in range(200):
        order: list[Path] = []
        for name, path in paths.items():
            order += split(path, made, rng, tmp_path / "split", f"{trial}-{name}") \
                if name.endswith(".zip") and rng.random() < 0.5 else [path]
        order += rng.choices(order, k=rng.randrange(4))
        rng.shuffle(order)
        assert taken_in(order) == expected, [p.name for p in order]


def split(path: Path, made, rng: random.Random, folder: Path, stem: str) -> list[Path]:
    """Cut a hand-over into two that overlap or meet, sealed by the same key."""
    from sync.disk.keys import load_phones

    folder.mkdir(exist_ok=True)
    found = unpack(path.read_bytes())
    manifest = found.manifest
    code = manifest.device.partition("-")[0]
    key = next(p.key for p in load_phones(made.folder) if p.phone == code)
    records = [parse_line(line) for line in found.lines]
    cut = rng.randint(manifest.first_seq, manifest.last_seq)
    back = rng.randint(manifest.first_seq, cut)
    paths = []
    for number, (first, last) in enumerate(((manifest.first_seq, cut), (back, manifest.last_seq))):
        part = [r for r in records if first <= r["seq"] <= last]
        target = folder / f"{stem}-{number}.handover.zip"
        target.write_bytes(pack(
            part, device=manifest.device, block=manifest.block, program="0.1.0", made_at=ARRIVED,
            first_seq=first, last_seq=last, key=key, photos={},
        ))
        paths.append(target)
    return paths
