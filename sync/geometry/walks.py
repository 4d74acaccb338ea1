"""What each walk of a block tells, asked once for all its presses.

Rule 1: what a walk told is remembered by the sum of its points, of what was asked and of the
ground.
Rule 2: a person's own phone tells first, then another receiver that went along.
Rule 3: a walk whose points are gone tells what was written down of it.
Rule 4: nothing is read of a walk before somebody asks for it.
"""

import dataclasses
import hashlib
from collections.abc import Callable, Iterator, Mapping
from datetime import date

import numpy as np

from sync.geometry.asking import Askings, Whose
from sync.geometry.crs import Projection
from sync.geometry.fresh import Piece
from sync.geometry.gathered_bytes import Swaths
from sync.geometry.gathering import Gathering, swaths_of
from sync.geometry.ground import Ground
from sync.geometry.outings import Name
from sync.geometry.pressed import Asking, Presses
from sync.geometry.trace_bytes import from_bytes, to_bytes
from sync.geometry.traces import OnGround, Span, Told, Trace, told_of_parts
from sync.geometry.tracing import Asked, days_about, trace_of
from sync.geometry.walk import Trodden, Walk, Walks
from sync.geometry.words import Heeded
from sync.intake.memo import Memo, NoMemo
from sync.settings import Tunables

__all__ = ["Trodden", "Walk", "Walkers"]

#: Grows when what is remembered is worked out in another way.
_FORM = 4


class Walkers:
    """All walks of a block, each brought to the ground once.

    Parameters
    ----------
    trodden : Trodden
        Presses, outings and tracks.
    ground_of : callable
        Ground of a local day.
    projection : Projection
        The block's.
    tunables : Tunables
        What a picking fix is.
    zone : str
        The block's time zone.
    memo : Memo, optional
        Remembers what walks told.
    sweeps : bool
        Whether the swept ground is wanted.
    before : Walkers, optional
        Those of a register built before of the same block, tunables and grounds: walks of which
        all is the same tell the very same again.
    """

    def __init__(
        self,
        trodden: Trodden,
        ground_of: Callable[[date], Ground],
        projection: Projection,
        tunables: Tunables,
        *,
        zone: str = "UTC",
        memo: Memo | None = None,
        sweeps: bool = True,
        before: "Walkers | None" = None,
    ) -> None:
        self._ground_of = ground_of
        self._projection = projection
        self._tunables = tunables
        self._zone = zone
        self._memo = memo or NoMemo()
        self._walks: Walks = Walks(trodden, None if before is None else before._walks)
        self._askings: Askings = Askings(
            trodden.bags, self._walks, one_tally_s=tunables.one_tally_s, sweeps=sweeps,
            before=None if before is None else before._askings)
        self._made_of = hashlib.sha256(
            repr((_FORM, zone, projection.epsg, dataclasses.astuple(tunables))).encode())
        self._traces: dict[Name, tuple[Walk, Asked, Trace]] = {}
        self._swept: dict[Name, tuple[Walk, Swaths]] = {}
        self._gathering: Gathering | None = None
        if before is not None:
            # Copies: a page may ask the register before for one more at any time.
            self._traces = {name: known for name, known in before._traces.copy().items()
                            if self._walks.is_known(known[0])}
            self._swept = {name: known for name, known in before._swept.copy().items()
                           if self._walks.is_known(known[0])}
        elif trodden.made_of and sweeps:
            self._gathering = Gathering(
                trodden, self._walks,
                {whose: each.bags for whose, each in self._askings.presses.items()}, ground_of,
                self._made_of.digest(), self._memo)
            self._swept = {name: (self._walks.named(name), each)
                           for name, each in self._gathering.swept.items()}

    @property
    def presses(self) -> Mapping[Whose, Presses]:
        """What all presses ask, by picker and phone."""
        return self._askings.presses

    @property
    def heeded(self) -> Mapping[Whose, Heeded]:
        """What is remembered of presses, by picker and phone."""
        return {} if self._gathering is None else self._gathering.heeded

    def gather(self, heeded: Mapping[Whose, Heeded]) -> None:
        """Remember what all walks told of the presses of each phone, where that is not.

        Parameters
        ----------
        heeded : mapping of (str, str) to Heeded
            All presses, by picker and phone.
        """
        if self._gathering is not None:
            self._gathering.keep(heeded, self.swaths)

    def told(self, asking: Asking) -> Told | None:
        """Give what the picking time since the bag before tells; None without a track."""
        for walk, span in asking.spans:
            told = self._told(walk, span)
            if told is not None:
                return told
        return None

    def fix(self, asking: Asking) -> OnGround | None:
        """Give where the phone of a press was by its own track; None without one."""
        for walk in asking.own:
            fix = self.trace(walk).fixes.get(asking.at_ms) or _written_fix(walk, asking.at_ms)
            if fix is not None:
                return fix
        return None

    def walks(self) -> Iterator[Walk]:
        """Give every walk, by person, start and device."""
        return iter(self._walks)

    def trace(self, walk: Walk) -> Trace:
        """Give what the points of a walk tell that are still there."""
        asked = self._askings.asked(walk)
        known = self._traces.get(walk.name)
        if known is None or known[1] is not asked:
            known = walk, asked, self._remembered(walk, asked)
            self._traces[walk.name] = known
        return known[2]

    def swaths(self, walk: Walk) -> Swaths:
        """Give the sums of the ground that a walk swept, by day and cell."""
        known = self._swept.get(walk.name)
        if known is None:
            known = walk, swaths_of(self.trace(walk).swept)
            self._swept[walk.name] = known
        return known[1]

    def pieces(self) -> Iterator[Piece]:
        """Give the ground that each walk swept, by cell and day."""
        for walk in self.walks():
            for (day, cell), total in self.swaths(walk).items():
                yield Piece(cell, day, walk.name, total)
            for one in walk.gone:
                for (day, cell), m2 in one.swept_m2.items():
                    yield Piece(cell, day, walk.name, None, m2)

    def ground_of_piece(self, piece: Piece) -> bytes:
        """Give the ground of a piece with points, as WKB. [m]."""
        return self.trace(self._walks.named(piece.walk)).swept[piece.day, piece.cell]

    def _told(self, walk: Walk, span: Span) -> Told | None:
        own = self.trace(walk).told(span)
        if not walk.gone:
            return own
        known = [told for told in (own, *(gone.trace.told(span) for gone in walk.gone))
                 if told is not None]
        if known:
            return max(known, key=lambda told: told.seconds)
        spells = {one: said for gone in walk.gone for one, said in gone.trace.spells.items()}
        return told_of_parts(spells, span)

    def _remembered(self, walk: Walk, asked: Asked) -> Trace:
        if walk.track.is_empty:
            return Trace({}, {})
        key = self._key(walk, asked)
        known = None if key is None else self._memo.read(key, from_bytes)
        if known is not None:
            return known
        # A stretch of its own: what is read of it is let go of again.
        track = walk.track.within(-np.inf, np.inf)
        trace = trace_of(track, asked, self._ground_of, self._projection, self._tunables,
                         zone=self._zone)
        if key is not None:
            self._memo.put(key, to_bytes(trace))
        return trace

    def _key(self, walk: Walk, asked: Asked) -> str | None:
        """Sum up all that a trace is made of; None where the ground has no sum."""
        days = sorted({*asked.spells.values(), *days_about(walk.track.about_ms)})
        grounds = [(day.isoformat(), self._ground_of(day).maps) for day in days]
        if any(not maps for _, maps in grounds):
            return None
        total = self._made_of.copy()
        total.update(
            repr((asked.sweeps, grounds, len(asked.spells), len(asked.fixes))).encode())
        total.update(np.array([(*span, day.toordinal()) for span, day in asked.spells.items()],
                              dtype=np.float64).tobytes())
        total.update(np.array(asked.fixes, dtype=np.float64).tobytes())
        total.update(walk.track.made_of)
        return "walk:" + total.hexdigest()


def _written_fix(walk: Walk, at_ms: float) -> OnGround | None:
    found = (gone.trace.fixes.get(at_ms) for gone in walk.gone)
    return next((fix for fix in found if fix is not None), None)
