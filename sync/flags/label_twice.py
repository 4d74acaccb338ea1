"""label_twice: one label on two things in a season, so that nobody can say which is meant.

Rule 1: it is used twice if a pile, a clip and a batch share it (a batch of a pile's label that
names no other source is that pile); if a field of a clip has two values; if a stage of a batch has
two records; or if piles of that label were marked farther apart than one pile can be.
Rule 2: a label may come back in another season.
"""

import dataclasses
import math
from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import date
from itertools import combinations
from typing import Any

from sync.block import season_of
from sync.flags.flag import Flag
from sync.intake.merge import Counted
from sync.picks.ledger.batches import Batch, batches_of
from sync.picks.sources import Label
from sync.register.build import Register


@dataclasses.dataclass
class _Uses:
    """What one label was written on: records by thing, and what of it has two values."""

    things: dict[str, list[str]] = dataclasses.field(default_factory=lambda: defaultdict(list))
    fields: dict[str, list[Any]] = dataclasses.field(default_factory=dict)
    stages: dict[str, list[str]] = dataclasses.field(default_factory=dict)
    marks: list[Counted] = dataclasses.field(default_factory=list)


def label_twice(register: Register) -> Iterator[Flag]:
    """Flag labels that were written on two things.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Yields
    ------
    Flag
        One a label and season.
    """
    for (label, season), uses in sorted(_uses(register).items()):
        apart_m = _apart_m(register, uses.marks)
        parts = list(_parts(uses, apart_m))
        if parts:
            yield _flag(label, season, uses, apart_m, parts)


def _uses(register: Register) -> dict[Label, _Uses]:
    found: dict[Label, _Uses] = defaultdict(_Uses)

    def note(label: str, day: date, thing: str, *names: str) -> _Uses:
        uses = found[label, season_of(day, register.block.season_start)]
        uses.things[thing] += names
        return uses

    events = register.events
    for bags in register.known.tallies.by_day(until=register.on):
        for pile, names in bags.names_on_piles.items():
            note(pile, bags.day, "pile", *names)
    for mark in events.marks:
        if mark.record["what"] == "pile" and mark.day <= register.on:
            note(mark.record["name"], mark.day, "pile", mark.name).marks.append(mark)
    for quadrat in events.quadrats:
        if quadrat.clip is not None and quadrat.day <= register.on:
            note(quadrat.clip, quadrat.day, "clip", quadrat.name)
    records = {one.name: one.record for one in register.merged.by_kind["clip"]}
    for clip in events.clips:
        if clip.day <= register.on:
            note(clip.label, clip.day, "clip", *clip.names).fields.update(
                {field: _values(field, clip.names, records) for field in clip.twice})
    for batch in batches_of(events.batches, on=register.on,
                            season_start=register.block.season_start):
        _note_batch(found[batch.key], batch)
    return found


def _note_batch(uses: _Uses, batch: Batch) -> None:
    of_its_own = not batch.sources or any(batch.label in one.sources for one in batch.records)
    uses.things["pile" if "pile" in uses.things and of_its_own else "batch"] += [
        one.name for one in batch.records]
    by_stage: dict[str, list[str]] = defaultdict(list)
    for one in batch.records:
        by_stage[one.stage].append(one.name)
    uses.stages.update({stage: names for stage, names in by_stage.items() if len(names) > 1})


def _values(field: str, names: tuple[str, ...], records: Mapping[str, Any]) -> list[Any]:
    said = (records[name].get(field) for name in names)
    return list(dict.fromkeys(value for value in said if value is not None))


def _apart_m(register: Register, marks: list[Counted]) -> float | None:
    """Give how far apart the farthest two marks of a pile are, if two piles at the least. [m]."""
    unknown = register.tunables.unknown_accuracy_m
    places = [
        (*register.grounds.projection.to_m(mark.where.lat, mark.where.lon),
         unknown if mark.where.acc_m is None else mark.where.acc_m)
        for mark in marks if mark.where is not None
    ]
    apart = [
        distance for (e1, n1, acc1), (e2, n2, acc2) in combinations(places, 2)
        if (distance := math.hypot(float(e1 - e2), float(n1 - n2)))
        > register.tunables.pile_apart_m + acc1 + acc2
    ]
    return max(apart, default=None)


def _parts(uses: _Uses, apart_m: float | None) -> Iterator[str]:
    if len(uses.things) > 1:
        yield "it is on " + " and ".join(f"a {thing}" for thing in sorted(uses.things))
    for field, values in sorted(uses.fields.items()):
        yield f"{field} of its clip is {' and '.join(map(str, values))}, so the clip waits"
    for stage, names in sorted(uses.stages.items()):
        yield f"its batch was {stage} {len(names)} times, and the bags add up"
    if apart_m is not None:
        yield f"its pile is marked at places {apart_m:.0f} m apart"


def _flag(
    label: str, season: int, uses: _Uses, apart_m: float | None, parts: list[str]
) -> Flag:
    why = (
        f"label {label} is used twice in the season of {season}: {'; '.join(parts)}; a look at "
        f"the tags, and the wrong record voided or its label mended, would settle it"
    )
    names = dict.fromkeys(name for thing in sorted(uses.things) for name in uses.things[thing])
    return Flag(
        "label_twice", label, season, None, why, None, "sure", tuple(names),
        {"things": sorted(uses.things), "fields": dict(sorted(uses.fields.items())),
         "stages": sorted(uses.stages), "apart_m": apart_m},
    )
