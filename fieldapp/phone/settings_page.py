"""SETTINGS: how the app looks, sounds and feels, and what is said of people's places.

Rule 1: none of it is a record; each press steps one setting and is kept at once.
"""

from fieldapp.phone.footer import BACK
from fieldapp.phone.keys import NO_KEY, Act, Done, Key, Pressed, opens, stay
from fieldapp.phone.pages import ChoiceShown
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, raw, say

_STEPS: dict[str, tuple[object, ...]] = {
    "language": ("en", "es"), "large_text": (False, True), "light": ("bright", "dusk"),
    "sound": (True, False), "buzz": (True, False), "hand": ("right", "left"),
    "rain_guard": ("auto", "on")}
_WORDS: dict[object, Say] = {
    "en": raw("English"), "es": raw("Español"), "bright": say("BRIGHT"), "dusk": say("DUSK"),
    "right": say("right"), "left": say("left"), "auto": say("auto"), "on": say("on"),
    True: say("on"), False: say("off")}
_ROWS: dict[str, Say] = {
    "language": say("LANGUAGE"), "large_text": say("LARGE TEXT"), "light": say("LIGHT"),
    "sound": say("SOUND"), "buzz": say("BUZZ"), "hand": say("HAND"),
    "rain_guard": say("RAIN GUARD")}


class SettingsPage:
    """The page of settings."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone

    def shown(self) -> ChoiceShown:
        """Give what the page shows now."""
        phone = self._phone
        keys = [Key(f"set {name}", text, sub=_WORDS[getattr(phone.settings, name)])
                for name, text in _ROWS.items()]
        keys += [Key("glossary", say("WORDS")), Key("privacy", say("WHO SEES MY LOCATION")),
                 Key("try", say("TRY A PRESS"))]
        told = raw(f"Fallow {phone.parts.program} · {phone.install.device}")
        return ChoiceShown(say("SETTINGS"), tuple(keys), (NO_KEY, NO_KEY, BACK), (told,))

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        word, _, name = pressed.name.partition(" ")
        if word == "set":
            return NOTHING, lambda: self._step(name)
        return NOTHING, opens(word)

    def back(self) -> Done:
        """Leave the page."""
        return Done("B0", "day")

    def _step(self, name: str) -> Done:
        steps = _STEPS[name]
        at = steps.index(getattr(self._phone.settings, name))
        self._phone.change(**{name: steps[(at + 1) % len(steps)]})
        if name in ("sound", "buzz"):
            return Done("B1")
        return stay()


class TryPress:
    """TRY A PRESS: three targets that write nothing."""

    def __init__(self, phone: Phone) -> None:
        self._hit = [0, 0, 0]

    def shown(self) -> ChoiceShown:
        """Give the targets, with how often each was hit."""
        keys = tuple(Key(f"hit {at}", say("PRESS HERE"), sub=raw(str(hits)), tone="main")
                     for at, hits in enumerate(self._hit))
        return ChoiceShown(say("TRY A PRESS"), keys, (NO_KEY, NO_KEY, BACK),
                           (say("Nothing is written here."),), columns=1)

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        return NOTHING, lambda: self._count(int(pressed.name.partition(" ")[2]))

    def back(self) -> Done:
        """Leave the page."""
        return Done("B0", "settings")

    def _count(self, at: int) -> Done:
        self._hit[at] += 1
        return stay()
