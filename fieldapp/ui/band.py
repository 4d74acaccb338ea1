"""The band: where am I, may I pick here; state, pattern, icon and words together."""

from kivy.properties import (
    BooleanProperty,
    ColorProperty,
    NumericProperty,
    ObjectProperty,
    StringProperty,
)
from kivy.uix.floatlayout import FloatLayout

from fieldapp.ground import Answer, Sheet
from fieldapp.phone.keys import NO_KEY, Key
from fieldapp.ui import icons, line, pattern
from fieldapp.ui.kv import load_kv
from fieldapp.ui.look import PLAIN, Colour, Look
from fieldapp.ui.palette import rgba
from fieldapp.words.ground_words import BandWords, band_words

__all__ = ["Band", "icons", "line", "pattern"]
load_kv("band")


class Band(FloatLayout):
    """The band; a press of it opens the map.

    Attributes
    ----------
    answer : Answer or None
        From the sheet; None without one.
    sheet : Sheet or None
        For its day.
    paused, picker : bool
        Location is off; a picker carries the phone.
    key : Key
        As which it is pressed; none on the map itself.
    look : Look
        In which light and language.
    """

    answer: Answer | None = ObjectProperty(None, allownone=True, rebind=True)
    sheet: Sheet | None = ObjectProperty(None, allownone=True, rebind=True)
    paused: bool = BooleanProperty(False)
    picker: bool = BooleanProperty(True)
    pressed: bool = BooleanProperty(False)
    key: Key = ObjectProperty(NO_KEY, rebind=True)
    look: Look = ObjectProperty(PLAIN, rebind=True)
    kind: str = StringProperty("no_sheet")
    said: BandWords = ObjectProperty(BandWords("", ""), rebind=True)
    ink: Colour = ColorProperty((0, 0, 0, 1))
    progress: float = NumericProperty(0.0)
    told: str = StringProperty("")

    @staticmethod
    def kind_of(answer: Answer | None, *, paused: bool) -> str:
        """Give the state that the pattern shows."""
        return "cannot_tell" if paused else "no_sheet" if answer is None else answer.band

    @staticmethod
    def ink_of(look: Look, kind: str) -> Colour:
        """Give the colour of words on a state's fill: the one of black and white that reads."""
        fill = look.palette.fills[kind].fill  # type: ignore[index]
        red, green, blue, _ = rgba(fill)
        return (1, 1, 1, 1) if red + green + blue < 1.2 else (0, 0, 0, 1)

    @staticmethod
    def words_of(look: Look, answer: Answer | None, sheet: Sheet | None, *, paused: bool,
                 picker: bool) -> BandWords:
        """Give the word and the second line."""
        if paused:
            return BandWords(look.words("PAUSED"), look.words("location off"))
        made_at = None if sheet is None else sheet.made_at
        said = band_words(look.words, answer, picker=picker, sheet_made_at=made_at)
        return BandWords(said.word, said.second.replace(" · ", "\n"))
