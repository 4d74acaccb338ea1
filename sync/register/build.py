"""The block register: a pure function of block, settings, records, and the day asked about.

Rule 1: the same inputs give the same figures, whatever order the records came in.
Rule 2: everything here is at full precision; rounding belongs to `sync.report`.
Rule 3: arrival times play no part; what came after `known_by` is left out by the caller.
"""

import dataclasses
import hashlib
from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Any

from fieldapp.record import canonical
from sync.block import Block, bag_kg_on
from sync.crop.befores import Befores
from sync.crop.block_total import BlockTotal, crop_total, long_run_yearly_kg
from sync.crop.chain import CellCrop, Crop, chain
from sync.crop.kept import Kept, Remembered
from sync.crop.known import Known
from sync.crop.today import CellToday, cell_today
from sync.geometry.bags import Trodden, in_order, tread
from sync.geometry.crs import projection
from sync.geometry.grid import cell_of
from sync.geometry.ground import CellGround, Ground, Hold
from sync.geometry.grounds import Grounds
from sync.intake.again import Again
from sync.intake.check import Aside, Held
from sync.intake.events import events_of
from sync.intake.heads import NO_TRACKS, Tracks
from sync.intake.holes import Hole, holes_in
from sync.intake.memo import Memo
from sync.intake.merge import Merged, merge
from sync.intake.seen import ClipSeen, Events, QuadratSeen
from sync.intake.sums import Sums, records_sum
from sync.picks.once import Once
from sync.picks.presses import with_groups
from sync.picks.sources import weighed_lots
from sync.register.caps import block_may_take_kg
from sync.register.complete import incomplete_cells
from sync.register.permits import PermitToday, permits_today
from sync.settings import Tunables
from sync.survey.clip_join import join_clips
from sync.survey.readings import readings_of

#: A clip may be weighed so long after its quadrat. [days]
_CLIP_DAYS = 183


@dataclasses.dataclass(frozen=True)
class Inputs:
    """What a register is made of.

    Attributes
    ----------
    held : sequence of Held
        Every sound record known.
    aside : sequence of Aside
        Every line that waits.
    program : str
        Version of the program.
    known_by : datetime or None
        The time by which all of that was known; None is now.
    memo : Memo or None
        Remembers what walks told; no figure changes by it.
    tracks : Tracks
        Plain tracks that are not read, and are not among `held`.
    records_sum : str or None
        Sum of all names and sums, where it is known already.
    again : Again or None
        What was counted and seen for the register before; no figure changes by it.
    sums : Sums or None
        Of all records of each device, where they are known already; no figure changes by it.
    """

    block: Block
    tunables: Tunables
    held: Sequence[Held]
    aside: Sequence[Aside]
    program: str
    known_by: datetime | None = None
    memo: Memo | None = dataclasses.field(default=None, compare=False, repr=False)
    tracks: Tracks = NO_TRACKS
    records_sum: str | None = None
    again: Again | None = dataclasses.field(default=None, compare=False, repr=False)
    sums: Sums | None = dataclasses.field(default=None, compare=False, repr=False)


@dataclasses.dataclass(frozen=True)
class Register:
    """The block register on a day.

    Attributes
    ----------
    sums : mapping of str to str
        What it was made of: sums of block, settings and records, and the program's version.
    cells : mapping of str to CellToday
        By column and row.
    incomplete : frozenset of str
        Cells whose last pick has a hole in it.
    nowhere : tuple of str
        Quadrats that no cell could be found for.
    waiting : mapping of str to str
        Clips that wait, by label, and why.
    """

    block: Block
    tunables: Tunables
    on: date
    known_by: datetime | None
    sums: Mapping[str, str]
    merged: Merged
    events: Events
    holes: tuple[Hole, ...]
    known: Known
    grounds: Grounds
    crop: Crop
    cells: Mapping[str, CellToday]
    total: BlockTotal | None
    long_run_kg: float | None
    permits: tuple[PermitToday, ...]
    may_take_kg: float | None
    incomplete: frozenset[str]
    nowhere: tuple[str, ...]
    waiting: Mapping[str, str]


def build(inputs: Inputs, *, on: date, kept: Kept | None = None) -> Register:
    """Build the register of a day.

    Parameters
    ----------
    inputs : Inputs
        Block, settings and records.
    on : date
        Local day; what happened after it is left out, what was learned later about it is not.
    kept : Kept, optional
        What registers built before were made of; no figure changes by it.

    Returns
    -------
    Register
        At full precision.

    Raises
    ------
    GeometryError
        If the block's maps cannot serve as ground.
    """
    block, tunables = inputs.block, inputs.tunables
    merged = merge(
        inputs.held, inputs.aside, zone=block.zone, clock_off_s=tunables.clock_off_s,
        aliases=aliases_of(block), tracks=inputs.tracks, again=inputs.again,
        sums=None if inputs.sums is None else inputs.sums.of(inputs.held, inputs.tracks),
        memo=inputs.memo, program=inputs.program,
    )
    events = events_of(
        merged.by_kind, season_start=block.season_start, tracks=merged.tracks,
        again=inputs.again)
    grounds = Grounds(block, projection(block.epsg), _holds(events), tunables)
    ground = grounds.on(on)
    remembered = (kept or Kept()).of(block, tunables)
    known, nowhere, waiting = _known(
        inputs, events, merged.made_of, grounds, ground, remembered)
    crop = chain(known, ground, until=on)
    befores = Befores(known)

    def cell_before(cell: str) -> Callable[[date], CellCrop | None]:
        return lambda day: befores.cell(
            cell, ground, until=day - timedelta(days=1), rules_of=day)

    cells = {
        name: cell_today(
            crop.cells[name], one, known.finished.get(name, ()), block, tunables,
            cell_before(name), on=on,
            later=lambda day, name=name: _ground_of(grounds, name, day),  # type: ignore[misc]
        )
        for name, one in ground.cells.items()
    }
    holes = holes_in(merged.numbers, merged.times, events.bags, inputs.again)
    permits = permits_today(known, events, crop, cells, grounds, on=on)
    measured = [name for name, one in crop.cells.items() if is_measured(one.readings)]
    return Register(
        block, tunables, on, inputs.known_by, sums_of(inputs, remembered), merged, events, holes,
        known, grounds, crop, cells, crop_total(crop, measured), long_run_yearly_kg(crop), permits,
        block_may_take_kg(cells, ground, permits, block), incomplete_cells(
            cells, known.placed, holes, block.zone, on=on,
            least_bags=tunables.least_bags_a_day), nowhere, waiting,
    )


def by_itself(register: Register) -> Register:
    """Give a register that shares nothing of what it keeps with those built after it.

    Parameters
    ----------
    register : Register
        As it was built.

    Returns
    -------
    Register
        The same. What is asked of it later, by others than its builder, it works out anew.
    """
    kept = Remembered()
    return dataclasses.replace(
        register, known=dataclasses.replace(register.known, kept=kept),
        crop=dataclasses.replace(register.crop, kept=kept))


def is_measured(readings: Sequence[Any]) -> bool:
    """Say whether a cell has quadrats of its own that say something."""
    return any(r.index is not None and r.reading.when != "after_pick" for r in readings)


def aliases_of(block: Block) -> dict[tuple[str, str], str]:
    """Read which letters of which phone stand for whom, from the people's `also`."""
    aliases: dict[tuple[str, str], str] = {}
    for person in block.people:
        for also in person.also:
            device, _, letter = also.partition(":")
            aliases[device, letter] = person.code
    return aliases


def _holds(events: Events) -> tuple[Hold, ...]:
    return tuple(
        Hold("sprayed" + (f" with {one.product}" if one.product else ""), one.since, one.until,
             one.cells, one.outline)
        for one in events.sprayings
    )


def _ground_of(grounds: Grounds, cell: str, day: date) -> CellGround | None:
    return grounds.on(day).cells.get(cell)


def _known(
    inputs: Inputs, events: Events, made_of: Mapping[str, str], grounds: Grounds, ground: Ground,
    kept: Remembered,
) -> tuple[Known, tuple[str, ...], dict[str, str]]:
    block, tunables = inputs.block, inputs.tunables

    def cell_at(seen: QuadratSeen | ClipSeen) -> str | None:
        if seen.where is None:
            return None
        e, n = grounds.projection.to_m(seen.where.lat, seen.where.lon)
        cell = cell_of(block.grid, float(e), float(n))
        return cell if cell in grounds.on(seen.day).cells else None

    readings, nowhere = readings_of(
        events.quadrats, block.plots, cell_at, survey_days=tunables.survey_days
    )
    placed_quadrats = tuple(
        q if q.cell or not (cell := cell_at(q)) else dataclasses.replace(q, cell=cell)
        for q in events.quadrats
    )
    # A clip keeps its quadrat though that counts no more, or is somebody's second reading.
    cut_from = [
        reading for q in events.quadrats if q.clip is not None
        for reading in readings_of([q], block.plots, cell_at, survey_days=tunables.survey_days)[0]
    ]
    clips, waiting = join_clips(
        events.clips, (*readings, *cut_from), cell_at,
        {cell: one.ground_class for cell, one in ground.cells.items()},
        shed_moisture_pct=tunables.shed_moisture_pct, label_days=_CLIP_DAYS,
    )
    trod = tread(
        Trodden(events.bags, events.outings, events.tracks, events.thinned, made_of), grounds.on,
        grounds.projection, tunables, zone=block.zone, season_start=block.season_start,
        memo=inputs.memo, before=kept.trod.given(grounds.holds),
    )
    kept.trod.keep(grounds.holds, trod)
    known = Known(
        block, tunables, readings, placed_quadrats, clips,
        in_order(events.bags, with_groups(trod.by_whose, tunables, kept.grouped)),
        events.past_picks,
        weighed_lots(
            events.lots, events.batch_sources, events.bags, season_start=block.season_start,
            usual=bag_kg_on(block.bags, None, date.max).name,
        ),
        events.finished, trod.swept, trod.walkers, kept,
    )
    return known, nowhere, waiting


def sums_of(inputs: Inputs, kept: Remembered | None = None) -> dict[str, str]:
    """Sum up what a register is made of.

    Parameters
    ----------
    inputs : Inputs
        Block, settings and records.
    kept : Remembered, optional
        What is remembered of the same block and settings.

    Returns
    -------
    dict of str to str
        `block`, `settings`, `records` (SHA-256, hex; of the records device by device, as
        `sync.intake.sums` says) and `program`.
    """
    sums = Once[str]() if kept is None else kept.sums
    return {
        "block": sums.give("block", (), lambda: _sum_of_block(inputs.block)),
        "settings": sums.give(
            "settings", (), lambda: sum_of_value(dataclasses.asdict(inputs.tunables))),
        "records": inputs.records_sum or records_sum(inputs.held, inputs.tracks),
        "program": inputs.program,
    }


def _sum_of_block(known: Block) -> str:
    block = dataclasses.asdict(known)
    # Names of people move no figure, and a sum of them could be guessed.
    block["people"] = [(p.code, p.also, p.counts_dots) for p in known.people]
    # A block without a trial is what it was before there were any.
    if not block["trials"]:
        del block["trials"]
    # Nor do prices, which are the owner's own business.
    del block["costs"], block["hook_limit_kg"]
    return sum_of_value(block)


def sum_of_value(value: object) -> str:
    """Give the SHA-256 (hex) of a plain value, as canonical JSON; days are written ISO."""
    return hashlib.sha256(canonical(_plain(value))).hexdigest()


def _plain(value: object) -> object:
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return value
