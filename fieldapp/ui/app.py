"""The app: one window, one root, and the ends of its life."""

from typing import Any

from kivy.app import App
from kivy.core.window import Window

from fieldapp.device.buzz import Buzz
from fieldapp.phone.phone import Phone
from fieldapp.ui.root import Root

#: Esc, and Android's back.
_BACK_KEY = 27


class FieldApp(App):
    """The phone's screens as an app.

    Parameters
    ----------
    phone : Phone
        Whose screens.
    buzz : Buzz
        Its motor.
    silent : bool
        True where no sound may be opened.
    """

    title = "Fallow"
    use_kivy_settings = False

    def __init__(self, phone: Phone, buzz: Buzz, *, silent: bool = False, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._phone = phone
        self._buzz = buzz
        self._silent = silent

    def build(self) -> Root:
        """Make the screens."""
        Window.bind(on_keyboard=self._on_key)
        return Root(self._phone, self._buzz, silent=self._silent)

    def on_pause(self) -> bool:
        """Stay alive in the background, with nothing gathered that is not written."""
        self.root.pause()
        return True

    def on_stop(self) -> None:
        """Write what is gathered; it may be called twice, or never."""
        Window.unbind(on_keyboard=self._on_key)
        if self.root is not None:
            self.root.stop()

    def open_settings(self, *_: object) -> bool:
        """Keep Kivy's own settings shut; the phone has its own."""
        return False

    def _on_key(self, _: object, key: int, *__: object) -> bool:
        if key == _BACK_KEY:
            self.root.back()
            return True
        return False
