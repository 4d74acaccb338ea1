"""What the phone let go of stays whole at a real shed, and is never handed over again."""

import contextlib
import json
import sqlite3
import threading
from datetime import UTC, datetime, timedelta

import pytest

from fieldapp.device.phone_folder import PhoneFolder
from fieldapp.record import encode_track, stamp

NOW = datetime(2026, 2, 10, 4, 30, tzinfo=UTC)


@pytest.fixture
def phone(tmp_path):
    return PhoneFolder(tmp_path / "phone")


def walk(phone, at, count):
    install = phone.in_use()
    with phone.journal(install) as journal:
        for number in range(count):
            begin = at + timedelta(minutes=number)
            fixes = [(begin + timedelta(seconds=2 * i), -46.4, 169.4 + i * 1e-5, 4.0)
                     for i in range(30)]
            journal.append({"kind": "track", "at": stamp(begin), "person": "MT", "where": None,
                            **encode_track(fixes)})
        return list(journal.records())


def send(phone, now):
    return phone.send_to_shed(now=now, program="0.1.0", tell=lambda have, size: None,
                              stop=threading.Event())


def at_shed(folder):
    with contextlib.closing(sqlite3.connect(folder / "journal.sqlite")) as journal:
        return [json.loads(body) for (body,) in journal.execute("SELECT body FROM record")]


def test_a_hand_over_after_the_phone_forgot_changes_nothing_at_the_shed(real_shed, owner, phone):
    with (real_shed.folder / "block.toml").open("a", encoding="utf-8") as settings:
        settings.write("\n[settings]\ntrack_keep_days = 36500\n")  # the shed's own clock runs on
    phone.pair_over_wifi(real_shed.address, owner.code_for())
    was = walk(phone, NOW, 20)
    assert send(phone, NOW).journals[0].left == 0
    later = NOW + timedelta(days=15)

    assert phone.forget_old_tracks(now=later) == 20
    walk(phone, later, 5)
    (sent,) = send(phone, later).journals
    made = phone.make_hand_overs(now=later, program="0.1.0")

    assert (sent.records, sent.left, sent.trouble) == (5, 0, None)
    assert made == ()
    held = sorted(at_shed(real_shed.folder), key=lambda one: one["seq"])
    assert held[:20] == was
    assert [one["seq"] for one in held] == list(range(1, 26))
    assert all("dt_ms" in one for one in held)
