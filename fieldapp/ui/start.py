"""P1 START: who carries this phone, as what, and is it fit to go."""

from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.phone.keys import NO_KEY, Key
from fieldapp.phone.start import StartShown
from fieldapp.ui import key_face, line
from fieldapp.ui.kv import load_kv
from fieldapp.ui.look import PLAIN, Look

__all__ = ["StartPage", "key_face", "line"]
load_kv("start")


class StartPage(BoxLayout):
    """The screen: `shown` is all it shows."""

    shown: StartShown = ObjectProperty(rebind=True)
    look: Look = ObjectProperty(PLAIN, rebind=True)

    @staticmethod
    def six(keys: tuple[Key, ...]) -> tuple[Key, ...]:
        """Fill up to two rows of three, so that no key changes its place."""
        return (*keys, *[NO_KEY] * (6 - len(keys)))
