"""A merge with what former ones left is the one from nothing, whatever came in between."""

import contextlib
import dataclasses
import json
from datetime import UTC, datetime, timedelta

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldapp.record import encode_track, stamp
from sync.errors import IntakeError
from sync.intake.again import Again
from sync.intake.check import Held, check_line
from sync.intake.events import events_of
from sync.intake.heads import HEAD, Tracks
from sync.intake.holes import holes_in
from sync.intake.merge import merge
from sync.intake.part import Rules, merge_part
from sync.intake.parts import Part, by_device, parts_of
from sync.intake.sums import device_sum
from sync.intake.unread import tracks_of_people

T0 = datetime(2026, 1, 20, 18, 0, tzinfo=UTC)
PHONES = ("p1-a2b3", "p3-k7f2")
DEVICES = (*PHONES, "form-tally7", "shed")
MOST = 7
OWN_FIELDS = {
    "bag": {"bags": 1}, "mark": {"what": "peg", "name": "1"}, "dream": {"bags": 99}, "void": {},
    "outing": {"state": "start", "role": "picker", "cell": "A01"}, "track": {},
}
KINDS = ["bag", "bag", "bag", "outing", "mark", "track", "void", "void", "dream"]


def place(lag_s):
    return {"lat": -42.8571, "lon": 169.6941, "age_s": 1, "lag_s": lag_s}


@st.composite
def targets(draw, device, seq):
    other = draw(st.sampled_from(DEVICES)) if device == "shed" else device
    highest = seq - 1 if other == device else MOST
    return f"{other}:{draw(st.integers(1, highest))}" if highest >= 1 else None


@st.composite
def records(draw, *, sound=True, devices=DEVICES):
    device, seq = draw(st.sampled_from(devices)), draw(st.integers(1, MOST))
    kind = draw(st.sampled_from(KINDS))
    target = draw(targets(device, seq)) if kind == "void" or draw(st.booleans()) else None
    kind = "bag" if kind == "void" and target is None else kind
    at = T0 + timedelta(hours=draw(st.integers(0, 40)))
    lag_s = draw(st.sampled_from([None, None, 0.5, 4000.0]))
    record = {
        "device": device, "seq": seq, "kind": kind, "person": draw(st.sampled_from(["MT", "A"])),
        "at": stamp(at), "where": None if lag_s is None else place(lag_s), **OWN_FIELDS[kind]}
    if kind == "outing":
        record["cell"] = draw(st.sampled_from(["A01", "A02"]))
    if kind == "track":
        record |= encode_track([(at, -42.8, 169.7, 4.0), (at + timedelta(seconds=5), -42.8, 169.7,
                                                          None)])
    if target is not None:
        record["of" if kind == "void" else "instead_of"] = target
    if kind == "bag" and device in ("shed", "form-tally7") and draw(st.integers(0, 2)) == 0:
        first = draw(st.integers(1, MOST))
        record["covers"] = [draw(st.sampled_from(PHONES)), first, draw(st.integers(first, MOST))]
    return record if sound else {**record, "press_ms": -1}


#: Records with their seals, lines that wait, new plain tracks of a phone, the clock's bound.
HAND_OVERS = st.lists(st.tuples(
    st.lists(st.tuples(records() | records(sound=False) | records(devices=("shed",)),
                       st.booleans()), max_size=6)
    | st.tuples(st.tuples(records(), st.booleans())),
    st.sampled_from([None, None, *PHONES, "gpx-0a1b2c3d"]), st.sampled_from([120.0] * 5 + [5e3]),
), min_size=2, max_size=6)


class Unmoved:
    """No chance: the journal's order, in which more is given again."""

    def shuffle(self, held):
        held.sort(key=lambda one: (one.name, one.total))


class Shed:
    """What the shed holds, one hand-over after another; records stay the same objects."""

    def __init__(self):
        self.held, self.aside, self.heads = {}, {}, {}

    def take(self, found, with_track):
        for record, sealed in found:
            one = check_line(json.dumps(record).encode(), file="f", number=1, sealed=sealed)
            if not isinstance(one, Held):
                self.aside[one.raw] = one
            elif not (known := self.held.get((one.name, one.total))) or one.sealed > known.sealed:
                self.held[one.name, one.total] = one
                if record["seq"] % 2:  # what waited under its name has passed
                    self.aside = {raw: line for raw, line in self.aside.items()
                                  if line.name != one.name}
        if with_track is not None:
            mine = self.heads.get(with_track, np.empty(0, HEAD))
            seq = 20 + 2 * len(mine)
            at_ms = round(T0.timestamp() * 1000) + 60_000 * seq
            head = (seq, at_ms, at_ms, at_ms + 5000, 0.5, 2, 0, 0, bytes(31) + bytes([seq]), seq)
            self.heads[with_track] = np.append(mine, np.array([head], HEAD))

    def register(self, clock_off_s, again, chance, aliases=(("p1-a2b3", "A"),), memo=None):
        held, aside = list(self.held.values()), list(self.aside.values())
        chance.shuffle(held)
        return of(held, aside, Tracks(("A", "RK"), dict(self.heads)), clock_off_s,
                  dict.fromkeys(aliases, "RK"), again, memo)


def of(held, aside, tracks, clock_off_s, aliases, again, memo=None):
    devices = {one.device for one in held} | tracks.by_device.keys()
    sums = {device: device_sum([one for one in held if one.device == device], tracks.of(device))
            for device in devices}
    merged = merge(held, aside, zone="Pacific/Auckland", clock_off_s=clock_off_s, tracks=tracks,
                   aliases=aliases, again=again, sums=sums if memo is not None else None,
                   memo=memo)
    events = events_of(merged.by_kind, season_start=(7, 1), tracks=merged.tracks, again=again)
    return merged, events, holes_in(merged.numbers, merged.times, events.bags, again)


def figures(register):
    merged, events, holes = register
    found = {field.name: getattr(merged, field.name) for field in dataclasses.fields(merged)
             if field.name != "made_of"}
    found |= {field.name: getattr(events, field.name) for field in dataclasses.fields(events)}
    names = {f"{device}:{seq}" for device, seqs in merged.numbers.items() for seq in seqs}
    found["times"] = {name: merged.times.get(name) for name in names}, len(merged.times)
    heads = {device: each.tobytes() for device, each in merged.tracks.by_device.items()}
    found["heads"] = heads, merged.tracks.people
    found["tracks"] = {device: (track.made_of, track.about_ms.tolist())
                       for device, track in events.tracks.items()}
    found["twice"] = list(merged.twice.items())
    return found, holes


@settings(max_examples=300, deadline=None)
@given(HAND_OVERS, st.randoms(use_true_random=False))
def test_a_merge_with_what_former_ones_left_is_the_one_from_nothing(hand_overs, chance):
    again, shed = Again(), Shed()
    order = chance if chance.random() < 0.3 else Unmoved()
    for found, with_track, clock_off_s in hand_overs:
        shed.take(found, with_track)
        here = shed.register(clock_off_s, again, order)
        assert figures(here) == figures(shed.register(clock_off_s, None, order))


class Remembers:
    """A memo in memory, of which a piece may be damaged."""

    def __init__(self):
        self.kept, self.read_again = {}, 0

    def look(self, key, reader):
        with contextlib.suppress(IntakeError):
            found = reader(self.kept[key]) if key in self.kept else None
            self.read_again += found is not None
            return found
        return None

    def put(self, key, value):
        self.kept[key] = value


@settings(max_examples=300, deadline=None)
@given(HAND_OVERS, st.randoms(use_true_random=False), st.sampled_from([(), (("p1-a2b3", "A"),)]))
def test_a_merge_from_memory_is_the_one_from_nothing(hand_overs, chance, aliases):
    memo, shed = Remembers(), Shed()
    for found, with_track, clock_off_s in hand_overs:
        shed.take(found, with_track)
        here = [shed.register(clock_off_s, None, Unmoved(), aliases, memo) for _ in range(2)]
        alone = shed.register(clock_off_s, None, Unmoved(), aliases)
        assert figures(here[0]) == figures(here[1]) == figures(alone)
        for key in list(memo.kept):
            if chance.random() < 0.1:
                at = chance.randrange(len(memo.kept[key]))
                harmed = bytearray(memo.kept[key])
                harmed[at] ^= 1 + chance.randrange(255)
                memo.kept[key] = bytes(harmed)


def test_what_counts_of_a_device_is_read_again_until_anything_of_it_is_another():
    records = [bag("p1-a2b3", 1), bag("p1-a2b3", 2) | {"where": place(0.5)}, bag("p3-k7f2", 1)]
    memo, shed = Remembers(), Shed()
    shed.take([(one, True) for one in records], None)

    def read_again():
        memo.read_again = 0
        shed.register(120.0, None, Unmoved(), (), memo)
        return memo.read_again

    assert [read_again(), read_again()] == [0, 2]
    shed.take([(bag("p3-k7f2", 2), True)], None)
    assert [read_again(), read_again()] == [1, 2]
    shed.take([({**bag("shed", 1), "kind": "void", "of": "p1-a2b3:1"}, True)], None)
    assert [read_again(), read_again()] == [1, 2]
    shed.take([], "p3-k7f2")
    assert [read_again(), read_again()] == [1, 2]


@settings(max_examples=300, deadline=None)
@given(HAND_OVERS)
def test_parts_tell_what_all_records_tell_together(hand_overs):
    shed = Shed()
    for found, _, _ in hand_overs:
        shed.take(found, None)
    every = by_device(shed.held.values(), shed.aside.values())
    parts = parts_of(every, Tracks())
    assert sorted(id(one) for part in parts for one in part.held) == sorted(
        id(one) for one in shed.held.values())
    whole = Part(tuple(sorted(every.held)), tuple(shed.held.values()),
                 tuple(shed.aside.values()), ())
    assert told(parts) == told([whole])


def told(parts):
    each = [merge_part(part, Rules("Pacific/Auckland", 120.0, {}), Tracks(), {})
            for part in parts]
    return (
        {one.name: one for part in each for one in part.counted},
        {one.said.name: one for part in each for one in part.undone},
        {name: at for part in each for name, at in part.times.items()},
        {name: sums for part in each for name, sums in part.twice.items()},
    )


def bag(device, seq, **fields):
    return {"device": device, "seq": seq, "kind": "bag", "person": "MT", "at": stamp(
        T0 + timedelta(minutes=seq)), "where": None, "bags": 1, **fields}


def test_what_a_hand_over_does_not_touch_is_given_again():
    again, shed = Again(), Shed()
    start = {**bag(PHONES[0], 1), "kind": "outing", "state": "start", "role": "picker"}
    shed.take([(start, True), *((bag(device, seq), True) for device in PHONES
                                for seq in (2, 3, 5))], PHONES[0])
    merged, events, _ = shed.register(120.0, again, Unmoved())
    shed.take([(bag(PHONES[1], 6), True), (bag("shed", 1, instead_of=f"{PHONES[1]}:5"), True)],
              None)
    here, now, _ = shed.register(120.0, again, Unmoved())
    kept = {id(one) for one in here.counted}
    assert [one.name for one in merged.counted if id(one) not in kept] == [f"{PHONES[1]}:5"]
    assert here.numbers[PHONES[0]] is merged.numbers[PHONES[0]]
    assert now.outings[0] is events.outings[0]
    assert now.tracks[PHONES[0]] is events.tracks[PHONES[0]]
    assert here.tracks.of(PHONES[0]) is merged.tracks.of(PHONES[0])
    bags = {id(one) for one in now.bags}
    assert [one.name for one in events.bags if id(one) not in bags] == [f"{PHONES[1]}:5"]
    shed.take([(bag(PHONES[1], 7), True)], PHONES[0])
    _, later, _ = shed.register(120.0, again, Unmoved())
    assert later.tracks[PHONES[0]] is not now.tracks[PHONES[0]]


def test_a_clock_error_that_comes_late_moves_the_records_between():
    again, shed = Again(), Shed()
    shed.take([(bag(PHONES[0], 1, where=place(0.5)), True), (bag(PHONES[0], 4), True),
               (bag(PHONES[1], 1), True)], None)
    merged, *_ = shed.register(120.0, again, Unmoved())
    shed.take([(bag(PHONES[0], 5, where=place(4000.0)), True)], None)
    here, *_ = shed.register(120.0, again, Unmoved())
    name = f"{PHONES[0]}:4"
    assert merged.times[name] - here.times[name] == timedelta(seconds=4000)
    assert figures((here, *shed.register(120.0, None, Unmoved())[1:])) == figures(
        shed.register(120.0, None, Unmoved()))


def test_a_line_that_comes_to_wait_lends_its_time_to_the_mend_that_is_there():
    again, shed = Again(), Shed()
    shed.take([(bag("shed", 1, instead_of=f"{PHONES[0]}:2"), True), (bag(PHONES[0], 1), True)],
              None)
    merged, *_ = shed.register(120.0, again, Unmoved())
    shed.take([(bag(PHONES[0], 2, press_ms=-1), True)], None)
    here, *_ = shed.register(120.0, again, Unmoved())
    name, first = "shed:1", ("shed", 1)
    assert [(one.device, one.seq) for one in merged.counted if one.name == name] == [first]
    assert [(one.device, one.seq) for one in here.counted if one.name == name] == [(PHONES[0], 2)]


def test_a_paper_count_goes_when_a_record_of_its_hole_comes_and_no_part_of_it_changed():
    again, shed = Again(), Shed()
    paper = bag("form-tally7", 1, covers=[PHONES[0], 2, 3])
    shed.take([(paper, True), (bag(PHONES[0], 1), True), (bag(PHONES[0], 4), True)], None)
    merged, _, holes = shed.register(120.0, again, Unmoved())
    assert merged.counts("form-tally7:1")
    assert holes[0].paper_bags == 1
    shed.take([(bag(PHONES[0], 3), True)], None)
    here, _, holes = shed.register(120.0, again, Unmoved())
    assert not here.counts("form-tally7:1")
    assert holes[0].paper_bags is None
    assert here.undone[0].said is merged.counted[0]


def test_2026_11_28_tracks_under_a_letter_and_under_the_own_code_are_counted_together():
    shed = Shed()
    shed.take([], PHONES[0])
    shed.take([], PHONES[0])
    shed.heads[PHONES[0]]["person"] = [0, 1]
    merged, *_ = shed.register(120.0, None, Unmoved())
    assert merged.tracks.people[1] == "RK"
    assert tracks_of_people(merged.tracks, "UTC", None, T0.date() + timedelta(days=2)) == {"RK": 2}
