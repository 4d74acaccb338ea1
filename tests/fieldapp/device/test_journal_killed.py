"""A journal whose writers are killed at any moment; run with `-s` to see what was measured.

This file is also the script that kills: a process of its own, so that forking it is safe.
"""

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

KILLS = 200
#: Killed with both writers at once, so that no one is left to recover for the other. [kills]
BOTH_EVERY = 10
DEVICE = "p3-k7f2"
RECORD = {"kind": "bag", "at": "2026-01-20T19:10:00.000Z", "person": "MT", "bags": 1}


@pytest.mark.skipif(not hasattr(os, "fork"), reason="the killer forks its writers")
def test_two_hundred_kills_lose_no_acknowledged_record_and_leave_no_hole(tmp_path):
    root = Path(__file__).parents[3]
    seed = random.randrange(10**6)

    done = subprocess.run(
        [sys.executable, __file__, str(tmp_path), str(KILLS), str(seed)], text=True, timeout=300,
        capture_output=True, check=False, env={**os.environ, "PYTHONPATH": str(root)})

    print(f"seed {seed}: {done.stdout}")
    assert done.returncode == 0, f"seed {seed}: {done.stdout}{done.stderr}"
    assert f"{KILLS} kills" in done.stdout


def write_until_killed(folder: Path, writer: int) -> None:
    """Note bags and drafts, telling each name once `append` has given it back."""
    from fieldapp.device.journal import Journal

    killer = os.getppid()
    told = os.open(folder / f"acknowledged-{writer}", os.O_WRONLY | os.O_CREAT | os.O_APPEND)
    journal = Journal.open(folder / "journal.sqlite", device=DEVICE)
    done = int((journal.draft(f"writer-{writer}") or {"done": 0})["done"])
    while os.getppid() == killer:
        record = journal.append({**RECORD, "note": f"{writer} {done}"})
        os.write(told, f"{record['seq']} {writer} {done}\n".encode())
        done += 1
        journal.keep_draft(f"writer-{writer}", {"done": done})
        os.write(told, f"draft {done}\n".encode())


def fork_writer(folder: Path, writer: int) -> int:
    """Start a writer and give its process id."""
    child = os.fork()
    if child == 0:
        try:
            write_until_killed(folder, writer)
        except BaseException as error:
            print(f"writer {writer}: {error!r}", file=sys.stderr, flush=True)
        os._exit(1)
    return child


def kill(child: int) -> None:
    """Kill a writer; one that ended by itself has failed."""
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    if not os.WIFSIGNALED(status):
        sys.exit("a writer ended by itself")


def run(folder: Path, kills: int, rng: random.Random) -> str:
    """Kill and start again, then compare what was acknowledged with what is stored."""
    began = time.monotonic()
    children = {writer: fork_writer(folder, writer) for writer in (0, 1)}
    killed = 0
    while killed < kills:
        time.sleep(rng.uniform(0.002, 0.06))
        victims = (0, 1) if killed % BOTH_EVERY == 0 else (rng.randrange(2),)
        for writer in victims[:kills - killed]:
            kill(children[writer])
            killed += 1
        for writer in victims:
            children[writer] = fork_writer(folder, writer)
    time.sleep(0.2)
    for child in children.values():
        kill(child)
    stored, told = compare(folder)
    return (f"{killed} kills, {told} records acknowledged, {stored} stored, none lost, no hole, "
            f"{time.monotonic() - began:.1f} s")


def compare(folder: Path) -> tuple[int, int]:
    """Hold the stored records to what the writers told."""
    from fieldapp.device.journal import Journal

    with Journal.open(folder / "journal.sqlite", device=DEVICE) as journal:
        journal.check()
        stored = {record["seq"]: record for record in journal.records()}
        drafts = journal.drafts()
    if sorted(stored) != list(range(1, len(stored) + 1)):
        sys.exit(f"holes: {sorted(set(range(1, max(stored) + 1)) - set(stored))}")
    told = 0
    for writer in (0, 1):
        for line in (folder / f"acknowledged-{writer}").read_text().splitlines():
            seq, *rest = line.split()
            if seq == "draft":
                last_draft = int(rest[0])
                continue
            told += 1
            if stored.get(int(seq), {}).get("note") != " ".join(rest):
                sys.exit(f"lost: {line}")
        if drafts[f"writer-{writer}"]["done"] < last_draft:
            sys.exit(f"draft lost: {drafts}, told {last_draft}")
    if not told:
        sys.exit("nothing was written")
    return len(stored), told


if __name__ == "__main__":
    print(run(Path(sys.argv[1]), int(sys.argv[2]), random.Random(int(sys.argv[3]))))
