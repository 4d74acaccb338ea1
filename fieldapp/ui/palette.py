"""The colours of the phone in two lights, and how well they can be told apart.

Rule 1: BRIGHT is for the day, black on white; DUSK is for the dark, light on black.
Rule 2: a colour named `x_ink` is read on the one named `x`; ink, soft and trouble also on paper.
Rule 3: hue alone never tells a state: its pattern and its word stand beside it.
"""

import dataclasses
import math
from collections.abc import Mapping
from types import MappingProxyType

from fieldapp.ground import Band
from fieldapp.ground.patterns import LOOKS, Look

_BLACK, _WHITE = "#000000", "#FFFFFF"
#: Luminance of a phone's white at full brightness; common practice, no source. [cd/m²]
SCREEN_CD_M2 = 500.0
#: Share of daylight that a screen throws back, 4 to 6 %; common practice, no source.
REFLECTED = 0.05


@dataclasses.dataclass(frozen=True)
class Palette:
    """The colours of one light, each as `#rrggbb`.

    Attributes
    ----------
    ink, paper, soft : str
        Words and borders; what they stand on; second lines.
    look, look_ink : str
        Strips and keys that ask for a look.
    trouble, trouble_ink : str
        Panels of trouble; `trouble` is read on paper too.
    key, key_ink : str
        Ordinary keys, framed in `key_ink`.
    bag, bag_ink : str
        The main key.
    me, me_ring, me_edge : str
        The disc of one's own place, the ring about it, and the thin ring about that.
    fills : mapping of Band to Look
        Fill, pattern and ink of each state of the ground.
    """

    ink: str
    paper: str
    soft: str
    look: str
    look_ink: str
    trouble: str
    trouble_ink: str
    key: str
    key_ink: str
    bag: str
    bag_ink: str
    me: str
    me_ring: str
    me_edge: str
    fills: Mapping[Band, Look]


def _by_dusk(band: Band, look: Look) -> Look:
    """Turn a state's colour into ink on black; ready ground alone stays a solid field."""
    if band == "ready":
        return look
    return Look(_BLACK, look.pattern, _WHITE if look.fill == _BLACK else look.fill)


BRIGHT = Palette(
    ink=_BLACK, paper=_WHITE, soft="#404040",
    look=LOOKS["outside"].fill, look_ink=_BLACK, trouble="#A30000", trouble_ink=_WHITE,
    key=_WHITE, key_ink=_BLACK, bag=_BLACK, bag_ink=_WHITE,
    me="#004C80", me_ring=_WHITE, me_edge=_BLACK, fills=LOOKS)

DUSK = Palette(
    ink=_WHITE, paper=_BLACK, soft="#CFCFCF",
    look=LOOKS["outside"].fill, look_ink=_BLACK, trouble="#FF8A80", trouble_ink=_BLACK,
    key=_BLACK, key_ink=_WHITE, bag=_WHITE, bag_ink=_BLACK,
    me="#004C80", me_ring=_WHITE, me_edge=_BLACK,
    fills=MappingProxyType({band: _by_dusk(band, look) for band, look in LOOKS.items()}))


def rgba(colour: str, alpha: float = 1.0) -> tuple[float, float, float, float]:
    """Give a colour as a canvas takes it.

    Parameters
    ----------
    colour : str
        `#rrggbb`.
    alpha : float
        How solid, 0 to 1.

    Returns
    -------
    tuple of float
        Red, green, blue and alpha, each 0 to 1.
    """
    red, green, blue = (int(colour[at:at + 2], 16) / 255 for at in (1, 3, 5))
    return red, green, blue, alpha


def luminance(colour: str) -> float:
    """Give a colour's luminance against that of white.

    Parameters
    ----------
    colour : str
        `#rrggbb`, sRGB.

    Returns
    -------
    float
        0 for black to 1 for white.

    References
    ----------
    .. [1] W3C, *Web Content Accessibility Guidelines 2.2*, 2023, "relative luminance".
    """
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in rgba(colour)[:3])
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(a: str, b: str) -> float:
    """Give the contrast ratio of two colours, indoors.

    Parameters
    ----------
    a, b : str
        `#rrggbb`, in either order.

    Returns
    -------
    float
        1 for equal ones to 21 for black and white.

    References
    ----------
    .. [1] W3C, *Web Content Accessibility Guidelines 2.2*, 2023, "contrast ratio".
    """
    dark, light = sorted((luminance(a), luminance(b)))
    return (light + 0.05) / (dark + 0.05)


def contrast_in_sun(a: str, b: str, lux: float, *, white_cd_m2: float = SCREEN_CD_M2) -> float:
    """Give the luminance ratio of two colours that is left in daylight.

    Parameters
    ----------
    a, b : str
        `#rrggbb`, in either order.
    lux : float
        Daylight on the screen: about 10 000 overcast, 30 000 bright, 100 000 in direct sun. [lx]
    white_cd_m2 : float
        The screen's white. [cd/m²]

    Returns
    -------
    float
        1 where nothing can be told.

    Notes
    -----
    The screen throws back `REFLECTED` of the light as a matt surface does, lux/pi, over both
    colours alike; derived.
    """
    back = REFLECTED * lux / math.pi
    dark, light = sorted((luminance(a), luminance(b)))
    return (light * white_cd_m2 + back) / (dark * white_cd_m2 + back)
