"""What would settle a flag, rule by rule, in words a person can act on.

Rule 1: nothing here decides; the owner rules.
"""

from collections.abc import Mapping
from types import MappingProxyType

_WORD = ("The pickers' own word, taken apart from each other: which side of the line was each "
         "group of bags filled on?")
_WALK = ("A walk over the ground with this map: cut moss may still show, and a peg or the "
         "line on a phone tells the side.")
_TRACK = "A track that is still on a phone: hand it over and the places are worked out anew."
_MEND = "If a bag was tallied in the wrong place, mend the record; a ruling moves no figure."

#: Of each rule, what would settle it.
_SETTLES: Mapping[str, tuple[str, ...]] = MappingProxyType({
    "early_pick": (_WORD, _WALK, _TRACK, _MEND),
    "closed_ground": (_WORD, _WALK, "The closure itself: was its line or its date what you meant?",
                      _MEND),
    "outside_block": (_WORD, "The outline: does it run where the ground is yours?", _WALK, _MEND),
    "over_pick": (
        "The lots of these bags weighed dry: until then kilos go by the mean bag.",
        ("The pickers' word of where the bags came from: bags of a neighbour cell are not this "
        "one's."),
        "A survey of the cell now: it tells what really stands, and the next figure goes by it.",
        _MEND),
    "stale_sheet": (
        "A new sheet each evening: hand over, and the phone takes it at once.",
        "The carrier's word, if a newer sheet was on the phone than its START says."),
    "weak_position": ("The cell, by the pickers' word: mend the bag with it.", _TRACK),
    "missing_records": ("The phone itself: hand over again. Else the paper count of that span.",),
    "short_bags": (
        "A count at both ends: of the tally at the pile, and of the bags at the shed.",
        "The pilot's and the foreman's word: was a sling set down, or a bag given away?",
        "If a count was written wrong, mend that record; a batch that took bags is to be noted."),
    "label_twice": (
        "A look at the tags of both things.",
        "Void the record that is wrong, or mend its label; the other then stands alone."),
    "clock_wrong": ("Set the phone's clock; its times are mended by the satellites' already.",),
})
_ANY = "What the sentence at the top says; then the records named here, and whoever made them."


def settled_by(rule: str) -> tuple[str, ...]:
    """Say what would settle a flag of a rule.

    Parameters
    ----------
    rule : str
        Any, a new one too.

    Returns
    -------
    tuple of str
        Sentences.
    """
    return _SETTLES.get(rule, (_ANY,))
