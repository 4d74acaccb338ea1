"""What happened, by kind: the counted records as typed events.

Rule 1: an event keeps the name of the record that says it, so that every figure can name it.
Rule 2: nothing is placed or weighed here; a place is still what the phone wrote.
"""

import bisect
import operator
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from fieldapp.record import instant
from sync.block import season_end
from sync.intake.again import Again
from sync.intake.fixes import thinned_of
from sync.intake.heads import NO_TRACKS, Tracks
from sync.intake.merge import Counted
from sync.intake.seen import (
    BagSeen,
    BatchSeen,
    ClipSeen,
    Events,
    LotSeen,
    NoticeSeen,
    OutingSeen,
    PastPick,
    QuadratSeen,
    Spraying,
    ThinnedSeen,
    WetSeen,
    WorkSeen,
)
from sync.intake.stored import stored_tracks

#: Records of one clip label farther apart than this are two clips: a label is unique only in a
#: season (common practice, no source).
_LABEL_DAYS = 183
#: Days that every reckoning has room on either side of.
_ERA = (date(1000, 1, 1), date(9000, 1, 1))


#: Numbers of a phone from which on a cell was confirmed, ascending, and those cells.
_Confirmed = tuple[list[int], list[str | None]]


def events_of(
    by_kind: Mapping[str, Sequence[Counted]], *, season_start: tuple[int, int],
    tracks: Tracks = NO_TRACKS, again: Again | None = None,
) -> Events:
    """Sort the counted records into events.

    Parameters
    ----------
    by_kind : mapping of str to sequence of Counted
        By every known kind, in time order.
    season_start : tuple of int
        Month and day on which a season begins; a past pick without a last day lasts to its end.
    tracks : Tracks, optional
        Counting tracks that are read when they are asked for.
    again : Again, optional
        What was seen before; what is the same is given again.

    Returns
    -------
    Events
        By kind, each in time order.
    """
    confirmed = _confirmed_cells(by_kind["outing"])
    again = again or Again()
    seen = again.seen
    return Events(
        quadrats=tuple(sorted(
            seen("quadrat", by_kind["quadrat"], _quadrat)
            + seen("skip", (c for c in by_kind["skip"] if c.record["why"] in {"pool", "scrub"}),
                   _bare), key=operator.attrgetter("order"))),
        clips=_clips(by_kind["clip"]),
        bags=again.bags(
            by_kind["bag"], confirmed, lambda c: _confirmed_at(confirmed.get(c.device), c.seq),
            _bag),
        lots=tuple(lot for lot in seen("lot", by_kind["batch"], _lot) if lot is not None),
        batch_sources=_batch_sources(by_kind["batch"]),
        past_picks=tuple(_past_pick(c, season_start) for c in by_kind["past_pick"]),
        finished=_finished(by_kind["outing"]),
        sprayings=tuple(_spraying(c) for c in by_kind["work"] if c.record["what"] == "sprayed"),
        works=seen("work", by_kind["work"], _work),
        outings=seen("outing", by_kind["outing"], _outing),
        marks=tuple(by_kind["mark"]),
        tracks=stored_tracks(by_kind["track"], tracks, again),
        thinned=_thinned(by_kind["track"], again),
        rulings=tuple(by_kind["ruling"]),
        wet=tuple(wet for wet in seen("wet", by_kind["batch"], _wet) if wet is not None),
        notices=tuple(_notice(c) for c in by_kind["notice"]),
        batches=seen("batch", by_kind["batch"], _batch),
    )


def _outing(c: Counted) -> OutingSeen:
    return OutingSeen(c.name, c.at, c.day, c.device, c.seq, c.person, c.record["state"],
                      c.record.get("role"))


def _thinned(tracks: Iterable[Counted], again: Again) -> dict[str, tuple[ThinnedSeen, ...]]:
    by_device: dict[str, list[Counted]] = defaultdict(list)
    for one in tracks:
        if one.record.get("thinned") is not None:
            by_device[one.device].append(one)
    found = again.each("thinned", {device: (each, None) for device, each in by_device.items()},
                       lambda device: thinned_of(by_device[device]).get(device, ()))
    return {device: each for device, each in found.items() if each}


def _quadrat(c: Counted) -> QuadratSeen:
    r = c.record
    return QuadratSeen(
        name=c.name, at=c.at, day=c.day, person=c.person, plot=r.get("plot"), cell=r.get("cell"),
        where=c.where, when=r["when"], again=bool(r.get("again", False)), bare=False,
        cover_pct=float(r["cover_pct"]), depth_mm=tuple(r["depth_mm"]),
        scrub_pct=r.get("scrub_pct"), water_table_mm=r.get("water_table_mm"), clip=r.get("clip"),
        order=(c.at, c.device, c.seq),
    )


def _bare(c: Counted) -> QuadratSeen:
    return QuadratSeen(
        name=c.name, at=c.at, day=c.day, person=c.person, plot=c.record["plot"], cell=None,
        where=c.where, when="survey", again=False, bare=True, cover_pct=0.0, depth_mm=(),
        scrub_pct=None, water_table_mm=None, clip=None, order=(c.at, c.device, c.seq),
    )


_CLIP_FIELDS = ("cut", "area_m2", "from_mm", "to_mm", "wet_g", "dry_g", "dried")


def _clips(records: Sequence[Counted]) -> tuple[ClipSeen, ...]:
    by_label: dict[str, list[list[Counted]]] = defaultdict(list)
    for one in records:
        clips = by_label[one.record["clip"]]
        if clips and one.day - clips[-1][0].day <= timedelta(days=_LABEL_DAYS):
            clips[-1].append(one)
        else:
            clips.append([one])
    return tuple(
        _clip(label, parts) for label in sorted(by_label) for parts in by_label[label]
    )


def _clip(label: str, parts: Sequence[Counted]) -> ClipSeen:
    said: dict[str, list[Any]] = defaultdict(list)
    for part in parts:
        for field in _CLIP_FIELDS:
            value = part.record.get(field)
            if value is not None and value not in said[field]:
                said[field].append(value)
    return ClipSeen(
        label=label,
        names=tuple(p.name for p in parts),
        day=parts[0].day,
        where=next((p.where for p in parts if p.where is not None), None),
        fields={field: values[0] for field, values in said.items()},
        twice=tuple(field for field in _CLIP_FIELDS if len(said[field]) > 1),
    )


def _bag(c: Counted, confirmed: str | None) -> BagSeen:
    r = c.record
    picker = r.get("for") or c.person
    covers = r.get("covers")
    return BagSeen(
        name=c.name, at=c.at, day=c.day, device=c.device, seq=c.seq, picker=picker,
        own=picker == c.person, bags=float(r["bags"]), bag_type=r.get("type"), pile=r.get("pile"),
        cell=r.get("cell"), confirmed=confirmed,
        where=c.where, covers=(covers[0], covers[1], covers[2]) if covers else None,
        wet_kg=r.get("wet_kg"),
    )


def _confirmed_cells(outings: Iterable[Counted]) -> dict[str, _Confirmed]:
    """List, by phone, from which number on which cell was confirmed; an END confirms none."""
    found: dict[str, _Confirmed] = defaultdict(lambda: ([], []))
    for one in sorted(outings, key=lambda c: (c.device, c.seq)):
        state = one.record["state"]
        numbers, cells = found[one.device]
        if state in {"start", "end", "resume"}:
            goes_on = state == "resume" and cells
            cells.append(one.record.get("cell") or (cells[-1] if goes_on else None))
            numbers.append(one.seq)
    return found


def _confirmed_at(changes: _Confirmed | None, seq: int) -> str | None:
    numbers, cells = changes or ((), ())
    place = bisect.bisect_right(numbers, seq)
    return cells[place - 1] if place else None


def _lot(c: Counted) -> LotSeen | None:
    r = c.record
    if r["stage"] != "dried" or not r.get("bags") or not r.get("dry_kg"):
        return None
    return LotSeen(
        c.name, r["batch"], c.day, float(r["bags"]), float(r["dry_kg"]),
        tuple(r.get("from") or ()),
    )


def _wet(c: Counted) -> WetSeen | None:
    r = c.record
    if r["stage"] == "dried" or not r.get("bags") or not r.get("wet_kg"):
        return None
    return WetSeen(
        c.name, r["batch"], c.day, r["stage"], float(r["bags"]), float(r["wet_kg"]),
        tuple(r.get("from") or ()),
    )


def _batch(c: Counted) -> BatchSeen:
    r = c.record
    bags = r.get("bags")
    return BatchSeen(
        c.name, c.at, r["batch"], c.day, r["stage"], None if bags is None else float(bags),
        tuple(r.get("from") or ()), r.get("dry_kg"), r.get("moist_pct"), r.get("pure_pct"),
    )


def _notice(c: Counted) -> NoticeSeen:
    r = c.record
    known_by = r.get("known_by")
    return NoticeSeen(
        c.name, c.at, c.day, r["permit"], r["what"],
        _reckonable(date.fromisoformat(r["start"])) if r.get("start") else None, r.get("year"),
        instant(known_by) if known_by else None, r.get("taken"), r.get("figures"),
    )


def _batch_sources(records: Iterable[Counted]) -> dict[str, tuple[tuple[date, str], ...]]:
    sources: dict[str, set[tuple[date, str]]] = defaultdict(set)
    for one in records:
        sources[one.record["batch"]].update(
            (one.day, label) for label in one.record.get("from") or ())
    return {label: tuple(sorted(made_of)) for label, made_of in sorted(sources.items())}


def _past_pick(c: Counted, season_start: tuple[int, int]) -> PastPick:
    r = c.record
    first = _reckonable(date.fromisoformat(r["from"]))
    last = date.fromisoformat(r["to"]) if r.get("to") else season_end(first, season_start)
    share = r.get("share_pct")
    return PastPick(
        c.name, r["cell"], first, max(first, _reckonable(last)),
        100.0 if share is None else float(share), r.get("dry_kg"),
    )


def _reckonable(day: date) -> date:
    """Keep a typing slip off the ends of the calendar, where no rest can be reckoned from."""
    return min(max(day, _ERA[0]), _ERA[1])


def _finished(outings: Iterable[Counted]) -> dict[str, tuple[date, ...]]:
    days: dict[str, set[date]] = defaultdict(set)
    for one in outings:
        for cell in one.record.get("finished") or ():
            days[cell].add(one.day)
    return {cell: tuple(sorted(d)) for cell, d in sorted(days.items())}


def _spraying(c: Counted) -> Spraying:
    r = c.record
    return Spraying(
        c.name, tuple(r.get("cells") or ()), r.get("outline"), c.day,
        _days_after(c.day, int(r["hold_days"])), r.get("product"),
    )


def _work(c: Counted) -> WorkSeen:
    r = c.record
    return WorkSeen(
        c.name, c.day, c.person, r["what"], tuple(r.get("cells") or ()), r.get("outline"),
        r.get("hours"), r.get("trial"), r.get("product"),
    )


def _days_after(day: date, days: int) -> date:
    """Count days on; a hold that a typing slip made endless ends after any day asked about."""
    return day + timedelta(days=days) if days < (_ERA[1] - day).days else max(day, _ERA[1])
