"""The trouble panel, over any screen: a press that is not on disk."""

from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.phone.doing import Waiting
from fieldapp.phone.keys import Key
from fieldapp.phone.say import say
from fieldapp.ui import key_face, line
from fieldapp.ui.kv import load_kv
from fieldapp.ui.look import PLAIN, Look

__all__ = ["TroublePanel", "key_face", "line"]
load_kv("trouble")
TRY = Key("try_again", say("TRY AGAIN"), tone="framed")
PAPER = Key("on_paper", say("IT IS ON PAPER"), sub=say("hold 2 s: this phone lets go of it"),
            kind="hold", tone="framed")


class TroublePanel(BoxLayout):
    """What waits, why, and the two ways on."""

    shown: Waiting = ObjectProperty(rebind=True)
    look: Look = ObjectProperty(PLAIN, rebind=True)
    try_key: Key = ObjectProperty(TRY)
    paper_key: Key = ObjectProperty(PAPER)
