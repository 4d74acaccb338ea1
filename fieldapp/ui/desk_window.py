"""The app in a window on a desk, where one pointer stands for one thumb."""

from kivy.config import Config
from kivy.core.window import Window

from fieldapp.device.buzz import Buzz
from fieldapp.phone.phone import Phone
from fieldapp.ui.app import FieldApp

_POINTER = "mouse"


def has_window() -> bool:
    """Say whether a window could be opened."""
    return Window is not None


def run_app(phone: Phone, buzz: Buzz) -> None:
    """Run until the window is closed, or the person stops it from the terminal.

    Parameters
    ----------
    phone : Phone
        Whose screens; its owner closes it.
    buzz : Buzz
        Its motor.
    """
    # A touch screen that is read by its device file too would give every contact twice.
    for name, _ in Config.items("input"):
        if name != _POINTER:
            Config.remove_option("input", name)
    app = FieldApp(phone, buzz)
    try:
        app.run()
    except KeyboardInterrupt:
        app.stop()
