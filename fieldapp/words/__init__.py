"""What the phone says, in the language of whoever carries it.

This is the one door to its sentences (`catalogue`, `tell`); how figures are written is `figures`,
what the band says of the ground is `ground_words`, pages of words are `glossary` and `safety`.
"""

from fieldapp.words.catalogue import LANGUAGES, Words, message
from fieldapp.words.tell import tell

__all__ = ["LANGUAGES", "Words", "message", "tell"]
