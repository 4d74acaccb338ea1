"""The errors of the shed, by whose fault they are.

Rule 1: a message names the value and says what to do.
Rule 2: `IntakeError` and `SurveyError` refuse one thing and let the rest go on; the others stop
the command.
"""

from collections.abc import Sequence


class FallowError(Exception):
    """Any refusal that a person at the shed should read."""


class IntakeError(FallowError):
    """A file from outside is not what it says it is; it is refused and changes nothing."""


class SurveyError(FallowError):
    """Sound data that cannot carry the claim asked of it; the figure is refused, not the run."""


class GeometryError(FallowError):
    """An outline, a map or a coordinate system that cannot serve as ground."""


class SettingsError(FallowError):
    """Mistakes in what the owner wrote, all of them at once.

    Parameters
    ----------
    mistakes : sequence of str
        One sentence each, with file, key and value.
    """

    def __init__(self, mistakes: Sequence[str]) -> None:
        super().__init__("\n".join(mistakes))
        self.mistakes = tuple(mistakes)


class DiskError(FallowError):
    """The block folder cannot be read or written."""
