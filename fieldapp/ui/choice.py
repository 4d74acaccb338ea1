"""A page of choices: what is asked, what is told, the keys."""

from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.phone.pages import ChoiceShown
from fieldapp.ui import frame, key_face, line
from fieldapp.ui.kv import load_kv
from fieldapp.ui.look import PLAIN, Look

__all__ = ["ChoicePage", "frame", "key_face", "line"]
load_kv("choice")


class ChoicePage(BoxLayout):
    """The screen: `shown` is all it shows."""

    shown: ChoiceShown = ObjectProperty(rebind=True)
    look: Look = ObjectProperty(PLAIN, rebind=True)
