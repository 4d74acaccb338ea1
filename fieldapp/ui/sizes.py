"""Sizes of the screens: what a gloved thumb needs, and text read at arm's length.

Rule 1: lengths are dp (1/160 inch), text is sp; nothing smaller than `LEAST_TEXT` is shown.
Rule 2: every screen fits `SMALLEST`; extra height goes to its main part.
"""

#: Smallest usable area, width and height. [dp]
SMALLEST = (360, 568)
#: Left and right of all keys: case rim and palm. [dp]
MARGIN = 12
#: Between keys. [dp]
GAP = 8
STRIP = 32
TITLE = 28
BAND = 120
#: Key heights: the main key at least, ordinary, footer, rare. [dp]
MAIN_LEAST = 120
KEY = 76
FOOTER = 80
RARE = 64
#: Least widths of an ordinary key. [dp]
KEY_WIDE = 104
ICON_TILE = 36
ICON_STRIP = 22
#: Text. [sp]
LEAST_TEXT = 18
STRIP_TEXT = 18
SECOND_TEXT = 20
KEY_TEXT = 20
TITLE_TEXT = 24
BAND_TEXT = 32
PAD_TEXT = 40
COUNT_TEXT = 44
BAG_TEXT = 64
DISTANCE_TEXT = 56
HELP_TEXT = 28
HELP_RUNS_TEXT = 44
#: LARGE TEXT, for all but the pads' digits.
LARGE = 1.3
