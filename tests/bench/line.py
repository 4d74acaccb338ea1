"""How fast the line is, as ratios to a baseline measured in the same run; it asserts nothing.

Run: python tests/bench/line.py [DEMO_BLOCK]
"""

import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

from fieldapp.device.journal import Journal

PRESSES = 400
BAG = {"kind": "bag", "at": "2026-01-20T19:10:00.000Z", "person": "MT", "bags": 1, "where": None}


def median_ms(work: Callable[[], object], times: int) -> float:
    spans = []
    for _ in range(times):
        began = time.perf_counter()
        work()
        spans.append((time.perf_counter() - began) * 1000)
    return statistics.median(spans)


def bare_commit(folder: Path) -> Callable[[], None]:
    db = sqlite3.connect(folder / "bare.sqlite", isolation_level=None)
    db.execute("PRAGMA journal_mode = WAL")
    db.execute("PRAGMA synchronous = FULL")
    db.execute("CREATE TABLE record (seq INTEGER PRIMARY KEY, body BLOB)")

    def commit() -> None:
        db.execute("BEGIN IMMEDIATE")
        db.execute("INSERT INTO record (body) VALUES (?)", (b"x" * 150,))
        db.execute("COMMIT")
    return commit


def press(folder: Path) -> None:
    commit = bare_commit(folder)
    with Journal.open(folder / "journal.sqlite", device="p3-k7f2") as journal:
        bare = median_ms(commit, PRESSES)
        own = median_ms(lambda: journal.append(BAG), PRESSES)
    print(f"press to disk: {own:.3f} ms, bare commit {bare:.3f} ms, ratio {own / bare:.2f}")


def register(folder: Path) -> None:
    import json

    from sync.disk.load import load_inputs
    from sync.flags.raised import flags_of
    from sync.register.build import build
    from sync.report.document import register_document, register_json

    inputs = load_inputs(folder)
    parse = median_ms(lambda: [json.loads(json.dumps(dict(h.record))) for h in inputs.held], 3)

    def whole() -> str:
        made = build(inputs, on=date(2026, 2, 20))
        return register_json(register_document(made, flags_of(made)))

    took = median_ms(whole, 3)
    print(f"register of {len(inputs.held)} records: {took:.0f} ms, writing and parsing their JSON "
          f"once {parse:.0f} ms, ratio {took / parse:.1f}")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as made:
        press(Path(made))
    if len(sys.argv) > 1:
        register(Path(sys.argv[1]))
