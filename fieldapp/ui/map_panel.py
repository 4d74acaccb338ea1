"""The map of P2: the ground around me; it writes nothing."""

from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.ground import Sheet
from fieldapp.phone.map_panel import MapPanelShown
from fieldapp.ui import band, frame, key_face, map_canvas
from fieldapp.ui.kv import load_kv
from fieldapp.ui.look import PLAIN, Look

__all__ = ["MapPage", "band", "frame", "key_face", "map_canvas"]
load_kv("map_panel")


class MapPage(BoxLayout):
    """The screen: `shown` is all it shows."""

    shown: MapPanelShown = ObjectProperty(rebind=True)
    look: Look = ObjectProperty(PLAIN, rebind=True)
    sheet: Sheet | None = ObjectProperty(None, allownone=True, rebind=True)
