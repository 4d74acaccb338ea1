import io
import itertools
import os
import struct
import subprocess
import sys
import wave

import pytest
from plyer.facades import Vibrator

from fieldapp.device.buzz import NoBuzz, PhoneBuzz
from fieldapp.device.power import pct_of
from fieldapp.device.signals import SIGNALS, Signal, wav

RAPID = (100, 80) * 7 + (100,)


def samples_of(data):
    with wave.open(io.BytesIO(data)) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, 22_050)
        count = file.getnframes()
        return struct.unpack(f"<{count}h", file.readframes(count))


def pitch_hz(samples):
    """Upward crossings of zero, a period apart, placed between samples by a straight line."""
    up = [at + samples[at] / (samples[at] - samples[at + 1])
          for at in range(len(samples) - 1) if samples[at] < 0 <= samples[at + 1]]
    return (len(up) - 1) / (up[-1] - up[0]) * 22_050


@pytest.mark.parametrize(("code", "buzz_ms"), [
    ("B0", (50,)), ("B1", (150,)), ("B2", (150, 120, 150)), ("B3", (400, 200, 400, 200, 400)),
    ("B4", RAPID)])
def test_each_signal_is_felt_as_it_was_laid_down(code, buzz_ms):
    assert SIGNALS[code].buzz_ms == buzz_ms
    assert SIGNALS[code].code == code


@pytest.mark.parametrize(("code", "pitches"), [
    ("B0", ()), ("B1", (1000,)), ("B2", (1000, 600)), ("B3", (700, 700)), ("B4", (1500,) * 8)])
def test_each_signal_sounds_at_its_pitches(code, pitches):
    samples = samples_of(wav(SIGNALS[code]))
    heard, at = [], 0
    for hz, ms in SIGNALS[code].tones:
        count = 22_050 * ms // 1000
        piece, at = samples[at:at + count], at + count
        if hz:
            heard.append(pitch_hz(piece))
        else:
            assert set(piece) == {0}

    assert heard == pytest.approx(pitches, rel=0.02)
    assert at == len(samples)
    assert all(500 <= hz <= 2000 for hz in pitches)


def test_saved_sounds_for_120_ms_and_is_loud():
    samples = samples_of(wav(SIGNALS["B1"]))

    assert len(samples) == pytest.approx(0.120 * 22_050, abs=1)
    assert 20_000 < max(samples) < 32_767


def test_no_two_signals_are_felt_alike():
    felt = [signal.buzz_ms for signal in SIGNALS.values()]

    assert len(set(felt)) == len(felt)


@pytest.mark.parametrize("code", ["B1", "B2", "B3", "B4"])
def test_a_tone_swells_and_fades_and_does_not_click(code):
    samples = samples_of(wav(SIGNALS[code]))
    highest_hz = max(hz for hz, _ in SIGNALS[code].tones)
    steepest = 6.2832 * highest_hz / 22_050 * 0.8 * 32_767

    assert samples[0] == samples[-1] == 0
    assert max(abs(b - a) for a, b in itertools.pairwise(samples)) <= steepest * 1.05


def test_another_tone_is_made_the_same_way():
    assert pitch_hz(samples_of(wav(Signal("B1", (10,), ((523, 200),))))) == pytest.approx(
        523, rel=0.02)


class Motor(Vibrator):
    """Plyer's own facade over a motor that remembers what it was told."""

    def __init__(self, *, there=True, broken=False):
        self.there, self.broken, self.told = there, broken, []

    def _exists(self):
        return self.there

    def _pattern(self, pattern=None, repeat=None):
        if self.broken:
            raise RuntimeError("JVM exception occurred")
        self.told.append((pattern, repeat))


def test_a_pattern_moves_the_motor_once_with_no_wait_before():
    motor = Motor()

    assert PhoneBuzz(motor).pattern(SIGNALS["B2"].buzz_ms)
    assert motor.told == [([0.0, 0.15, 0.12, 0.15], -1)]


@pytest.mark.parametrize("motor", [Motor(there=False), Motor(broken=True), Vibrator(), object()])
def test_a_motor_that_is_missing_or_broken_is_told_and_stops_nothing(motor):
    assert PhoneBuzz(motor).pattern((50,)) is False


def test_no_buzz_moves_nothing():
    motor = Motor()

    assert NoBuzz().pattern((50,)) is False
    assert PhoneBuzz(motor).pattern(()) is False
    assert motor.told == []


@pytest.mark.parametrize(("told", "pct"), [
    (85.0, 85), (99.99, 99), (100.0, 100), (0, 0), (None, None), (-100.0, None), (101.0, None),
    (float("nan"), None), ("85", None), (True, None)])
def test_the_charge_is_read_from_what_the_phone_tells(told, pct):
    assert pct_of({"isCharging": False, "percentage": told}) == pct


ASK = """from fieldapp.device.power import battery_pct
from fieldapp.device.buzz import PhoneBuzz
assert battery_pct() is None
assert PhoneBuzz().pattern((50,)) is False
"""


@pytest.mark.parametrize("pretend", [{}, {"ANDROID_ARGUMENT": "1"}])
def test_where_the_parts_are_absent_there_is_nothing_and_not_a_word_is_printed(pretend):
    ran = subprocess.run([sys.executable, "-c", ASK], env={**os.environ, **pretend},
                         capture_output=True, text=True, check=False)

    assert (ran.returncode, ran.stdout, ran.stderr) == (0, "", "")
