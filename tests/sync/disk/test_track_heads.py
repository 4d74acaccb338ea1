"""A register by the heads of tracks is the register by the tracks themselves, byte for byte."""

import dataclasses
import hashlib
import random
import resource
import sqlite3
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldapp.record import canonical, encode_track, name_of, problems, sum_of
from sync.disk import track_heads
from sync.disk.journal import JOURNAL_FILE, ShedJournal
from sync.disk.kept import KeptReads
from sync.disk.load import load_inputs
from sync.disk.memo import MEMO_FILE
from sync.disk.track_heads import Packs
from sync.flags.raised import flags_of
from sync.geometry.crs import projection
from sync.intake.check import Aside, Held
from sync.intake.heads import NO_TRACKS
from sync.intake.sums import records_sum
from sync.register.build import build
from sync.report.document import register_document, register_json

GROUND = projection(2193)
E0, N0 = 1_329_400.0, 5_249_300.0
START = datetime(2025, 11, 10, 19, tzinfo=UTC)
ON = START.date() + timedelta(days=40)
PHONES = ("p1-aaaa", "p2-bbbb", "x-cccc")


class Odd:
    """Outings with tracks and all that can be odd about them, by chance."""

    def __init__(self, seed):
        self.rng = random.Random(seed)
        self.records = []
        self.last = dict.fromkeys(PHONES, 0)
        self.at = {}

    def note(self, device, kind, at, **fields):
        self.last[device] += 1
        record = {"device": device, "seq": self.last[device], "kind": kind, "person": "MT",
                  "at": at.strftime("%Y-%m-%dT%H:%M:%S.000Z"), "where": None, **fields}
        self.records.append(record)
        return record

    def outing(self, device, start):
        rng = self.rng
        wrong = timedelta(days=rng.choice([0, 0, 0, 400]))
        lag = {"lag_s": wrong.total_seconds() + 0.2} if rng.random() < 0.7 else {}
        here = start + wrong
        self.note(device, "outing", here, state="start", role=rng.choice(["picker", "surveyor"]))
        x, y = rng.uniform(40, 240), rng.uniform(40, 240)
        for part in range(rng.randint(1, 6)):
            fixes = []
            for i in range(12):
                lat, lon = map(float, GROUND.to_deg(E0 + x, N0 + y))
                at = here + timedelta(seconds=240 * part + 20 * i)
                fixes.append((at, lat, lon, rng.choice([4.0, 9.0, None])))
                x, y = x + rng.uniform(-2, 4), y + rng.uniform(-2, 2)
            self.track(device, fixes, lag)
            if rng.random() < 0.6:
                self.note(device, "bag", fixes[-1][0] + timedelta(seconds=5), bags=3)
        if rng.random() < 0.8:
            self.note(device, "outing", here + timedelta(minutes=40), state="end", finished=[])

    def track(self, device, fixes, lag):
        rng, odd = self.rng, self.rng.random()
        said = {**encode_track(fixes), **lag}
        if odd < 0.05:
            said["where"] = {"lat": 1.0, "lon": 2.0, "age_s": 1, "lag_s": 0.1}
        if odd < 0.02:
            said["dt_ms"] = [0] + [3_600_000 * 9] * (len(fixes) - 1)
        made = self.note(device, "track", fixes[-1][0], **said)
        if 0.1 < odd < 0.2:
            self.note(device, "void", fixes[-1][0], of=name_of(made))
        if 0.2 < odd < 0.3:
            self.note(device, "track", fixes[-1][0], **{**said, "instead_of": name_of(made)})
        if 0.3 < odd < 0.36:
            self.records.append({**made, "person": "RK"})
        if 0.36 < odd < 0.42:
            self.last[device] += rng.randint(1, 3)
        if 0.42 < odd < 0.46:
            made["at"] = "2001-01-01T00:00:00.000Z"


def held(records, rng):
    assert not [p for record in records for p in problems(record)]
    return [Held(name_of(one), sum_of(one), one, sealed=rng.random() < 0.8) for one in records]


def keep(folder, odd):
    """Put the records into the journal in any order, some of them to wait."""
    found = held(odd.records, odd.rng)
    odd.rng.shuffle(found)
    waits = Aside("a", 1, f"{PHONES[0]}:2", "bags", "", "odd", '{"kind":"track"}', True)
    with ShedJournal(folder) as journal:
        for first in range(0, len(found), 40):
            journal.take(found[first:first + 40], [waits] if first else [], file=f"f{first}",
                         arrived=START + timedelta(days=1, seconds=first))


def test_a_damaged_pack_is_made_again(small, monkeypatch):
    monkeypatch.setattr("sync.disk.track_heads._PACK", 8)
    made, odd = small(), Odd(4)
    odd.outing(PHONES[0], START)
    odd.outing(PHONES[1], START + timedelta(days=1))
    keep(made.folder, odd)
    before = text_of(load_inputs(made.folder))
    for change in ("heads = x'00'", "others = '[]'", "codes = '[[],[]]'", "ends = 'p1-aaaa:1'"):
        with sqlite3.connect(made.folder / JOURNAL_FILE) as db:
            whole = db.execute("SELECT * FROM pack ORDER BY first").fetchall()
            db.execute(f"UPDATE pack SET {change} WHERE first = 9")
        assert text_of(load_inputs(made.folder)) == before
        with sqlite3.connect(made.folder / JOURNAL_FILE) as db:
            assert db.execute("SELECT * FROM pack ORDER BY first").fetchall() == whole


def test_a_seal_that_comes_after_its_pack_was_made_counts(small, monkeypatch):
    monkeypatch.setattr("sync.disk.track_heads._PACK", 4)
    made, odd = small(), Odd(7)
    odd.outing(PHONES[0], START)
    found = [dataclasses.replace(one, sealed=False) for one in held(odd.records, odd.rng)]
    packs = Packs()
    for sealed in (False, True):
        with ShedJournal(made.folder) as journal:
            journal.take([dataclasses.replace(one, sealed=sealed) for one in found], [], file="f",
                         arrived=START)
            for known in (packs, None):
                apart = journal.held_apart(clock_off_s=120.0, packs=known)
                assert {one.sealed for one in apart.held} == {sealed}


@pytest.mark.parametrize("room", [0, 4096, 65536])
def test_2026_11_28_packs_that_find_no_room_on_the_disk_stop_no_register(
        tmp_path, monkeypatch, room):
    monkeypatch.setattr("sync.disk.track_heads._PACK", 16)
    odd = Odd(5)
    for day in range(30):
        odd.outing(PHONES[0], START + timedelta(days=day))
    found = held(odd.records, odd.rng)
    with ShedJournal(tmp_path) as journal:
        journal.take(found, [], file="f", arrived=START)
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    with ShedJournal(tmp_path) as journal:
        resource.setrlimit(resource.RLIMIT_FSIZE, (room, before[1]))
        try:
            full = journal.held_apart(clock_off_s=120.0)
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, before)
        again = journal.held_apart(clock_off_s=120.0)
    assert (full.held, full.records_sum) == (again.held, again.records_sum)
    with sqlite3.connect(tmp_path / JOURNAL_FILE) as db:
        assert db.execute("SELECT count(*) FROM pack").fetchone()[0] == len(found) // 16


def test_2026_11_28_a_hand_over_is_taken_while_a_long_journal_is_packed(tmp_path, monkeypatch):
    monkeypatch.setattr("sync.disk.track_heads._PACK", 16)
    monkeypatch.setattr("sync.disk.journal._WAIT_S", 0.1)
    odd, packed = Odd(6), track_heads._packed
    for day in range(10):
        odd.outing(PHONES[0], START + timedelta(days=day))
    found = held(odd.records, odd.rng)
    names, parts = {one.name for one in found}, []

    def meanwhile(rows, parsed):
        parts.append(rows)
        if len(parts) == 2:  # a first pack is there already
            with ShedJournal(tmp_path) as other:
                other.take([found.pop()], [], file="late", arrived=START)
        return packed(rows, parsed)

    with ShedJournal(tmp_path) as journal:
        journal.take(found[:-8], [], file="f", arrived=START)
        del found[:-8]
        monkeypatch.setattr("sync.disk.track_heads._packed", meanwhile)
        journal.held_apart(clock_off_s=120.0)
        assert len(parts) > 2
        monkeypatch.setattr("sync.disk.track_heads._packed", packed)
        journal.take(found, [], file="g", arrived=START)
        apart = journal.held_apart(clock_off_s=120.0)
        every = journal.held()
    assert {one.name for one in every} == names
    assert apart.records_sum == records_sum(every, NO_TRACKS)


@given(st.sets(st.tuples(
    st.sampled_from(["p1-aaaa", "p10-aaaa", "shed", "form-a", "gpx-0a1b2c3d"]),
    st.integers(1, 30) | st.integers(1, 2**53 - 1), st.binary(min_size=32, max_size=32))))
def test_the_sum_of_records_is_that_of_the_sums_of_devices(pairs):
    known = [Held(f"{device}:{seq}", total.hex(), {}, True) for device, seq, total in pairs]
    each = {}
    for device, seq, total in sorted(pairs):
        each.setdefault(device, hashlib.sha256()).update(seq.to_bytes(8, "big") + total)
    said = canonical([[device, total.hexdigest()] for device, total in sorted(each.items())])
    assert records_sum(known + known[:2], NO_TRACKS) == hashlib.sha256(said).hexdigest()


def text_of(inputs, on=ON):
    register = build(inputs, on=on)
    return register_json(register_document(register, flags_of(register)))


@pytest.mark.parametrize("seed", range(12))
def test_heads_tell_what_tracks_tell(small, monkeypatch, seed):
    monkeypatch.setattr("sync.disk.track_heads._PACK", 16)
    made, odd = small(), Odd(seed)
    for day in range(5):
        for device in PHONES:
            odd.outing(device, START + timedelta(days=3 * day))
    keep(made.folder, odd)
    read = load_inputs(made.folder, tracks_apart=False)
    apart = load_inputs(made.folder)
    assert 0 < len(apart.held) < len(read.held)
    for on in (ON, ON - timedelta(days=35)):
        assert text_of(apart, on) == text_of(read, on)
    again = load_inputs(made.folder)
    assert len(again.held) == len(apart.held)
    assert text_of(again) == text_of(read)
    walked, straight = (
        [(walk.name, walk.track.at_ms.tolist(), walk.track.lat.tolist())
         for walk in build(inputs, on=ON).known.walkers.walks()] for inputs in (apart, read))
    assert walked == straight


@pytest.mark.parametrize("seed", range(20, 26))
def test_what_is_kept_between_registers_moves_none_of_them(small, monkeypatch, seed):
    monkeypatch.setattr("sync.disk.track_heads._PACK", 16)
    made, odd = small(), Odd(seed)
    for day in range(3):
        for device in PHONES:
            odd.outing(device, START + timedelta(days=3 * day))
    found = held(odd.records, odd.rng)
    odd.rng.shuffle(found)
    found += odd.rng.choices(found, k=20)
    kept = KeptReads()
    for turn, first in enumerate(range(0, len(found), 60)):
        with ShedJournal(made.folder) as journal:
            journal.take(found[first:first + 60], [], file=f"f{first}",
                         arrived=START + timedelta(days=9, seconds=first))
        text = text_of(load_inputs(made.folder, kept=kept))
        if turn % 2:  # with nothing that was kept or remembered
            inputs = load_inputs(made.folder, tracks_apart=False)
            assert text == text_of(dataclasses.replace(inputs, memo=None))
    assert text == text_of(load_inputs(made.folder, kept=kept))
    assert kept.made


def test_a_damaged_memory_of_a_walk_is_made_again(small):
    made, odd = small(), Odd(2)
    for day in range(3):
        odd.outing(PHONES[0], START + timedelta(days=day))
    keep(made.folder, odd)
    before = text_of(load_inputs(made.folder))
    with sqlite3.connect(made.folder / MEMO_FILE) as db:
        whole = sorted(db.execute("SELECT * FROM memo").fetchall())
        db.execute("UPDATE memo SET value = substr(value, 1, length(value) - 1)")
    assert len(whole) > 1
    assert text_of(load_inputs(made.folder)) == before
    with sqlite3.connect(made.folder / MEMO_FILE) as db:
        assert sorted(db.execute("SELECT * FROM memo").fetchall()) == whole


def test_2026_11_28_a_memory_with_one_digit_changed_is_made_again(small):
    made, odd = small(), Odd(2)
    for day in range(2):
        odd.outing(PHONES[0], START + timedelta(days=day))
    keep(made.folder, odd)
    before = text_of(load_inputs(made.folder))
    with sqlite3.connect(made.folder / MEMO_FILE) as db:
        whole = sorted(db.execute("SELECT * FROM memo").fetchall())
        for key, value in whole:
            other = value[:-3] + bytes([value[-3] ^ 1]) + value[-2:]  # of a digit another digit
            db.execute("UPDATE memo SET value = ? WHERE key = ?", (other, key))
    assert {key.partition(":")[0] for key, _ in whole} == {
        "walk", "fresh", "ground", "phone", "counts"}
    assert text_of(load_inputs(made.folder)) == before
    with sqlite3.connect(made.folder / MEMO_FILE) as db:
        assert sorted(db.execute("SELECT * FROM memo").fetchall()) == whole


def test_heads_go_when_a_record_of_theirs_is_another(small, monkeypatch):
    monkeypatch.setattr("sync.disk.track_heads._PACK", 8)
    made, odd = small(), Odd(3)
    odd.outing(PHONES[0], START)
    odd.outing(PHONES[0], START + timedelta(days=2))
    keep(made.folder, odd)
    load_inputs(made.folder)
    with sqlite3.connect(made.folder / JOURNAL_FILE) as db:
        packs = db.execute("SELECT count(*) FROM pack").fetchone()[0]
        db.execute("DROP TRIGGER record_stays")
        db.execute("UPDATE record SET arrived = arrived WHERE rowid = 3")
        assert db.execute("SELECT count(*) FROM pack").fetchone()[0] == packs - 1
    assert text_of(load_inputs(made.folder)) == text_of(
        load_inputs(made.folder, tracks_apart=False))


def test_the_sum_of_records_is_that_of_their_names_and_sums(small):
    made, odd = small(), Odd(5)
    odd.outing(PHONES[1], START)
    keep(made.folder, odd)
    sums = {build(load_inputs(made.folder, tracks_apart=apart), on=ON).sums["records"]
            for apart in (True, False)}
    assert len(sums) == 1
