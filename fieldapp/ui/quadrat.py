"""P3 CHECK: all of the quadrat in words, then SAVE."""

from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.phone.quadrat import CheckShown
from fieldapp.phone.say import Say
from fieldapp.ui import key_face, line
from fieldapp.ui.kv import load_kv
from fieldapp.ui.look import PLAIN, Look

__all__ = ["CheckPage", "key_face", "line"]
load_kv("quadrat")


class CheckPage(BoxLayout):
    """The screen: `shown` is all it shows."""

    shown: CheckShown = ObjectProperty(rebind=True)
    look: Look = ObjectProperty(PLAIN, rebind=True)

    @staticmethod
    def lines(look: Look, said: tuple[Say, ...]) -> str:
        """Say messages, one a line."""
        return "\n".join(line for line in map(look.tell, said) if line)
