"""The five signals of the phone, as buzz and as sound.

Rule 1: they are told apart by count and length, not by pitch alone.
Rule 2: all tones lie between 500 and 2000 Hz, where older ears and small speakers still serve.
"""

import dataclasses
import io
import math
import struct
import wave
from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Literal

Code = Literal["B0", "B1", "B2", "B3", "B4"]

RATE_HZ = 22_050
_BYTES_A_SAMPLE = 2
#: Of the full swing, so that no small speaker rattles.
_LOUDNESS = 0.8
_FULL = 32_767
#: A tone swells and fades so long: an edge would click. [s]
_RAMP_S = 0.005
_MS_A_S = 1000


@dataclasses.dataclass(frozen=True)
class Signal:
    """One signal.

    Attributes
    ----------
    code : str
        B0 to B4.
    buzz_ms : tuple of int
        Buzz and pause in turn, beginning and ending with a buzz. [ms]
    tones : tuple of (int, int)
        Pitch [Hz], 0 for a pause, and length [ms] of each; none for a silent signal.
    """

    code: Code
    buzz_ms: tuple[int, ...]
    tones: tuple[tuple[int, int], ...]


_RAPID = 8
#: By code: a draft's value or a turned page; a record is on disk; a void is; look; trouble.
SIGNALS: Mapping[Code, Signal] = MappingProxyType({one.code: one for one in (
    Signal("B0", (50,), ()),
    Signal("B1", (150,), ((1000, 120),)),
    Signal("B2", (150, 120, 150), ((1000, 120), (600, 120))),
    Signal("B3", (400, 200, 400, 200, 400), ((700, 150), (0, 150), (700, 150))),
    Signal("B4", (100, 80) * (_RAPID - 1) + (100,),
           ((1500, 100), (0, 80)) * (_RAPID - 1) + ((1500, 100),)),
)})


def wav(signal: Signal) -> bytes:
    """Make a signal's sound.

    Parameters
    ----------
    signal : Signal
        One of `SIGNALS`, or another.

    Returns
    -------
    bytes
        A WAV file: 22,050 Hz, 16 bit, mono; without a sample if the signal is silent.
    """
    samples = [sample for hz, ms in signal.tones for sample in _tone(hz, ms)]
    target = io.BytesIO()
    with wave.open(target, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(_BYTES_A_SAMPLE)
        file.setframerate(RATE_HZ)
        file.writeframes(struct.pack(f"<{len(samples)}h", *samples))
    return target.getvalue()


def _tone(hz: int, ms: int) -> Iterator[int]:
    """Give the samples of a sine that swells and fades by half a cosine."""
    count = RATE_HZ * ms // _MS_A_S
    ramp = _RAMP_S * RATE_HZ
    for at in range(count):
        edge = min(1.0, at / ramp, (count - 1 - at) / ramp)
        swell = 0.5 - 0.5 * math.cos(math.pi * edge)
        yield round(_FULL * _LOUDNESS * swell * math.sin(math.tau * hz * at / RATE_HZ))
