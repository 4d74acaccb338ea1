"""Letting go of tracks on disk: after their season, once every flag on them is ruled.

Rule 1: the register is built without the points before any is let go of; if a byte of it moved,
nothing is let go of.
Rule 2: what goes is overwritten and the file compacted; no copy stays behind in the folder.
"""

import dataclasses
import json
from datetime import date, datetime, timedelta
from pathlib import Path

from fieldapp.record import canonical
from sync.block import Block, season_end
from sync.disk.journal import ShedJournal
from sync.disk.load import load_inputs, today_in
from sync.disk.memo import forget
from sync.flags.on_tracks import seasons_kept
from sync.flags.raised import flags_of
from sync.intake.check import Held
from sync.register.build import Inputs, build
from sync.register.thinning import Thinning, thinning_of
from sync.report.document import register_document, register_json
from sync.settings import Tunables


@dataclasses.dataclass(frozen=True)
class Thinned:
    """What came of a thinning.

    Attributes
    ----------
    seasons : tuple of int
        Whose tracks were let go of.
    records, points : int
        How many.
    kept : tuple of (int, tuple of str)
        Seasons that are over but whose tracks open flags rest on.
    moved : bool
        True if the register would have moved, so that nothing was let go of.
    """

    seasons: tuple[int, ...] = ()
    records: int = 0
    points: int = 0
    kept: tuple[tuple[int, tuple[str, ...]], ...] = ()
    moved: bool = False


def is_due(folder: Path, block: Block, tunables: Tunables, *, now: datetime) -> bool:
    """Say, without building a register, whether any track may be old enough to go."""
    with ShedJournal(folder) as journal:
        oldest = journal.oldest_points()
    if oldest is None:
        return False
    # A phone's clock may be behind: a day too early asks once too often, no more.
    ended = season_end(oldest, block.season_start)
    return today_in(block, now) > ended + timedelta(days=tunables.track_keep_days)


def thin(folder: Path, inputs: Inputs, *, now: datetime, on: date | None = None) -> Thinned:
    """Let go of the tracks whose time is over.

    Parameters
    ----------
    folder : Path
        The block folder.
    inputs : Inputs
        All that is known.
    now : datetime
        UTC.
    on : date, optional
        The day to judge by; today by default, a later one is not believed.

    Returns
    -------
    Thinned
        What went, and what stays and why.

    Raises
    ------
    DiskError
        If the journal cannot be written; then nothing went.
    """
    if inputs.tracks.by_device:  # what goes must be read
        inputs = load_inputs(folder, tracks_apart=False)
    today = today_in(inputs.block, now)
    today = today if on is None else min(on, today)
    register = build(inputs, on=today)
    flags = flags_of(register)
    plan = thinning_of(register, inputs.held, seasons_kept(register, flags), today)
    if not plan.bodies:
        return Thinned(kept=plan.kept)
    if register_json(register_document(register, flags)) != _without_points(inputs, plan, today):
        return Thinned(plan.seasons, kept=plan.kept, moved=True)
    # Before and after, whenever the power goes; what another keeps in between is of before, and
    # goes with the next register.
    forget(folder)
    try:
        with ShedJournal(folder) as journal:
            journal.thin({key: canonical(body) for key, body in plan.bodies.items()})
    finally:  # points may be gone though the file could not be compacted
        forget(folder)
    return Thinned(plan.seasons, len(plan.bodies), plan.points, plan.kept)


def _without_points(inputs: Inputs, plan: Thinning, today: date) -> str:
    """Give the register as it will be."""
    held = [
        dataclasses.replace(one, record=plan.bodies.get((one.name, one.total), one.record))
        for one in inputs.held
    ]
    register = build(dataclasses.replace(inputs, held=_through_disk(held), memo=None), on=today)
    return register_json(register_document(register, flags_of(register)))


def _through_disk(held: list[Held]) -> tuple[Held, ...]:
    """Read each thinned record as it will be read from disk."""
    return tuple(
        dataclasses.replace(one, record=json.loads(canonical(one.record)))
        if one.record.get("thinned") is not None else one
        for one in held)
