"""The one file being sent: kept until the shed holds it, so that the same bytes are resumed.

Rule 1: it is on disk before its first byte is sent.
Rule 2: a file that is damaged, of another block, or sealed with a former key is dropped; its
records are in the journal.
"""

import dataclasses
from collections.abc import Iterable
from pathlib import Path

from fieldapp.device.files import write_safely
from fieldapp.device.link.line import Who
from fieldapp.handover import HandoverError, Manifest, expected_seqs, seal_fits, unpack


@dataclasses.dataclass(frozen=True)
class Pending:
    """The place of one device's file.

    Attributes
    ----------
    path : Path
        The file; its folder exists.
    who : Who
        Whose.
    """

    path: Path
    who: Who

    def keep(self, data: bytes) -> bytes:
        """Put a file there, and give it back.

        Raises
        ------
        OSError
            If it could not be written.
        """
        write_safely(self.path, data, private=True)
        return data

    def drop(self) -> None:
        """Let go of the file; one that is not there is no mistake."""
        self.path.unlink(missing_ok=True)

    def left(self, held: Iterable[tuple[int, int]]) -> bytes | None:
        """Give the file that a former try left, unless the shed holds all of it.

        Parameters
        ----------
        held : iterable of (int, int)
            What the shed is known to hold, as spans apart from each other.

        Returns
        -------
        bytes or None
            The same bytes as then; None if there is none of use, and then the file is gone.
        """
        try:
            data = self.path.read_bytes()
            manifest = unpack(data).manifest
        except (FileNotFoundError, HandoverError):
            manifest = None
        if manifest is not None and self._is_ours(manifest) and not _all_held(manifest, held):
            return data
        self.drop()
        return None

    def _is_ours(self, manifest: Manifest) -> bool:
        return (manifest.device, manifest.block) == (self.who.device, self.who.block) and (
            seal_fits(manifest, self.who.key))


def _all_held(manifest: Manifest, held: Iterable[tuple[int, int]]) -> bool:
    spans = tuple(held)
    return all(any(first <= numbers[0] and numbers[-1] <= last for first, last in spans)
               for numbers in expected_seqs(manifest))
