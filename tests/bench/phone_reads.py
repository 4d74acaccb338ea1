"""What a phone reads twice a second and after each press, as ratios to a bare commit; no asserts.

The journal holds 6,000 records of one season, tracks apart: bags, undone and mended ones,
check-ins, quadrats and skips on 200 plots. "read" is with nothing new, "after" right after one
more bag.
Run: python tests/bench/phone_reads.py [RECORDS]
"""

import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from fieldapp.capture.check_in import CheckIn
from fieldapp.capture.outing import Outing
from fieldapp.capture.tally import Tally
from fieldapp.capture.undo import Undo
from fieldapp.capture.walk import Walk
from fieldapp.device.journal import Journal
from fieldapp.ground import Sheet, sheet_of
from fieldapp.record import Where, canonical

RECORDS = 6000
A_DAY = 150
PLOTS = 200
TIMES = 200
FIRST = datetime(2025, 11, 1, 18, tzinfo=UTC)
ZONE = ZoneInfo("Pacific/Auckland")
WHERE = Where(-42.86, 169.69, 1.0, 4.0)
PILE = "P3-014"


def medians_ms(work: Mapping[str, Callable[[], object]],
               before: Callable[[], object] | None = None) -> dict[str, float]:
    spans: dict[str, list[float]] = {name: [] for name in work}
    for _ in range(TIMES):
        if before is not None:
            before()
        for name, call in work.items():
            began = time.perf_counter()
            call()
            spans[name].append((time.perf_counter() - began) * 1000)
    return {name: statistics.median(times) for name, times in spans.items()}


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


def sheet_fields() -> dict[str, object]:
    square = [[[[0, 0], [500, 0], [500, 500], [0, 500], [0, 0]]]]
    return {
        "sheet": 1, "id": "0a1b2c3d", "block": {"id": "km7q2x4a", "name": "Kettle Mire"},
        "for": "p3", "made_at": "2025-10-20T05:00:00.000Z",
        "good_until": "2025-10-27T05:00:00.000Z", "zone": "Pacific/Auckland",
        "season_start": "07-01", "cell_m": 500, "outline": square,
        "map": {"at": [-42.86, 169.69], "to_m": [[0, 0, 81600, 0, 0, 0], [0, 111100, 0, 0, 0, 0]],
                "to_deg": [[0, 0, 1 / 111100, 0, 0, 0], [0, 1 / 81600, 0, 0, 0, 0]]},
        "cells": [{"cell": "A01", "shape": square, "ground_class": "lawn", "state": "ready",
                   "why": "", "rest_ends": None, "then": None, "left_kg": None,
                   "left_bags": None}],
        "closures": [], "pegs": [], "marks": [], "permits": [], "people": [],
        "plots": [{"plot": f"{k:03}", "cell": "A01", "at": [k * 2.0, k * 1.5], "when": "survey",
                   "spare": k % 5 == 4, "again": k % 10 == 0, "ground_class": "lawn"}
                  for k in range(PLOTS)],
        "probes": 3, "frame_m": 0.5, "check_in_min": 60, "declination_deg": 23.6, "gate": None,
        "bag_types": [{"type": "sack", "wet_kg": 88, "dry_kg": 6.8}], "label_from": 15,
        "held": [[1, 2000]]}


def sheet() -> Sheet:
    return sheet_of(sheet_fields())


def record(seq: int) -> dict[str, object]:
    day, nth = divmod(seq - 1, A_DAY)
    at = FIRST + timedelta(days=day, minutes=3 * nth)
    common: dict[str, object] = {
        "device": "p3-k7f2", "seq": seq, "at": at.isoformat(timespec="milliseconds")[:-6] + "Z",
        "person": "MT", "where": {"lat": -42.86, "lon": 169.69, "acc_m": 4, "age_s": 1}}
    if nth == 0:
        return {**common, "kind": "outing", "state": "start", "role": "picker"}
    if nth % 20 == 10:
        return {**common, "kind": "check_in", "state": "fine"}
    if nth % 30 == 17:
        return {**common, "kind": "void", "of": f"p3-k7f2:{seq - 1}"}
    if nth % 30 == 23:
        return {**common, "kind": "bag", "bags": 2, "instead_of": f"p3-k7f2:{seq - 1}"}
    if nth % 15 == 4:
        return {**common, "kind": "quadrat", "plot": f"{seq // 15 % PLOTS:03}", "when": "survey",
                "side_m": 0.5, "cover_pct": 80, "depth_mm": [80, 90, 100]}
    if nth % 50 == 33:
        return {**common, "kind": "skip", "plot": f"{seq // 50 % PLOTS:03}", "why": "unsafe"}
    return {**common, "kind": "bag", "bags": 1, "pile": PILE if nth % 3 else "P3-015"}


def fill(path: Path, records: int) -> datetime:
    Journal.open(path, device="p3-k7f2").close()
    db = sqlite3.connect(path)
    with db:
        db.executemany("INSERT INTO records (seq, line) VALUES (?, ?)",
                       ((seq, canonical(record(seq))) for seq in range(1, records + 1)))
    db.close()
    return FIRST + timedelta(days=(records - 1) // A_DAY, hours=8)


def main(records: int) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        now = fill(folder / "journal.sqlite", records)
        commit = bare_commit(folder)
        with Journal.open(folder / "journal.sqlite", device="p3-k7f2") as journal:
            ground = sheet()
            outing = Outing(journal, sheet=ground)
            tally, undo = Tally(outing, zone=ZONE), Undo(outing)
            check_in, walk = CheckIn(outing), Walk(outing, ground)
            began = time.perf_counter()
            tally.bags_today(now)
            first_ms = (time.perf_counter() - began) * 1000
            reads: dict[str, Callable[[], object]] = {
                "Outing.state": lambda: outing.state,
                "Tally.bags_today": lambda: tally.bags_today(now),
                "Tally.bags_on": lambda: tally.bags_on(PILE, now),
                "Undo.offer": lambda: undo.offer(now),
                "CheckIn.state": lambda: check_in.state(now),
                "Walk.left": lambda: walk.left(now)}
            bare = medians_ms({"bare": commit})["bare"]
            still = medians_ms(reads)
            after = medians_ms(reads, before=lambda: tally.bag(now=now, where=WHERE, pile=PILE))

            def press() -> None:
                tally.bag(now=now, where=WHERE, pile=PILE)
                for read in reads.values():
                    read()
            whole = medians_ms({"press": press})["press"]
    print(f"{records} records; first reading {first_ms:.0f} ms; bare commit {bare:.3f} ms")
    print(f"{'':18}{'read ms':>9}{'ratio':>8}{'after ms':>10}{'ratio':>8}")
    for one in reads:
        print(f"{one:18}{still[one]:9.3f}{still[one] / bare:8.2f}{after[one]:10.3f}"
              f"{after[one] / bare:8.2f}")
    print(f"press and all reads {whole:.3f} ms, ratio {whole / bare:.2f}, beside a commit "
          f"{whole - bare:.3f} ms")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else RECORDS)
