"""A trace as bytes: read again it is the same to the last bit; what is damaged is no trace."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sync.errors import IntakeError
from sync.geometry.picking import DRIFTS
from sync.geometry.placed import Drift
from sync.geometry.trace_bytes import from_bytes, to_bytes
from sync.geometry.traces import Told, Trace

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
