"""HISTORY: all that the phone holds, five rows a page."""

from typing import Any

from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.floatlayout import FloatLayout
from kivy.uix.widget import Widget

from fieldapp.phone.history_page import ROWS, HistoryShown, Row
from fieldapp.ui import frame, key_face, line
from fieldapp.ui.kv import load_kv
from fieldapp.ui.look import PLAIN, Look

__all__ = ["HistoryPage", "frame", "key_face", "line"]
load_kv("history")


class HistoryRow(FloatLayout):
    """One line of the history, struck through where it no longer stands."""

    row: Row = ObjectProperty(rebind=True)
    look: Look = ObjectProperty(PLAIN, rebind=True)


class HistoryPage(BoxLayout):
    """The screen: `shown` is all it shows."""

    shown: HistoryShown = ObjectProperty(rebind=True)
    look: Look = ObjectProperty(PLAIN, rebind=True)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.bind(shown=lambda *_: self._fill(), look=lambda *_: self._fill())
        self._fill()

    def _fill(self) -> None:
        rows = self.ids.rows
        rows.clear_widgets()
        for row in self.shown.rows:
            rows.add_widget(HistoryRow(row=row, look=self.look))
        for _ in range(ROWS - len(self.shown.rows)):
            rows.add_widget(Widget())
