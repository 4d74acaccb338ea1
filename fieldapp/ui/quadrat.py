"""P3 CHECK: all of the quadrat in words, then SAVE."""

from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.phone.quadrat import CheckShown
from fieldapp.ui import frame, key_face, line
from fieldapp.ui.kv import load_kv
from fieldapp.ui.look import PLAIN, Look

__all__ = ["CheckPage", "frame", "key_face", "line"]
load_kv("quadrat")


class CheckPage(BoxLayout):
    """The screen: `shown` is all it shows."""

    shown: CheckShown = ObjectProperty(rebind=True)
    look: Look = ObjectProperty(PLAIN, rebind=True)
