"""How often a command looks for rubbish among what it made.

Nearly all of what a register is made of stays as long as the register. Python by itself looks it
through from 700 new objects on, again and again, which took a fifth of a register's time.
"""

import gc

#: Of new objects that may hold others: so many until the youngest are looked through, and how
#: often that is done until the middle and the oldest are too. Own choice: a register of ten
#: seasons makes some three million, one more hand-over a few hundred thousand, and hardly a ring
#: is among them, which alone is rubbish here.
_FOR_HOURS = (500_000, 10, 10)
_ONCE = (5_000_000, 50, 1000)


def look_seldom(*, for_hours: bool) -> None:
    """Look for rubbish seldom.

    Parameters
    ----------
    for_hours : bool
        Whether the command runs until somebody stops it; one that ends by itself leaves what is
        old alone.
    """
    gc.set_threshold(*(_FOR_HOURS if for_hours else _ONCE))
