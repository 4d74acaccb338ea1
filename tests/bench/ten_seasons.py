"""How long seasons of tracks take: from nothing, from the cache, and for one more hand-over.

Ten gangs' phones keep a fix every 5 s through seven hours of every outing, 300 outings a season,
written as phones write them: a record a minute, 12 fixes. Each measurement is a process of its
own; seconds are those of its processor, the clock's stand in brackets. The baseline of all ratios
is reading every record of the journal and summing its bytes up (SHA-256), measured in the same
run. From nothing means without what walks told and without the heads of tracks. With `--bare` the
phones keep no track, which leaves what bags, crop and flags cost. It asserts nothing but that the
register's bytes are the same from nothing, from the cache, and in the shed after a hand-over.

Run: python tests/bench/ten_seasons.py [--seasons N] [--outings N] [--bare] [--thin] [--keep DIR]
"""

import argparse
import hashlib
import json
import resource
import sqlite3
import subprocess
import sys
import tempfile
import time
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import numpy as np
from gangs.days import CELLS_A_SEASON, Books, device_of, outing_records, season_records
from gangs.place import CELLS, FIRST_SEASON, make_block

import fieldapp
from fieldapp.handover import pack
from fieldapp.record import name_of, problems, sum_of
from sync.cli.rubbish import look_seldom
from sync.disk.folder import load_block
from sync.disk.journal import ShedJournal
from sync.disk.keys import pair
from sync.disk.load import load_inputs
from sync.disk.memo import forget
from sync.disk.taking import Options, take_files
from sync.disk.thin import thin
from sync.flags.raised import flags_of
from sync.intake.check import Held
from sync.register.build import build
from sync.report.document import register_document, register_json

KEY = bytes(range(32))
NEXT = "next.handover.zip"


def make(folder: Path, seasons: int, outings: int, *, bare: bool) -> None:
    """Make the block folder and a hand-over that is still to come; bare is without tracks."""
    make_block(folder)
    books = Books(np.random.default_rng(18))
    with ShedJournal(folder) as journal:
        for season in range(seasons):
            held: list[Held] = []
            for records in season_records(books, season, outings, tracks=not bare):
                held += [Held(name_of(one), sum_of(one), one, sealed=True) for one in records]
            wrong = [problem for one in held[:600] for problem in problems(one.record)]
            assert not wrong, wrong[:3]
            journal.take(held, (), file=f"season-{season}",
                         arrived=datetime(FIRST_SEASON + season + 1, 4, 1, tzinfo=UTC))
    cell = CELLS[((seasons - 1) * CELLS_A_SEASON + CELLS_A_SEASON - 1) % len(CELLS)]
    records = outing_records(books, seasons - 1, cell, 0, day=35, phone=3, last=False,
                             tracks=not bare)
    block, _ = load_block(folder)
    pair(folder, block, "p4", KEY, now=datetime(FIRST_SEASON, 7, 1, tzinfo=UTC))
    (folder / NEXT).write_bytes(pack(
        records, device=device_of(3), block=block.block_id, program=fieldapp.__version__,
        made_at=_now(seasons), first_seq=records[0]["seq"], last_seq=records[-1]["seq"], key=KEY,
        photos={}))


def _now(seasons: int) -> datetime:
    return datetime(FIRST_SEASON + seasons, 4, 20, 10, tzinfo=UTC)


def _on(seasons: int) -> date:
    return _now(seasons).date()


def bytes_of(folder: Path, seasons: int) -> tuple[str, dict[str, float]]:
    """Build the register and give the sum of its bytes, with the seconds of each step."""
    marks = [time.process_time()]
    inputs = load_inputs(folder)
    marks.append(time.process_time())
    register = build(inputs, on=_on(seasons))
    marks.append(time.process_time())
    flags = flags_of(register)
    marks.append(time.process_time())
    text = register_json(register_document(register, flags))
    marks.append(time.process_time())
    steps = dict(zip(("read", "build", "flags", "write"), np.diff(marks).tolist(), strict=True))
    return hashlib.sha256(text.encode()).hexdigest(), steps


def measure(what: str, folder: Path, seasons: int) -> dict[str, object]:
    """Measure one thing in this process."""
    look_seldom(for_hours=what == "shed")  # as every command does
    began, worked = time.perf_counter(), time.process_time()
    found: dict[str, object] = {}
    if what == "baseline":
        with sqlite3.connect(folder / "journal.sqlite") as db:
            total = hashlib.sha256()
            for (body,) in db.execute("SELECT body FROM record ORDER BY name, total"):
                total.update(body)
    elif what == "register":
        found["sum"], found["steps"] = bytes_of(folder, seasons)
    elif what == "thin":
        found["thinned"] = str(thin(folder, load_inputs(folder), now=_now(seasons)))[:200]
    elif what == "shed":
        found |= in_the_shed(folder, seasons)
    found["wall_s"], found["s"] = time.perf_counter() - began, time.process_time() - worked
    found["mb"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return found


def in_the_shed(folder: Path, seasons: int) -> dict[str, object]:
    """Take one hand-over while the shed runs, and time until its register stands."""
    from sync.register.build import Register
    from sync.shed.rebuild import Rebuilder

    class Keeps(Rebuilder):
        """A shed lets go of tracks a season old; here they stay, for they are what is measured."""

        def _let_go(self, register: Register) -> None:
            pass

    rebuilder = Keeps(folder, now=lambda: _now(seasons))
    rebuilder.start()
    first = rebuilder.wait(1, most_s=3600)
    assert first is not None, rebuilder.state()
    block, _ = load_block(folder)
    began, worked = time.perf_counter(), time.process_time()
    (taken,) = take_files(folder, block, [folder / NEXT], Options(), now=_now(seasons))
    assert taken.refused is None, taken
    took = time.process_time() - worked
    view = rebuilder.wait(rebuilder.ask(), most_s=3600)
    whole, wall_s = time.process_time() - worked, time.perf_counter() - began
    rebuilder.stop()
    assert view is not None
    assert rebuilder.state().wrong is None, rebuilder.state()
    text = register_json(view.document)
    return {"taking": took, "hand-over": whole, "clock": wall_s,
            "sum": hashlib.sha256(text.encode()).hexdigest()}


def apart(what: str, folder: Path, seasons: int) -> dict[str, Any]:
    """Measure one thing in a process of its own."""
    done = subprocess.run(
        [sys.executable, __file__, "--measure", what, "--keep", str(folder), "--seasons",
         str(seasons)], check=True, capture_output=True, text=True)
    return dict(json.loads(done.stdout.splitlines()[-1]))


def sizes(folder: Path) -> str:
    """Say how much there is."""
    with ShedJournal(folder) as journal:
        records = journal.mark()[0]
    return f"{records:,} records, {(folder / 'journal.sqlite').stat().st_size / 1e6:,.0f} MB"


def report(folder: Path, seasons: int) -> None:
    """Print all of it."""
    print(sizes(folder))
    baseline = apart("baseline", folder, seasons)
    sums = []
    for title, what, cold in (("from nothing", "register", True),
                              ("from the cache", "register", False),
                              ("one hand-over in the shed", "shed", False),
                              ("from the cache after it", "register", False),
                              ("from nothing after it", "register", True)):
        if cold:
            forget(folder)
            with sqlite3.connect(folder / "journal.sqlite") as db:
                db.execute("DELETE FROM pack")
        found = apart(what, folder, seasons)
        if what == "shed":
            line = (f"{found['hand-over']:8.2f} s ({found['clock']:.1f}), of it "
                    f"{found['taking']:.2f} to take it")
        else:
            line = f"{found['s']:8.2f} s ({found['wall_s']:.1f}):"
            line += ", ".join(f" {name} {s:.2f}" for name, s in found["steps"].items())
        print(f"{title:28}{line}; {found['mb']:,.0f} MB; "
              f"{found.get('hand-over', found['s']) / baseline['s']:.0f} baselines; "
              f"{found['sum'][:12]}", flush=True)
        sums.append(found["sum"])
    assert len(set(sums[:2])) == len(set(sums[2:])) == 1, sums
    print(f"baseline, all records read and summed: {baseline['s']:.2f} s "
          f"({baseline['wall_s']:.2f})")


def main() -> None:
    """Run all of it."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--seasons", type=int, default=1)
    parser.add_argument("--outings", type=int, default=300)
    parser.add_argument("--bare", action="store_true")
    parser.add_argument("--thin", action="store_true")
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--measure")
    asked = parser.parse_args()
    if asked.measure:
        print(json.dumps(measure(asked.measure, asked.keep, asked.seasons)))
        return
    with tempfile.TemporaryDirectory() as made:
        folder = asked.keep or Path(made) / "block"
        if not (folder / "journal.sqlite").exists():
            began = time.perf_counter()
            make(folder, asked.seasons, asked.outings, bare=asked.bare)
            print(f"made in {time.perf_counter() - began:.0f} s")
        if asked.thin:
            print("thinned:", apart("thin", folder, asked.seasons))
        report(folder, asked.seasons)


if __name__ == "__main__":
    main()
