"""What is said about safety, and about people's location.

Rule 1: a safety line is a reminder, never a claim that the program keeps anyone safe; local codes,
the pilot and licensed practice decide.
Rule 2: what is said of location is what the program does, no less.
"""

from datetime import date

from fieldapp.words.catalogue import Words, message

_SAFETY = (
    message("Gloves and sleeves; a sore that will not heal, tell the doctor \"sphagnum\"."),
    message("Probe before you step; near pools stay in sight of each other."),
    message("This phone calls nobody; carry the beacon."),
    message("Never under a load, never on the load or the chain; the pilot decides."),
    message("Full wet bags are for two; the published lifting formula does not cover this "
            "ground."),
    message("Stop when cold."),
)
#: Title and text, both messages.
_LOCATION = (
    (message("WHAT FOR"),
     message("To see which ground was picked, and to find you.")),
    (message("WHEN"),
     message("From START to END, not while paused. What you note keeps its place, and so does a "
             "call for help. A path beyond the block and 100 m around it is not kept; a phone "
             "with no sheet cannot know, and keeps it.")),
    (message("WHO SEES IT"),
     message("The owner, at the shed. No other phone shows where you are. Nothing shows your "
             "pace, your pauses or a rank; your path is shown only where a flag rests on it.")),
    (message("HOW LONG"),
     message("This phone lets go of your path after two weeks, once the shed has it; all else it "
             "keeps until the app is removed or its data wiped. The shed keeps what it was "
             "handed. When it deletes your path, the owner decides: ask.")),
    (message("SEE IT, MEND IT"),
     message("DAY, HISTORY shows what this phone holds on you; undo or mend it there. MY DATA "
             "gives you a copy. For what the shed holds, ask the owner.")),
)


def safety_line(words: Words, day: date) -> str:
    """Give the line of a day: each in turn.

    Parameters
    ----------
    words : Words
        The language.
    day : date
        The block's day.

    Returns
    -------
    str
        The same all day, another on the next.
    """
    return words(_SAFETY[day.toordinal() % len(_SAFETY)])


def location_words(words: Words) -> tuple[tuple[str, str], ...]:
    """Say who sees a person's location: title and text of each paragraph."""
    return tuple((words(title), words(text)) for title, text in _LOCATION)
