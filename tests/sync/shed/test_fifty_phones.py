"""Fifty phones come in at once: none is lost, none counts twice, and the shed's memory holds."""

import json
import sqlite3
import statistics
import subprocess
import sys
from pathlib import Path

from sync.disk.keys import pair

PHONES, RECORDS = 50, 60
MOST_MB = 400.0
ONE = Path(__file__).with_name("one_phone.py")


def test_fifty_phones_at_once(small, open_shed, tmp_path, capsys):
    block = small()
    shed = open_shed(block.folder)
    sign = tmp_path / "go"
    phones = []
    for i in range(PHONES):
        paired = pair(block.folder, block.block, f"p{i}", bytes([i]) * 32, now=_now())
        phones.append(subprocess.Popen(
            [sys.executable, str(ONE), str(tmp_path / f"phone{i}"), str(paired), shed.pin,
             shed.address, str(RECORDS), str(sign)], stdout=subprocess.PIPE, text=True))
    for one in phones:
        assert one.stdout.readline() == "ready\n"
    sign.touch()
    told = [json.loads(one.communicate(timeout=300)[0]) for one in phones]
    peak_mb = shed.peak_mb()

    times = sorted(one["took_s"] for one in told)
    with capsys.disabled():
        print(f"\n{PHONES} phones, {RECORDS} records each: median "
              f"{statistics.median(times):.1f} s, worst {times[-1]:.1f} s, "
              f"server's peak {peak_mb:.0f} MB, most tries {max(one['tries'] for one in told)}")
    with sqlite3.connect(block.folder / "journal.sqlite") as db:
        rows = db.execute("SELECT name FROM record").fetchall()
    assert len(rows) == len(set(rows)) == PHONES * RECORDS
    assert all(one["left"] == 0 and one["sheet"] for one in told)
    assert peak_mb < MOST_MB


def _now():
    from datetime import UTC, datetime

    return datetime.now(UTC)
