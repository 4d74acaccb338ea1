"""P5 OK·HELP: fine, or a call for help with the place in digits."""

from kivy.properties import ColorProperty, ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.phone.help import HelpShown
from fieldapp.ui import frame, key_face, line
from fieldapp.ui.kv import load_kv
from fieldapp.ui.look import PLAIN, Look

__all__ = ["HelpPage", "frame", "key_face", "line"]
load_kv("help")


class HelpPage(BoxLayout):
    """The screen: `shown` is all it shows."""

    shown: HelpShown = ObjectProperty(rebind=True)
    look: Look = ObjectProperty(PLAIN, rebind=True)
    ink = ColorProperty((0, 0, 0, 1))
