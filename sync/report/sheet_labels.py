"""The next free number of a phone's labels.

Rule 1: a number is never proposed twice, whatever the season: a tag outlives it.
"""

import itertools
import re
from collections.abc import Iterator

from sync.register.build import Register


def label_from(register: Register, phone: str) -> int:
    """Give the number from which a phone may propose labels.

    Parameters
    ----------
    register : Register
        With every record known, also of after its day: a tag that is written is used.
    phone : str
        Phone code, as `p3`; its labels are `P3-014` and the like.

    Returns
    -------
    int
        One past the highest that any counting record names; 1 where none does.
    """
    own = re.compile(rf"\A{re.escape(phone.upper())}-0*([0-9]{{1,9}})\Z")
    found = (own.match(label) for label in _labels(register))
    return 1 + max((int(one.group(1)) for one in found if one), default=0)


def _labels(register: Register) -> Iterator[str]:
    events = register.events
    labels = itertools.chain(
        (bag.pile for bag in events.bags),
        (clip.label for clip in events.clips),
        (quadrat.clip for quadrat in events.quadrats),
        (one.record["name"] for one in events.marks if one.record["what"] == "pile"),
        events.batch_sources,
        (label for made_of in events.batch_sources.values() for _, label in made_of),
    )
    return (label for label in labels if label is not None)
