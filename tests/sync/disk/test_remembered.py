"""What is remembered beside the journal tells of the records there are, whatever came about."""

import dataclasses
import gc
import json
import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from fieldapp.record import encode_track, name_of, stamp, sum_of
from sync.crop.kept import Kept
from sync.disk import thin as thinning
from sync.disk.folder import OUTLINE_FILE
from sync.disk.journal import ShedJournal
from sync.disk.kept import KeptReads
from sync.disk.load import load_inputs
from sync.disk.memo import MEMO_FILE
from sync.errors import GeometryError
from sync.flags.raised import flags_of
from sync.geometry.crs import projection
from sync.geometry.pressed import Presses
from sync.intake.check import Held
from sync.register.build import build
from sync.report.document import register_document, register_json

E0, N0 = 1_329_400.0, 5_249_300.0
START = datetime(2025, 11, 10, 19, tzinfo=UTC)
LONG_AFTER = START + timedelta(days=3000)
PHONE = "p1-aaaa"


class Phone:
    """Outings of twenty minutes, each with two bags and a track, a record a minute."""

    def __init__(self, device=PHONE, lag_s=0.2):
        self.device, self.lag_s, self.records = device, lag_s, []

    def note(self, kind, at, **fields):
        self.records.append({"device": self.device, "seq": len(self.records) + 1, "kind": kind,
                             "person": "MT", "at": stamp(at), "where": None, **fields})

    def track(self, at, turn):
        places = [projection(2193).to_deg(E0 + 40 + 3 * turn + i, N0 + 60 + i) for i in range(4)]
        fixes = [(at + timedelta(seconds=15 * i), float(lat), float(lon), 4.0)
                 for i, (lat, lon) in enumerate(places)]
        self.note("track", fixes[-1][0], **encode_track(fixes, lag_s=self.lag_s))

    def outing(self, start):
        self.note("outing", start, state="start", role="picker", cell="A01")
        for turn in range(20):
            at = start + timedelta(minutes=turn)
            self.track(at, turn)
            if turn % 10 == 9:
                self.note("bag", at + timedelta(seconds=50), bags=1)
        self.note("outing", start + timedelta(minutes=20), state="end")


@pytest.fixture
def walked(small):
    """A block with three outings of a phone, all of it remembered."""
    made, phone = small(), Phone()
    for day in range(3):
        phone.outing(START + timedelta(days=day))
    take(made.folder, phone.records)
    assert as_remembered(made.folder) == from_nothing(made.folder)
    return made.folder


def take(folder, records, arrived=START + timedelta(days=4)):
    found = [Held(name_of(one), sum_of(one), one, sealed=True) for one in records]
    with ShedJournal(folder) as journal:
        journal.take(found, [], file=f"f{arrived}", arrived=arrived)


def text_of(inputs):
    register = build(inputs, on=START.date() + timedelta(days=40))
    return register_json(register_document(register, flags_of(register)))


def as_remembered(folder):
    return text_of(load_inputs(folder))


def from_nothing(folder):
    return text_of(dataclasses.replace(load_inputs(folder, tracks_apart=False), memo=None))


def test_2026_11_28_a_track_that_another_phone_names_is_read_and_counts_where_it_did(walked):
    """The sum of a phone's records says not which are read: those after it took its place."""
    take(walked, [{"device": "p2-bbbb", "seq": 1, "kind": "dream", "of": f"{PHONE}:4",
                   "person": "MT", "at": stamp(START), "where": None}], LONG_AFTER)
    assert as_remembered(walked) == from_nothing(walked)


def test_2026_11_28_when_the_power_goes_as_tracks_go_nothing_of_before_is_left(
        walked, monkeypatch):
    def lights_out(folder, bodies):
        real(folder, bodies)
        raise InterruptedError

    real = ShedJournal.thin
    monkeypatch.setattr(ShedJournal, "thin", lights_out)
    with pytest.raises(InterruptedError):
        thinning.thin(walked, load_inputs(walked), now=LONG_AFTER)
    assert not (walked / MEMO_FILE).exists()
    assert as_remembered(walked) == from_nothing(walked)


@pytest.mark.parametrize("lag_s", [0.2, 600.0])
def test_2026_11_28_what_was_kept_before_tracks_went_is_not_taken_for_what_is_left(small, lag_s):
    """Records bear the same sums before and after; where a clock was wrong all tracks are read."""
    folder, phone = small().folder, Phone(lag_s=lag_s)
    phone.outing(START)
    take(folder, phone.records)
    made_of = made_of_phone(folder)
    memo = folder / MEMO_FILE
    before = memo.read_bytes()
    assert thinning.thin(folder, load_inputs(folder), now=LONG_AFTER).records > 0
    assert made_of_phone(folder) != made_of

    memo.write_bytes(before)
    with sqlite3.connect(memo) as db:
        db.execute("PRAGMA user_version = 1")
    assert as_remembered(folder) == from_nothing(folder)


def made_of_phone(folder):
    return build(load_inputs(folder), on=START.date()).merged.made_of[PHONE]


def harm_all(path):
    path.write_bytes(b"damaged" * 1000)


def harm_the_rows(path):
    """Leave the first page, which says what there is."""
    said = path.read_bytes()
    assert said[4096:8192]
    path.write_bytes(said[:4096] + b"\xff" * (len(said) - 4096))


@pytest.mark.parametrize("harm", [harm_all, harm_the_rows])
def test_2026_11_29_a_memory_that_is_no_database_is_begun_anew(walked, harm):
    """It stayed as it was, and every register was worked out from nothing."""
    harm(walked / MEMO_FILE)
    for _ in range(2):
        assert as_remembered(walked) == from_nothing(walked)

    with sqlite3.connect(walked / MEMO_FILE) as db:
        assert {key.partition(":")[0] for key, in db.execute("SELECT key FROM memo")} >= {
            "walk", "counts"}
    assert as_remembered(walked) == from_nothing(walked)


def test_2026_11_29_a_memory_that_may_not_be_deleted_stops_no_register(walked, monkeypatch):
    harm_all(walked / MEMO_FILE)

    def refuse(*_, **__):
        raise PermissionError("not yours")

    monkeypatch.setattr(Path, "unlink", refuse)
    assert as_remembered(walked) == from_nothing(walked)


def test_2026_11_28_days_on_which_nobody_walked_ask_for_no_ground(small):
    """Fixes in no outing asked for the ground of their days, which may be none."""
    made, phone = small(), Phone()
    lost = datetime(2022, 6, 1, tzinfo=UTC)
    phone.track(lost, 0)
    phone.outing(START)
    take(made.folder, phone.records)
    outline = made.folder / OUTLINE_FILE
    said = json.loads(outline.read_text())
    (lon, lat), = said["features"][0]["geometry"]["coordinates"][0][:1]
    far = [[lon + 3, lat], [lon + 3.01, lat], [lon + 3.01, lat + 0.01], [lon + 3, lat]]
    said["features"].append({
        "type": "Feature", "properties": {"since": "2022-05-01", "until": "2022-07-01"},
        "geometry": {"type": "Polygon", "coordinates": [far]}})
    outline.write_text(json.dumps(said))
    with pytest.raises(GeometryError):
        build(load_inputs(made.folder), on=lost.date())
    assert as_remembered(made.folder) == from_nothing(made.folder)


def test_2026_11_28_a_running_shed_lets_go_of_presses_of_former_registers(small):
    made, phone, reads, kept = small(), Phone(), KeptReads(), Kept()
    others = alive()
    for day in range(6):
        known = len(phone.records)
        phone.outing(START + timedelta(days=day))
        take(made.folder, phone.records[known:], START + timedelta(days=day, hours=3))
        register = build(load_inputs(made.folder, kept=reads), on=START.date(), kept=kept)
        assert alive() - others <= len(register.known.walkers.presses)


def alive():
    """How many presses any register holds."""
    gc.collect()
    # By type alone: other tests leave references to what is gone, which may not be asked more.
    return sum(type(one) is Presses for one in gc.get_objects())
