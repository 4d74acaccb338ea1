"""What stands on the glass: the strip on top, one page below it, the trouble panel over both.

Rule 1: it shows what it is handed; a page is made once for its kind and shown again.
Rule 2: while the trouble panel is up, nothing under it can be pressed or typed in.
"""

from collections.abc import Iterator
from typing import Any

from kivy.clock import Clock
from kivy.properties import BooleanProperty, ObjectProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.floatlayout import FloatLayout
from kivy.uix.textinput import TextInput
from kivy.uix.widget import Widget

from fieldapp.ground import Sheet
from fieldapp.phone.strip import StripShown
from fieldapp.phone.trouble import TroubleShown
from fieldapp.phone.tunables import INVERT_S
from fieldapp.ui.kv import load_kv
from fieldapp.ui.look import PLAIN, Look
from fieldapp.ui.router import WIDGETS
from fieldapp.ui.strip_bar import StripBar
from fieldapp.ui.trouble import TroublePanel

load_kv("stage")


class Stage(FloatLayout):
    """All that is drawn.

    Attributes
    ----------
    look : Look
        In which light and language.
    flashed : bool
        The whole screen is inverted.
    strip : StripBar or None
        None until it was first shown.
    trouble : TroublePanel or None
        None while nothing waits.
    """

    look: Look = ObjectProperty(PLAIN, rebind=True)
    flashed: bool = BooleanProperty(False)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.strip: StripBar | None = None
        self.trouble: TroublePanel | None = None
        self._pages: dict[type, Widget] = {}
        self._column = BoxLayout(orientation="vertical")
        self.add_widget(self._column)

    def turn(self, look: Look) -> None:
        """Begin anew in another light or language."""
        self.look, self._pages, self.strip = look, {}, None
        self._column.clear_widgets()
        if self.trouble is not None:
            self.trouble.look = look

    def show_strip(self, shown: StripShown, said: str) -> None:
        """Show the strip, with what was just done; before the first page."""
        if self.strip is None:
            self.strip = StripBar(look=self.look, shown=shown, said=said)
            self._column.add_widget(self.strip)
        self.strip.shown, self.strip.said = shown, said

    def show_page(self, shown: Any, sheet: Sheet | None) -> None:
        """Show the page of a value, in the place of the one before.

        Parameters
        ----------
        shown : one of the values of `router.WIDGETS`
            What it shows.
        sheet : Sheet or None
            For pages with a band or a map.
        """
        page = self._pages.get(type(shown))
        if page is None:
            page = self._pages[type(shown)] = WIDGETS[type(shown)](shown=shown, look=self.look)
        page.shown = shown
        if hasattr(page, "sheet"):
            page.sheet = sheet
        if page.parent is None:
            for other in [one for one in self._column.children if one is not self.strip]:
                self._column.remove_widget(other)
            self._column.add_widget(page)

    def show_trouble(self, shown: TroubleShown | None) -> None:
        """Show what waits to be written; nothing takes the panel away."""
        if shown is None:
            if self.trouble is not None:
                self.remove_widget(self.trouble)
            self.trouble = None
        elif self.trouble is None:
            self.trouble = TroublePanel(look=self.look, shown=shown)
            self.add_widget(self.trouble)
        else:
            self.trouble.shown = shown

    def flash(self) -> None:
        """Invert the whole screen once."""
        self.flashed = True
        Clock.schedule_once(lambda _: setattr(self, "flashed", False), INVERT_S)

    def faces(self) -> Iterator[Any]:
        """Go through the keys that can be pressed now, those of the trouble panel alone if up."""
        for widget in (self.trouble or self._column).walk(restrict=True):
            key = getattr(widget, "key", None)
            if key is not None and key.name:
                yield widget

    def face_at(self, x: float, y: float) -> Any | None:
        """Give the key at a place [px], if there is one."""
        return next((face for face in self.faces() if face.collide_point(x, y)), None)

    def types_at(self, x: float, y: float) -> bool:
        """Say whether a touch [px] is for a box to type in; else close the keyboard."""
        boxes = () if self.trouble else tuple(self._boxes())
        if any(box.collide_point(x, y) for box in boxes):
            return True
        for box in boxes:
            box.focus = False
        return False

    def typed(self) -> str:
        """Give what stands in the page's box to type in; empty without one."""
        return "".join(box.text for box in self._boxes())

    def _boxes(self) -> Iterator[TextInput]:
        for widget in self._column.walk(restrict=True):
            if isinstance(widget, TextInput):
                yield widget
