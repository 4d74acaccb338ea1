"""What is read of each device is what is read from nothing, and comes again where it stands."""

import dataclasses
import json
import random
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldapp.record import encode_track, name_of, sum_of
from sync.disk import track_heads
from sync.disk.apart import Devices
from sync.disk.journal import ShedJournal
from sync.disk.track_heads import Packs
from sync.intake.check import Aside, Held
from sync.intake.merge import merge

START = datetime(2025, 11, 10, 19, tzinfo=UTC)
PHONES = ("p1-aaaa", "p2-bbbb")
OFF_S = 120.0


def said(device, seq, kind, minute, **fields):
    at = START + timedelta(minutes=minute)
    return {"device": device, "seq": seq, "kind": kind, "person": "MT",
            "at": at.strftime("%Y-%m-%dT%H:%M:%S.000Z"), "where": None, **fields}


def track(device, seq, minute, lag_s=None, **fields):
    fixes = [(START + timedelta(minutes=minute, seconds=5 * i), -46.0, 168.0, 4.0)
             for i in range(3)]
    return said(device, seq, "track", minute, **{**encode_track(fixes), "lag_s": lag_s}, **fields)


def place(lag_s):
    return {"lat": -46.0, "lon": 168.0, "age_s": 1, "lag_s": lag_s}


@st.composite
def records(draw):
    device = draw(st.sampled_from([*PHONES, *PHONES, "shed"]))
    seq, minute = draw(st.integers(1, 9)), draw(st.integers(0, 3))
    target = f"{device}:{draw(st.integers(1, seq - 1))}" if seq > 1 else None
    if device == "shed":
        target = f"{draw(st.sampled_from(PHONES))}:{draw(st.integers(1, 9))}"
    lag_s = draw(st.sampled_from([None, 0.5, 4000.0]))
    kinds = ["bag", "void", "mend", "track"] if target else ["bag", "track"]
    kind = draw(st.sampled_from(kinds if device == "shed" else [*kinds, "track", "track"]))
    if kind == "void":
        return said(device, seq, "void", minute, of=target)
    if kind == "bag":
        return said(device, seq, "bag", minute, bags=1,
                    **({} if lag_s is None else {"where": place(lag_s)}))
    return track(device, seq, minute, lag_s, **({"instead_of": target} if kind == "mend" else {}))


LINES = st.builds(
    lambda device, seq: Aside("a", 1, f"{device}:{seq}", "bags", "", "odd", '{"kind":"track"}',
                              True), st.sampled_from([*PHONES, "shed"]), st.integers(1, 9))
HAND_OVERS = st.lists(
    st.tuples(st.lists(st.tuples(records(), st.booleans()), max_size=9)
              | st.lists(st.tuples(records(), st.booleans()), max_size=1),
              st.lists(LINES, max_size=1)), min_size=2, max_size=6)


def held(record, sealed=True):
    return Held(name_of(record), sum_of(record), record, sealed)


def figures(apart):
    tracks = apart.tracks
    return (apart.held, apart.records_sum, tracks.people,
            {device: heads.tobytes() for device, heads in tracks.by_device.items()})


@settings(max_examples=120, deadline=None)
@given(hand_overs=HAND_OVERS, size=st.sampled_from([3, 8, 64]))
def test_what_is_kept_of_devices_is_what_is_read_from_nothing(hand_overs, size):
    packs, devices = Packs(), Devices()
    with pytest.MonkeyPatch.context() as patch, tempfile.TemporaryDirectory() as folder, (
            ShedJournal(Path(folder))) as journal:
        patch.setattr(track_heads, "_PACK", size)
        for number, (found, lines) in enumerate(hand_overs):
            journal.take([held(*one) for one in found], lines, file=f"f{number}", arrived=START)
            here = journal.held_apart(clock_off_s=OFF_S, packs=packs, devices=devices)
            assert figures(here) == figures(journal.held_apart(clock_off_s=OFF_S))
            same = journal.held_apart(clock_off_s=OFF_S, packs=packs, devices=devices)
            assert all(map(lambda a, b: a is b, here.held, same.held))
            assert all(same.tracks.of(device) is heads
                       for device, heads in here.tracks.by_device.items())


@settings(max_examples=120, deadline=None)
@given(hand_overs=HAND_OVERS)
def test_tracks_that_are_read_after_all_are_those_that_matter(hand_overs):
    """By their heads all records count as they would read one by one."""
    with tempfile.TemporaryDirectory() as folder, ShedJournal(Path(folder)) as journal:
        for number, (found, lines) in enumerate(hand_overs):
            journal.take([held(*one) for one in found], lines, file=f"f{number}", arrived=START)
        apart = journal.held_apart(clock_off_s=OFF_S)
        by_heads = merge(apart.held, journal.waiting(), zone="UTC", clock_off_s=OFF_S,
                         tracks=apart.tracks)
        straight = merge(journal.held(), journal.waiting(), zone="UTC", clock_off_s=OFF_S)
    unread = {f"{device}:{seq}" for device, heads in apart.tracks.by_device.items()
              for seq in heads["seq"].tolist()}
    assert by_heads.counted == tuple(
        one for one in straight.counted if one.name not in unread)
    assert unread <= straight.names
    assert {name: by_heads.times[name] for name in unread} == {
        name: straight.times[name] for name in unread}
    assert by_heads.numbers == straight.numbers


def test_2026_11_28_a_clock_is_judged_by_the_content_that_counts(tmp_path):
    """Of two contents of a bag the sealed one counts, whichever came last."""
    right, wrong = (said(PHONES[0], 2, "bag", 1, bags=1, where=place(lag)) for lag in (0.5, 4e3))
    for order in ((right, wrong), (wrong, right)):
        folder = tmp_path / str(order[0]["where"]["lag_s"])
        folder.mkdir()
        with ShedJournal(folder) as journal:
            journal.take([held(track(PHONES[0], 1, 0))], [], file="f", arrived=START)
            for number, one in enumerate(order):
                journal.take([held(one, one is wrong)], [], file=f"{number}", arrived=START)
            apart = journal.held_apart(clock_off_s=OFF_S)
            straight = merge(journal.held(), zone="UTC", clock_off_s=OFF_S)
        by_heads = merge(apart.held, zone="UTC", clock_off_s=OFF_S, tracks=apart.tracks)
        assert by_heads.times[f"{PHONES[0]}:1"] == straight.times[f"{PHONES[0]}:1"]


def test_a_hand_over_of_one_phone_leaves_those_of_others_as_they_are(tmp_path, monkeypatch):
    monkeypatch.setattr(track_heads, "_PACK", 4)
    packs, devices, rng = Packs(), Devices(), random.Random(1)
    with ShedJournal(tmp_path) as journal:
        mixed = [track(device, seq, seq) if rng.random() < 0.6
                 else said(device, seq, "bag", seq, bags=1)
                 for seq in range(1, 12) for device in PHONES]
        journal.take([held(one) for one in mixed], [], file="f", arrived=START)
        before = journal.held_apart(clock_off_s=OFF_S, packs=packs, devices=devices)
        more = [track(PHONES[1], seq, seq) for seq in range(12, 20)]
        journal.take([held(one) for one in more], [], file="g", arrived=START)
        after = journal.held_apart(clock_off_s=OFF_S, packs=packs, devices=devices)
    assert after.tracks.of(PHONES[0]) is before.tracks.of(PHONES[0])
    assert len(after.tracks.of(PHONES[1])) == len(before.tracks.of(PHONES[1])) + 8
    assert [id(one) for one in after.held] == [id(one) for one in before.held]
    assert after.tracks.read == before.tracks.read


@pytest.mark.parametrize("by", ["record", "line"])
def test_a_track_that_is_named_later_is_read(tmp_path, by):
    packs, devices = Packs(), Devices()
    void = said("shed", 1, "void", 3, of=f"{PHONES[0]}:1")
    line = Aside("a", 1, f"{PHONES[0]}:1", "bags", "", "odd", "{}", True)
    with ShedJournal(tmp_path) as journal:
        journal.take([held(track(PHONES[0], 1, 0))], [], file="f", arrived=START)
        assert journal.held_apart(clock_off_s=OFF_S, packs=packs, devices=devices).held == ()
        if by == "record":
            journal.take([held(void)], [], file="g", arrived=START)
        else:
            journal.take([], [line], file="g", arrived=START)
        apart = journal.held_apart(clock_off_s=OFF_S, packs=packs, devices=devices)
    assert not apart.tracks.by_device
    assert apart.held[0].name == f"{PHONES[0]}:1"


def test_a_track_whose_points_were_let_go_of_is_read_anew(tmp_path):
    packs, devices = Packs(), Devices()
    gone = track(PHONES[0], 1, 0)
    with ShedJournal(tmp_path) as journal:
        journal.take([held(gone), held(said(PHONES[0], 2, "void", 1, of=name_of(gone)))], [],
                     file="f", arrived=START)
        journal.held_apart(clock_off_s=OFF_S, packs=packs, devices=devices)
        thinned = {**said(PHONES[0], 1, "track", 0), "thinned": {"walk": None}}
        journal.thin({(name_of(gone), sum_of(gone)): json.dumps(thinned).encode()})
        apart = journal.held_apart(clock_off_s=OFF_S, packs=packs, devices=devices)
    assert apart.held[0].record == thinned


def test_a_seal_that_comes_late_is_seen_on_a_track_that_is_read(tmp_path):
    packs, devices = Packs(), Devices()
    one = held(track(PHONES[0], 1, 0), sealed=False)
    with ShedJournal(tmp_path) as journal:
        journal.take([one, held(said(PHONES[0], 2, "void", 1, of=one.name))], [], file="f",
                     arrived=START)
        for sealed in (False, True):
            apart = journal.held_apart(clock_off_s=OFF_S, packs=packs, devices=devices)
            assert apart.held[0].sealed == sealed
            journal.take([dataclasses.replace(one, sealed=True)], [], file="g", arrived=START)
