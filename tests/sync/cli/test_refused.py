"""A file that cannot be trusted: one line of reason, exit 1, and nothing of the block moves."""

import hashlib
import io
import zipfile
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from sync.cli import app
from sync.cli.shown import run


def fallow(monkeypatch: pytest.MonkeyPatch, *words: object) -> int:
    monkeypatch.setattr("sys.argv", ["fallow", *map(str, words)])
    return run(app)


def sums(folder: Path) -> dict[str, str]:
    return {
        str(p.relative_to(folder)): hashlib.sha256(p.read_bytes()).hexdigest()
        for p in sorted(folder.rglob("*")) if p.is_file() and p.name != "intake.log"
    }


def zip_of(**entries: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in entries.items():
            archive.writestr(name, content)
    return out.getvalue()


def spoiled(good: bytes, made) -> dict[str, Callable[[], bytes]]:
    flipped = bytearray(good)
    flipped[len(good) // 2] ^= 0x10
    stranger = made.phone("p9")
    stranger.device = "q9-zzzz"
    stranger.note("check_in", datetime(2026, 1, 1, tzinfo=UTC), state="fine", where=None)
    unsealed = made.phone("p5", "bbbb", key=bytes(32))
    unsealed.note("check_in", datetime(2026, 1, 1, tzinfo=UTC), state="fine", where=None)
    return {
        "cut off": lambda: good[: len(good) * 2 // 3],
        "flipped": lambda: bytes(flipped),
        "never paired": stranger.pack,
        "path": lambda: zip_of(**{"../evil.txt": b"x", "manifest.json": b"{}"}),
        "bomb": lambda: zip_of(**{"manifest.json": b"{}", "records.ndjson": bytes(400_000_000)}),
        "text": lambda: b"this is a shopping list\n",
        "unsealed": lambda: unsealed.pack(key=None),
        "another block": lambda: unsealed.pack(block="otherblk"),
    }


@pytest.fixture
def block(season):
    made, files = season
    return made, files, spoiled(files["a.handover.zip"], made)


@pytest.mark.parametrize("what", [
    "cut off", "flipped", "unsealed", "never paired", "path", "bomb", "text", "another block",
])
def test_a_doubtful_file_is_refused_in_one_line_and_changes_nothing(
    block, what, monkeypatch, capsys, tmp_path
):
    made, files, bad = block
    made.take({"first.handover.zip": files["b.handover.zip"]})
    path = tmp_path / f"{what}.handover.zip"
    path.write_bytes(bad[what]())
    before, log = sums(made.folder), (made.folder / "intake.log").read_text()

    code = fallow(monkeypatch, "take", made.folder, path)

    said = capsys.readouterr()
    assert code == 1
    assert said.err.count("\n") == 1, said.err
    assert f"{path.name}: refused: " in said.err
    assert sums(made.folder) == before
    added = (made.folder / "intake.log").read_text().removeprefix(log)
    assert added.count("\n") == 1
    assert "refused" in added


def test_the_owner_may_take_an_unsealed_file_knowingly(block, monkeypatch, capsys, tmp_path):
    made, _, bad = block
    path = tmp_path / "stick.handover.zip"
    path.write_bytes(bad["unsealed"]())

    assert fallow(monkeypatch, "take", "--unsealed", made.folder, path) == 0
    assert "1 new records" in capsys.readouterr().out


def test_a_late_file_of_a_retired_phone_is_taken(block):
    made, files, _ = block
    made.phone("p1", "zzzz", key=bytes(range(2, 34)))

    (taken,) = made.take({"late.handover.zip": files["a.handover.zip"]})

    assert taken.refused is None
    assert taken.new > 0
