"""One phone in a process of its own: it notes its records, waits for the sign, and hands over.

Run: python one_phone.py FOLDER PAIRING PIN ADDRESS RECORDS SIGN
"""

import json
import sys
import threading
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from fieldapp.device.identity import Identity
from fieldapp.device.pairing import pairing_of
from fieldapp.device.phone_folder import PhoneFolder
from fieldapp.record import stamp

START = datetime(2025, 11, 10, 19, tzinfo=UTC)
MOST_S = 300.0


def note(folder: PhoneFolder, count: int) -> None:
    install = folder.in_use()
    with folder.journal(install) as journal:
        for i in range(count):
            at = stamp(START + timedelta(minutes=i))
            journal.append({"kind": "bag", "at": at, "person": "MT", "where": None, "bags": 1})


def main(root: str, pairing: str, pin: str, address: str, records: str, sign: str) -> None:
    folder = PhoneFolder(Path(root))
    with Identity(Path(root) / "identity.json") as identity:
        identity.pair(pairing_of(Path(pairing).read_bytes()), pin=pin, address=address)
    note(folder, int(records))
    sys.stdout.write("ready\n")
    sys.stdout.flush()
    until = time.monotonic() + MOST_S
    while not Path(sign).exists() and time.monotonic() < until:
        time.sleep(0.01)
    began, tries = time.perf_counter(), 0
    while time.monotonic() < until:
        tries += 1
        outcome = folder.send_to_shed(
            now=datetime.now(UTC), program="test", tell=lambda *_: None, stop=threading.Event())
        if outcome.trouble is None and all(one.trouble is None for one in outcome.journals):
            break
    took_s = time.perf_counter() - began
    sheets = [one.kind for one in folder.take_in()]
    sys.stdout.write(json.dumps({
        "took_s": took_s, "tries": tries, "left": sum(one.left for one in outcome.journals),
        "sheet": sheets == ["sheet"]}) + "\n")


if __name__ == "__main__":
    main(*sys.argv[1:])
