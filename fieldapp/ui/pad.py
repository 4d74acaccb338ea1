"""A pad of twelve values: quadrats, bags, hours, kg, layers."""

from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.phone.pages import PadShown
from fieldapp.ui import frame, key_face, line
from fieldapp.ui.kv import load_kv
from fieldapp.ui.look import PLAIN, Look

__all__ = ["PadPage", "frame", "key_face", "line"]
load_kv("pad")


class PadPage(BoxLayout):
    """The screen: `shown` is all it shows."""

    shown: PadShown = ObjectProperty(rebind=True)
    look: Look = ObjectProperty(PLAIN, rebind=True)
