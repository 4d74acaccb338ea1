"""NOTE: words typed bare-handed on one record.

Rule 1: what was typed and left is gone; it never turns up on another record.
"""

from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.phone.history_page import NoteShown
from fieldapp.ui import frame, key_face, line
from fieldapp.ui.kv import load_kv
from fieldapp.ui.look import PLAIN, Look

__all__ = ["NotePage", "frame", "key_face", "line"]
load_kv("note")


class NotePage(BoxLayout):
    """The screen: `shown` is all it shows."""

    shown: NoteShown = ObjectProperty(rebind=True)
    look: Look = ObjectProperty(PLAIN, rebind=True)

    def on_parent(self, *_: object) -> None:
        """Begin with the note as it stands, each time the page is opened."""
        self.ids.typed.focus = False
        self.ids.typed.text = self.shown.text
