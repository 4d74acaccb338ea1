"""What walks told as bytes: read again it is the same to the last bit; damaged it is nothing."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sync.errors import IntakeError
from sync.geometry.gathered_bytes import Gathered
from sync.geometry.gathered_bytes import from_bytes as read_gathered
from sync.geometry.gathered_bytes import to_bytes as write_gathered
from sync.geometry.picking import DRIFTS
from sync.geometry.placed import Drift, Placed
from sync.geometry.trace_bytes import from_bytes, to_bytes
from sync.geometry.traces import Told, Trace
from sync.geometry.words import heard_of, heed
from sync.intake.seen import BagSeen
from sync.settings import Tunables

#: Nothing, all, what is next to them, and what lies between.
PARTS = [0.0, -0.0, 1.0, float(np.nextafter(1.0, 0.0)), 5e-324, 0.25]
CELLS = ["A01", "B12", "AA03"]
part = st.sampled_from(PARTS)
array = st.one_of(
    part.map(lambda value: np.full(DRIFTS, value)),
    st.tuples(part, part).map(lambda ends: np.linspace(*ends, DRIFTS)))
arrays = st.dictionaries(st.sampled_from(CELLS), array, max_size=2)
drift = st.builds(Drift, arrays, arrays, array, arrays)


@st.composite
def told(draw):
    if draw(st.booleans()):  # surely in one cell, but perhaps for one thing
        cell = draw(st.sampled_from(CELLS))
        near = draw(st.sampled_from(PARTS))
        left = draw(st.sampled_from(["", "share", "moved", "cells", "outside", "closed"]))
        kept = {cell: near if left == "share" else 1.0}
        moved = {cell: (1.0, 1.0, near if left == "moved" else 1.0, 1.0)}
        here = np.full(DRIFTS, 1.0)
        here[3] = near if left == "cells" else 1.0
        outside = np.full(DRIFTS, near if left == "outside" else 0.0)
        closed = {cell: here} if left == "closed" else {}
        return Told(3.0, (1.5, 2.5, 3.25), kept, moved, Drift({cell: here}, closed, outside))
    shares = draw(st.dictionaries(st.sampled_from(CELLS), part, max_size=3))
    moved = draw(st.dictionaries(
        st.sampled_from(CELLS), st.tuples(part, part, part, part), max_size=3))
    return Told(draw(part), (1.5, 2.5, 3.25), shares, moved, draw(drift))


traces = st.builds(
    Trace,
    st.dictionaries(st.tuples(st.floats(0, 1e12), st.floats(0, 1e12)), told(), max_size=4),
    st.dictionaries(st.floats(0, 1e12), st.tuples(part, part, part), max_size=3))


def bits(value):
    """Give a value with its numbers as they lie in memory, where -0 is another number."""
    if isinstance(value, dict):
        return [(bits(key), bits(one)) for key, one in value.items()]
    if isinstance(value, tuple):
        return [bits(one) for one in value]
    return value if isinstance(value, str) else np.asarray(value, "<f8").tobytes()


def all_bits(trace):
    return bits(trace.fixes), [
        (bits(span), bits((one.seconds, *one.last)), bits(dict(one.shares)),
         bits(dict(one.moved)), bits(dict(one.drift.cells)), bits(dict(one.drift.closed)),
         bits(one.drift.outside), bits(dict(one.drift.held)))
        for span, one in trace.spells.items()]


@settings(max_examples=200)
@given(traces)
def test_a_trace_read_again_is_the_same_to_the_last_bit(trace):
    assert all_bits(from_bytes(to_bytes(trace))) == all_bits(trace)


@settings(max_examples=100)
@given(traces, st.data())
def test_a_trace_with_a_byte_changed_is_no_trace(trace, data):
    said = bytearray(to_bytes(trace))
    said[data.draw(st.integers(0, len(said) - 1))] ^= data.draw(st.integers(1, 255))
    with pytest.raises(IntakeError):
        from_bytes(bytes(said))


def test_spells_surely_in_a_cell_are_written_short_and_share_what_they_tell():
    whole = Drift({"A01": np.ones(DRIFTS)}, {}, np.zeros(DRIFTS))
    spells = {(float(i), i + 1.0): Told(
        1.0, (1.0, 2.0, 3.0), {"A01": 1.0}, {"A01": (1.0, 1.0, 1.0, 1.0)}, whole)
        for i in range(100)}
    said = to_bytes(Trace(spells, {}))
    read = list(from_bytes(said).spells.values())

    assert len(said) < 100 * 60
    assert all(one.drift is read[0].drift and one.shares is read[0].shares for one in read)


PHONE, MADE_OF = "p1-aaaa", bytes(range(32))
chances = st.dictionaries(st.sampled_from(CELLS), part, max_size=3)


@st.composite
def placed(draw, seq, picker):
    day = date(2026, 1, 20) + timedelta(days=draw(st.integers(0, 3)))
    at = datetime(2026, 1, 20, 20, tzinfo=UTC) + timedelta(minutes=seq)
    bag = BagSeen(f"{PHONE}:{seq}", at, day, PHONE, seq, picker, draw(st.booleans()),
                  draw(st.sampled_from([0.0, 1.0, 2.5])), None, None, None,
                  draw(st.sampled_from([None, *CELLS])), None, None)
    how = draw(st.sampled_from(["track", "track", "typed", "confirmed", "fix", "nowhere"]))
    if how == "track":
        said = draw(told())
        mine = draw(st.none() | st.tuples(chances, chances, part))
        closed, held, outside = mine or ({}, {}, said.drift.mean_outside)
        if said.drift.closed or said.drift.held or mine:
            assume(not _is_sure(said))
        return Placed(bag, 1.5, -0.0, 3.25, said.shares, closed, outside, how, drift=said.drift,
                      moved=said.moved, held=held)
    place = (None,) * 3 if how in ("typed", "nowhere") else (1.5, draw(part), 3.25)
    return Placed(bag, *place, draw(chances), draw(chances), draw(part), how, held=draw(chances))


def _is_sure(said):
    return len(said.shares) == 1 and all(one == 1.0 for one in said.shares.values())


@st.composite
def gathered(draw):
    heard = {}
    for picker in draw(st.lists(st.sampled_from(["MT", "JR", "AK"]), max_size=3, unique=True)):
        seqs = draw(st.lists(st.integers(1, 99), min_size=1, max_size=6, unique=True))
        heard[picker] = heard_of([draw(placed(seq, picker)) for seq in seqs], Tunables())
    swept = st.dictionaries(st.tuples(st.dates(), st.sampled_from(CELLS)),
                            st.binary(min_size=32, max_size=32), max_size=2)
    walks = st.tuples(st.floats(0, 1e12), st.just(PHONE), st.integers(1, 99))
    return Gathered(dict(zip(heard, heed(list(heard.values()), [None] * len(heard)), strict=True)),
                    draw(st.dictionaries(walks, swept, max_size=2)))


def presses(found):
    return {picker: [one.bag for one in each.heard.placed]
            for picker, each in found.heeded.items()}


def row(one):
    drift = one.drift and [bits(dict(each)) for each in (
        one.drift.cells, one.drift.closed, {"": one.drift.outside}, one.drift.held)]
    place = None if one.e is None else bits((one.e, one.n, one.sigma_m))
    return (one.bag, place, one.how, bits(dict(one.chances)), bits(dict(one.closed)),
            bits(one.outside), bits(dict(one.held)), bits(dict(one.moved)), one.word, drift)


def rows(heeded):
    return {picker: ([row(one) for one in each.heard.placed], [row(one) for one in each.placed],
                     each.heard.spoken, list(each.heard.proofs.items()),
                     list(each.words.items())) for picker, each in heeded.items()}


@settings(max_examples=200)
@given(gathered())
def test_what_was_gathered_of_a_phone_is_the_same_to_the_last_bit(found):
    again = read_gathered(write_gathered(found, MADE_OF), MADE_OF, presses(found))
    assert rows(again.heeded) == rows(found.heeded)
    assert again.swept == found.swept
    assert [one is other for each, mine in zip(
        found.heeded.values(), again.heeded.values(), strict=True)
        for one, other in zip(each.heard.placed, each.placed, strict=True)] == [
        one is other for mine in again.heeded.values()
        for one, other in zip(mine.heard.placed, mine.placed, strict=True)]
    # And the words that weigh the same move nothing again.
    heard = [each.heard for each in again.heeded.values()]
    for one, known in zip(heed(heard, list(again.heeded.values())), again.heeded.values(),
                          strict=True):
        assert one is known


@settings(max_examples=100)
@given(gathered(), st.data())
def test_what_was_gathered_is_nothing_with_a_byte_changed_or_of_other_presses(found, data):
    said = write_gathered(found, MADE_OF)
    harmed = bytearray(said)
    harmed[data.draw(st.integers(0, len(said) - 1))] ^= data.draw(st.integers(1, 255))
    for bad, made_of, bags in (
            (bytes(harmed), MADE_OF, presses(found)), (said, MADE_OF[::-1], presses(found)),
            (said, MADE_OF, {**presses(found), "XX": []}), (b"", MADE_OF, {})):
        with pytest.raises(IntakeError):
            read_gathered(bad, made_of, bags)
