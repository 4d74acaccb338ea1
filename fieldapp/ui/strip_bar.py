"""The strip on top: time, signs, and in words what is amiss or was just done."""

from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.phone.keys import Tone
from fieldapp.phone.strip import StripShown
from fieldapp.ui import icons, line
from fieldapp.ui.kv import load_kv
from fieldapp.ui.look import PLAIN, Look

__all__ = ["StripBar", "icons", "line"]
load_kv("strip_bar")
#: Each notice has the strip for so long when there are several. [s]
TURN_S = 4


class StripBar(BoxLayout):
    """The strip.

    Attributes
    ----------
    shown : StripShown
        What it shows.
    said : str
        What was just done; it goes before notices that are no trouble.
    look : Look
        In which light and language.
    """

    shown: StripShown = ObjectProperty(rebind=True)
    said: str = StringProperty("")
    look: Look = ObjectProperty(PLAIN, rebind=True)
    words: str = StringProperty("")
    tone: Tone = StringProperty("plain")

    def words_of(self, look: Look, shown: StripShown, said: str) -> str:
        """Give the one line of words, empty for the signs alone."""
        if said and shown.tone != "trouble":
            return said
        if not shown.notices:
            return ""
        turn = int(shown.at.timestamp()) // TURN_S % len(shown.notices)
        return look.tell(shown.notices[turn].text)

    def tone_of(self, shown: StripShown, said: str) -> Tone:
        """Give the tone: that of the worst notice, or lit for what was just done."""
        return "lit" if said and shown.tone != "trouble" else shown.tone
