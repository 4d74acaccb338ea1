"""NOTE: words typed bare-handed on one record."""

from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.phone.history_page import NoteShown
from fieldapp.ui import key_face, line
from fieldapp.ui.kv import load_kv
from fieldapp.ui.look import PLAIN, Look

__all__ = ["NotePage", "key_face", "line"]
load_kv("note")


class NotePage(BoxLayout):
    """The screen: `shown` is all it shows."""

    shown: NoteShown = ObjectProperty(rebind=True)
    look: Look = ObjectProperty(PLAIN, rebind=True)
