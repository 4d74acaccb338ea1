"""A page of choices: what is asked, what is told, the keys."""

from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.phone.pages import ChoiceShown
from fieldapp.phone.say import Say
from fieldapp.ui import key_face, line
from fieldapp.ui.kv import load_kv
from fieldapp.ui.look import PLAIN, Look

__all__ = ["ChoicePage", "key_face", "line"]
load_kv("choice")


class ChoicePage(BoxLayout):
    """The screen: `shown` is all it shows."""

    shown: ChoiceShown = ObjectProperty(rebind=True)
    look: Look = ObjectProperty(PLAIN, rebind=True)

    @staticmethod
    def lines(look: Look, said: tuple[Say, ...]) -> str:
        """Say messages, one a line."""
        return "\n".join(line for line in map(look.tell, said) if line)
