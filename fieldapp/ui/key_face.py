"""One key on the screen: its face; what a touch of it means is `press`'s to say."""

from typing import Any

from kivy.clock import Clock
from kivy.properties import (
    BooleanProperty,
    ColorProperty,
    NumericProperty,
    ObjectProperty,
    StringProperty,
)
from kivy.uix.floatlayout import FloatLayout
from kivy.uix.gridlayout import GridLayout

from fieldapp.phone.keys import NO_KEY, Key
from fieldapp.ui import icons, line
from fieldapp.ui.kv import load_kv
from fieldapp.ui.look import PLAIN, Look
from fieldapp.ui.sizes import KEY_TEXT

__all__ = ["KeyFace", "KeyGrid", "icons", "line"]
load_kv("key_face")


class KeyFace(FloatLayout):
    """A key.

    Attributes
    ----------
    key : Key
        What it shows and is called; one without a name is an empty place.
    look : Look
        In which light and language.
    pressed : bool
        Shown inverted.
    progress : float
        How full its bar is, 0 to 1.
    told : str
        A word in place of its second line, as "wait".
    size_sp : float
        Of its word. [sp]
    scaled : bool
        Whether LARGE TEXT makes the word larger: not the digits of a pad.
    ink, beside, second
        Worked out in the rules: colour of the word, room for the icon [px], the second line.
    """

    key: Key = ObjectProperty(NO_KEY, rebind=True)
    look: Look = ObjectProperty(PLAIN, rebind=True)
    pressed: bool = BooleanProperty(False)
    progress: float = NumericProperty(0.0)
    told: str = StringProperty("")
    size_sp: float = NumericProperty(KEY_TEXT)
    scaled: bool = BooleanProperty(True)
    ink = ColorProperty((0, 0, 0, 1))
    beside: float = NumericProperty(0.0)
    second: str = StringProperty("")


class KeyGrid(GridLayout):
    """Keys in rows.

    Attributes
    ----------
    keys : tuple of Key
        Row by row.
    look : Look
        Theirs.
    size_sp : float
        Of their words. [sp]
    scaled, mirrored : bool
        As for `KeyFace`; whether each row is turned about for the left hand.
    """

    keys: tuple[Key, ...] = ObjectProperty(())
    look: Look = ObjectProperty(PLAIN, rebind=True)
    size_sp: float = NumericProperty(KEY_TEXT)
    scaled: bool = BooleanProperty(True)
    mirrored: bool = BooleanProperty(False)

    def __init__(self, **kwargs: Any) -> None:
        fill = Clock.create_trigger(self._fill, -1)
        super().__init__(**kwargs)
        self.bind(**dict.fromkeys(("keys", "look", "size_sp", "mirrored"), lambda *_: fill()))
        self._fill()

    def _fill(self, *_: object) -> None:
        keys = tuple(reversed(self.keys)) if self.mirrored else self.keys
        if len(self.children) != len(keys):
            self.clear_widgets()
            for key in keys:
                self.add_widget(KeyFace(key=key, look=self.look, size_sp=self.size_sp,
                                        scaled=self.scaled))
        for face, key in zip(reversed(self.children), keys, strict=True):
            face.look, face.key = self.look, key
