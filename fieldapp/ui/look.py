"""How this phone's screens look and speak: light, language, size of text, hand."""

import dataclasses
from collections.abc import Iterable
from datetime import UTC, date

from fieldapp.phone.keys import Tone
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import Say
from fieldapp.ui.palette import BRIGHT, DUSK, Palette, rgba
from fieldapp.ui.sizes import LARGE
from fieldapp.words import Words
from fieldapp.words.safety import safety_line
from fieldapp.words.tell import tell

Colour = tuple[float, float, float, float]


@dataclasses.dataclass(frozen=True)
class Look:
    """What every widget is handed.

    Attributes
    ----------
    palette : Palette
        BRIGHT or DUSK.
    words : Words
        The language.
    scale : float
        Of text.
    left : bool
        The left hand holds the phone: the footer is mirrored.
    """

    palette: Palette
    words: Words
    scale: float
    left: bool

    def tell(self, said: Say) -> str:
        """Say a message."""
        return tell(self.words, said)

    def lines(self, said: Iterable[Say]) -> str:
        """Say messages, one a line, leaving out the empty ones."""
        return "\n".join(line for line in map(self.tell, said) if line)

    def safety(self, day: date) -> str:
        """Give the safety line of a day."""
        return safety_line(self.words, day)

    def colour(self, name: str) -> Colour:
        """Give a colour of the palette by its name there."""
        return rgba(getattr(self.palette, name))

    def face(self, tone: Tone, *, pressed: bool) -> tuple[Colour, Colour]:
        """Give a key's face and ink; a key that was just pressed is inverted."""
        face, ink = _TONES[tone]
        pair = self.colour(face), self.colour(ink)
        return (pair[1], pair[0]) if pressed else pair


_TONES: dict[Tone, tuple[str, str]] = {
    "plain": ("key", "key_ink"), "main": ("bag", "bag_ink"), "framed": ("paper", "ink"),
    "look": ("look", "look_ink"), "trouble": ("trouble", "trouble_ink"),
    "lit": ("ink", "paper"), "faint": ("paper", "soft")}


#: Until a widget is told its own.
PLAIN = Look(BRIGHT, Words("en", UTC), 1.0, left=False)


def look_of(phone: Phone) -> Look:
    """Give the look that a phone's settings ask for."""
    settings = phone.settings
    return Look(DUSK if settings.light == "dusk" else BRIGHT,
                Words(settings.language, phone.zone), LARGE if settings.large_text else 1.0,
                settings.hand == "left")
