"""The pages that only tell something: WORDS, and WHO SEES MY LOCATION."""

from fieldapp.phone.footer import BACK
from fieldapp.phone.keys import NO_KEY, Act, Done, Key, Pressed, stay
from fieldapp.phone.pages import ChoiceShown
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, joined, raw, say
from fieldapp.words.catalogue import Words
from fieldapp.words.glossary import GLOSSARY
from fieldapp.words.safety import location_words

#: Cards on one page: of a word and a sentence; of a paragraph each, in the longer language too.
CARDS = 3
PARAGRAPHS = 2


class Told:
    """Cards of a word and a sentence, a few a page.

    Parameters
    ----------
    title : Say
        Of the page.
    cards : tuple of (Say, Say)
        Word and sentence.
    a_page : int
        Cards on one page.
    """

    def __init__(self, title: Say, cards: tuple[tuple[Say, Say], ...], *,
                 a_page: int = CARDS) -> None:
        self._title = title
        self._cards = cards
        self._a_page = a_page
        self._page = 0

    def shown(self) -> ChoiceShown:
        """Give the cards of this page."""
        first = self._page * self._a_page
        lines = [line for word, sentence in self._cards[first:first + self._a_page]
                 for line in (joined(word, raw(":"), by=""), sentence, raw(" "))]
        up = Key("up", say("UP")) if self._page else NO_KEY
        more = (self._page + 1) * self._a_page < len(self._cards)
        return ChoiceShown(self._title, (), (up, Key("down", say("DOWN")) if more else NO_KEY,
                                             BACK), tuple(lines[:-1]), columns=1)

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        by = {"up": -1, "down": 1}.get(pressed.name, 0)
        return NOTHING, lambda: self._turn(by)

    def back(self) -> Done:
        """Leave the page."""
        return Done("B0", "settings")

    def _turn(self, by: int) -> Done:
        pages = -(-len(self._cards) // self._a_page)
        self._page = max(0, min(pages - 1, self._page + by))
        return stay()


def glossary(phone: Phone) -> Told:
    """Make the page of the block's words."""
    return Told(say("WORDS"), tuple((say(word), say(sentence)) for word, sentence in GLOSSARY))


def privacy(phone: Phone) -> Told:
    """Make the page that says who sees the person's location."""
    words = Words(phone.settings.language, phone.zone)
    return Told(say("WHO SEES MY LOCATION"),
                tuple((raw(word), raw(sentence)) for word, sentence in location_words(words)),
                a_page=PARAGRAPHS)
