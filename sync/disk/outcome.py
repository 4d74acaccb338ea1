"""What the owner says when files are taken, and what came of each."""

import dataclasses

from sync.intake.check import Aside


@dataclasses.dataclass(frozen=True)
class Options:
    """How the owner wants files taken: whose a receiver's is, and what is let through."""

    person: str | None = None
    role: str = "picker"
    unsealed: bool = False
    mend: bool = False


@dataclasses.dataclass(frozen=True)
class FileTaken:
    """What came of one file.

    Attributes
    ----------
    refused : str or None
        Why it was refused; then nothing of it was taken.
    aside : tuple of Aside
        Its lines that wait.
    from_form : bool
        Whether it is a form: its bad rows are told, and wait on the form itself.
    told : tuple of str
        What else the owner should know, one sentence each.
    """

    file: str
    new: int = 0
    known: int = 0
    aside: tuple[Aside, ...] = ()
    refused: str | None = None
    told: tuple[str, ...] = ()
    bad_photos: int = 0
    from_form: bool = False
