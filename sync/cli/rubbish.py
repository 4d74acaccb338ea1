"""How often a command looks for rubbish among what it made.

Nearly all of what a register is made of stays as long as the register. Python by itself looks it
through from 700 new objects on, again and again, which took a fifth of a register's time.
"""

import gc

#: Of new objects that may hold others: so many until the youngest are looked through.
_YOUNGEST = 100_000


def look_seldom(*, for_hours: bool) -> None:
    """Look for rubbish seldom.

    Parameters
    ----------
    for_hours : bool
        Whether the command runs until somebody stops it; one that ends by itself leaves what is
        old alone.
    """
    gc.set_threshold(_YOUNGEST, *((10, 10) if for_hours else (50, 1000)))
