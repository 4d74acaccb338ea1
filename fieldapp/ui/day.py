"""P6 DAY: history, hand-over, settings, pause, end."""

from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.phone.day import DayShown
from fieldapp.ui import frame, key_face, line
from fieldapp.ui.kv import load_kv
from fieldapp.ui.look import PLAIN, Look

__all__ = ["DayPage", "frame", "key_face", "line"]
load_kv("day")


class DayPage(BoxLayout):
    """The screen: `shown` is all it shows."""

    shown: DayShown = ObjectProperty(rebind=True)
    look: Look = ObjectProperty(PLAIN, rebind=True)
