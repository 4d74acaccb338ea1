"""The signs a press gives: buzz, sound, sight; given once a record is on disk.

Rule 1: where no motor moved, the screen inverts once instead.
Rule 2: a sound that cannot be played is no trouble: there are two other signs.
"""

from collections.abc import Callable
from typing import Any

from kivy.core.audio import SoundLoader

from fieldapp.device.buzz import Buzz
from fieldapp.device.signals import SIGNALS, wav
from fieldapp.device.signals import Code as SignalCode
from fieldapp.phone.keys import Code
from fieldapp.phone.phone import Phone


class Feedback:
    """What gives the signs.

    Parameters
    ----------
    phone : Phone
        Whose settings say which are wanted.
    buzz : Buzz
        The motor.
    flash : callable
        Inverts the whole screen once.
    silent : bool
        True where no sound may be opened, as in a test.
    """

    def __init__(self, phone: Phone, buzz: Buzz, flash: Callable[[], None], *,
                 silent: bool = False) -> None:
        self._phone = phone
        self._buzz = buzz
        self._flash = flash
        self._silent = silent
        self._sounds: dict[SignalCode, Any] = {}

    def give(self, code: Code) -> None:
        """Give a sign; none for an empty code."""
        if code == "":
            return
        signal, settings = SIGNALS[code], self._phone.settings
        felt = settings.buzz and self._buzz.pattern(signal.buzz_ms)
        if settings.sound and signal.tones and not self._silent:
            self._play(code)
        if not felt and code != "B0":
            self._flash()

    def _play(self, code: SignalCode) -> None:
        if code not in self._sounds:
            try:
                path = self._phone.parts.folder.sound(code, wav(SIGNALS[code]))
            except OSError:  # a full phone has no room for it: of all times when B4 is given
                return
            self._sounds[code] = SoundLoader.load(path)
        if self._sounds[code] is not None:
            self._sounds[code].play()
