"""Degrees and decimal minutes, read back to within a metre."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.report.degrees import degrees_minutes

READ = re.compile(r"(\d+)°(\d\d\.\d{3})' ([NSEW])")


def read(text):
    return [(int(degrees) + float(minutes) / 60) * (-1 if half in "SW" else 1)
            for degrees, minutes, half in READ.findall(text)]


def test_a_place_is_written_as_a_pilot_reads_it():
    assert degrees_minutes(-42.85333, 169.69455) == "42°51.200' S 169°41.673' E"


def test_minutes_that_round_up_become_a_degree():
    assert degrees_minutes(-41.9999999, -0.0000001) == "42°00.000' S 0°00.000' E"


@given(st.floats(-90, 90), st.floats(-180, 180))
def test_what_is_written_is_read_back_to_a_thousandth_of_a_minute(lat, lon):
    assert read(degrees_minutes(lat, lon)) == pytest.approx([lat, lon], abs=0.00051 / 60)
