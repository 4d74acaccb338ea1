"""P4 MORE: ten tiles."""

from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.phone.more import MoreShown
from fieldapp.ui import frame, key_face, line
from fieldapp.ui.kv import load_kv
from fieldapp.ui.look import PLAIN, Look

__all__ = ["MorePage", "frame", "key_face", "line"]
load_kv("more")


class MorePage(BoxLayout):
    """The screen: `shown` is all it shows."""

    shown: MoreShown = ObjectProperty(rebind=True)
    look: Look = ObjectProperty(PLAIN, rebind=True)
