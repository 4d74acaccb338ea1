"""The points of old tracks are let go of, and nothing else."""

import sqlite3
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldapp.capture.history import days_held, points_kept
from fieldapp.capture.outing import Outing
from fieldapp.device import files, forgetting
from fieldapp.device.journal import Journal, JournalError
from fieldapp.handover import unpack
from fieldapp.record import decode_track, encode_track, problems, stamp, sum_of

DEVICE = "p3-k7f2"
NOW = datetime(2026, 2, 20, 4, 0, tzinfo=UTC)
BEFORE = NOW - timedelta(days=14)
#: Told from any other number in the file.
LAT, LON = -46.4123457, 169.4765431
PLACES = [b"-464123457", b"1694765431"]


def track(at, steps=30):
    fixes = [(at + timedelta(seconds=2 * i), LAT + i * 1e-5, LON + i * 1e-5, 4.0)
             for i in range(steps)]
    return {"kind": "track", "at": stamp(at), "person": "MT", "where": None,
            **encode_track(fixes, lag_s=0.2)}


def bag(at):
    return {"kind": "bag", "at": stamp(at), "person": "MT", "bags": 1,
            "where": {"lat": -46.45, "lon": 169.45, "age_s": 1}}


def days_ago(days):
    return NOW - timedelta(days=days)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "journal.sqlite"


@pytest.fixture
def journal(path):
    with Journal.open(path, device=DEVICE) as opened:
        yield opened


def bytes_of(path):
    return b"".join(one.read_bytes() for one in path.parent.iterdir() if one.is_file())


def with_points(journal):
    return [one["seq"] for one in journal.records() if one.get("lat_e7")]


def test_an_old_track_that_the_shed_holds_keeps_its_name_and_the_sum_of_what_it_was(journal):
    was = journal.append(track(days_ago(20)))
    other = journal.append(bag(days_ago(20)))
    journal.acknowledge([(1, 2)])

    assert journal.forget_tracks(before=BEFORE) == 1

    assert list(journal.records()) == [
        {"device": DEVICE, "seq": 1, "kind": "track", "at": was["at"], "person": "MT",
         "let_go": {"sum": sum_of(was)}}, other]
    assert decode_track(journal.record(1)) == []
    assert journal.forget_tracks(before=BEFORE) == 0


def test_what_is_left_of_a_track_can_stand_for_it_at_no_shed():
    left = forgetting.without_points({**track(days_ago(20)), "device": DEVICE, "seq": 1})

    assert {one.field for one in problems(left)} == {"t0", "dt_ms", "lat_e7", "lon_e7"}


def test_no_byte_of_the_file_or_its_wal_tells_where_it_was(journal, path):
    for number in range(300):
        journal.append(track(days_ago(20) + timedelta(minutes=number)))
        journal.append(bag(days_ago(20) + timedelta(minutes=number)))
    journal.acknowledge([(1, 600)])
    assert all(place in bytes_of(path) for place in PLACES)
    size = journal._connection.execute("PRAGMA page_count").fetchone()[0]

    assert journal.forget_tracks(before=BEFORE) == 300

    assert not any(place in bytes_of(path) for place in PLACES)
    assert journal._connection.execute("PRAGMA page_count").fetchone()[0] < size / 2
    assert journal._connection.execute("PRAGMA temp_store").fetchone() == (2,)
    assert [one["seq"] for one in journal.records()] == list(range(1, 601))
    journal.check()


def test_young_tracks_and_those_the_shed_may_lack_keep_their_points(journal):
    for days in (20, 20, 13, 20, 20):
        journal.append(track(days_ago(days)))
    journal.acknowledge([(1, 3), (5, 5)])

    assert journal.forget_tracks(before=BEFORE) == 2

    assert with_points(journal) == [3, 4, 5]


def test_a_note_that_looks_like_points_is_a_note(journal):
    said = journal.append({**bag(days_ago(20)), "note": '"lat_e7":[1] "at":"1"'})
    journal.acknowledge([(1, 1)])

    assert journal.forget_tracks(before=BEFORE) == 0
    assert journal.record(1) == said


def test_a_damaged_track_is_left_as_it_is(journal, path):
    journal.append(track(days_ago(20)))
    journal.append(track(days_ago(20)))
    journal.acknowledge([(1, 2)])
    journal.close()
    whole = path.read_bytes()
    path.write_bytes(whole.replace(b'"kind":"track"', b'"kind":"track\xff', 1))

    with Journal.open(path, device=DEVICE) as again:
        assert again.forget_tracks(before=BEFORE) == 1
        assert len(list(again.records())) == 1
        assert len(again.damaged) == 1


@settings(max_examples=60, deadline=None)
@given(days=st.lists(st.integers(1, 40), min_size=1, max_size=12),
       held=st.lists(st.tuples(st.integers(1, 14), st.integers(0, 5)), max_size=4))
def test_a_name_never_goes_out_with_a_second_content(tmp_path_factory, days, held):
    path = tmp_path_factory.mktemp("phone") / "journal.sqlite"
    with Journal.open(path, device=DEVICE) as journal:
        was = {}
        for age in days:
            record = journal.append(track(days_ago(age)))
            was[record["seq"]] = record
        for first, more in held:
            journal.acknowledge([(first, first + more)])
            journal.forget_tracks(before=BEFORE)
            if journal.unsent():
                for span in files.parts(journal, None):
                    data = files.hand_over(journal, span, block="km7q2x4a", program="0",
                                           made_at=NOW, key=None)
                    for line in unpack(data).lines:
                        assert line in {forgetting.canonical(one) for one in was.values()}
        assert [one["seq"] for one in journal.records()] == sorted(was)
        gone = set(was) - set(with_points(journal))
        assert gone <= set(range(1, journal.first_unsent()))


def test_nobody_can_change_a_record_afterwards(journal, path):
    journal.append(track(days_ago(20)))
    journal.acknowledge([(1, 1)])
    journal.forget_tracks(before=BEFORE)

    by_hand = sqlite3.connect(path)
    with pytest.raises(sqlite3.IntegrityError, match="never changed"):
        by_hand.execute("UPDATE records SET line = x'00'")
    by_hand.close()


def test_a_full_phone_forgets_later_and_loses_nothing(journal, path):
    was = journal.append(track(days_ago(20)))
    journal.acknowledge([(1, 1)])
    journal._connection.execute("PRAGMA busy_timeout = 20")
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")

    with pytest.raises(JournalError, match="another program"):
        journal.forget_tracks(before=BEFORE)

    assert journal.record(1) == was
    other.close()
    assert journal.forget_tracks(before=BEFORE) == 1


def test_a_file_that_somebody_looked_into_is_compacted_the_next_time(journal, path):
    for _ in range(50):
        journal.append(track(days_ago(20)))
    journal.acknowledge([(1, 50)])
    journal._connection.execute("PRAGMA busy_timeout = 20")
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN")
    other.execute("SELECT count(*) FROM records").fetchone()

    assert journal.forget_tracks(before=BEFORE) == 50
    assert any(place in bytes_of(path) for place in PLACES)
    other.execute("COMMIT")
    other.close()
    assert journal.forget_tracks(before=BEFORE) == 0

    assert not any(place in bytes_of(path) for place in PLACES)
    assert journal.append(bag(NOW))["seq"] == 51


def test_the_history_counts_only_the_positions_that_are_kept(journal):
    journal.append({"kind": "outing", "at": stamp(days_ago(20)), "person": "MT", "where": None,
                    "state": "start", "role": "picker"})
    journal.append(track(days_ago(20)))
    journal.append(track(days_ago(1)))
    journal.acknowledge([(1, 3)])

    journal.forget_tracks(before=BEFORE)

    outing = Outing(journal)
    assert points_kept(outing) == 30
    assert [(one.count, one.points) for one in days_held(outing, zone=UTC)] == [(0, 30), (1, 0)]
