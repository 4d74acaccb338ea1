"""P2 WORK for the picker: one more bag, and may I pick here."""

from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.ground import Sheet
from fieldapp.phone.keys import Key
from fieldapp.phone.say import say
from fieldapp.phone.work import WorkShown
from fieldapp.ui import band, frame, key_face, line
from fieldapp.ui.kv import load_kv
from fieldapp.ui.look import PLAIN, Look

__all__ = ["PickerPage", "band", "frame", "key_face", "line"]
load_kv("work_picker")


class PickerPage(BoxLayout):
    """The screen: `shown` is all it shows."""

    shown: WorkShown = ObjectProperty(rebind=True)
    look: Look = ObjectProperty(PLAIN, rebind=True)
    sheet: Sheet | None = ObjectProperty(None, allownone=True, rebind=True)
    map_key: Key = ObjectProperty(Key("map", say("MAP")))
