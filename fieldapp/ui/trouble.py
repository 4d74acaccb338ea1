"""The trouble panel, over any screen: a press that is not on disk."""

from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.phone.trouble import TroubleShown
from fieldapp.ui import key_face, line
from fieldapp.ui.kv import load_kv
from fieldapp.ui.look import PLAIN, Look

__all__ = ["TroublePanel", "key_face", "line"]
load_kv("trouble")


class TroublePanel(BoxLayout):
    """The panel: `shown` is all it shows."""

    shown: TroubleShown = ObjectProperty(rebind=True)
    look: Look = ObjectProperty(PLAIN, rebind=True)
