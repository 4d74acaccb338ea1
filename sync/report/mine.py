"""What the shed holds of one person, for that person: records as received, outings, flags.

Rule 1: a record is its person's who noted it, by the letters of a phone without a sheet too;
nobody else's record, name or place is told.
Rule 2: of a flag its sentence is told, and of its records only the person's own.
Rule 3: a track is told as long as it is held.
"""

import dataclasses
import json
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any

from fieldapp.record import own_counts, own_outings, split_name, stamp, sum_of
from sync.flags.flag import Flag
from sync.intake.check import Aside, Held
from sync.register.build import Register, aliases_of


@dataclasses.dataclass(frozen=True)
class Holdings:
    """All that the shed's journal holds, of everybody.

    Attributes
    ----------
    held : sequence of Held
        Sound records.
    aside : sequence of Aside
        Lines that wait to be mended.
    arrived : mapping of (str, str) to str
        When each record first came in, UTC, by name and sum.
    """

    held: Sequence[Held]
    aside: Sequence[Aside]
    arrived: Mapping[tuple[str, str], str]


def own_lines(
    register: Register, flags: Sequence[Flag], holdings: Holdings, person: str, *,
    made_at: datetime,
) -> list[dict[str, Any]]:
    """Give what is held of a person, one value a line.

    Parameters
    ----------
    register : Register
        Of the block, made of the same records.
    flags : sequence of Flag
        The register's.
    holdings : Holdings
        What the journal holds.
    person : str
        Person code.
    made_at : datetime
        Now, aware.

    Returns
    -------
    list of dict
        First whose it is, with `counts`, `outings` and `flags`; then each record with its arrival
        and whether it counts (null for a void); then each line that waits, with the reason.
    """
    own = [one for one in holdings.held if _whose(register, one.name, one.record) == person]
    names = {one.name for one in own}
    head = {
        "mine": 1, "block": {"id": register.block.block_id, "name": register.block.name},
        "person": person, "made_at": stamp(made_at),
        "counts": {**own_counts(one.record for one in own), "bags": _bags(register, person)},
        "outings": own_outings(one.record for one in own),
        "flags": [_flag(one, names) for one in flags if not names.isdisjoint(one.records)],
    }
    return [head, *_records(register, own, holdings), *_waiting(register, holdings, person)]


def _whose(register: Register, name: str, record: Mapping[str, Any]) -> str:
    code = str(record.get("person"))
    return aliases_of(register.block).get((split_name(name)[0], code), code)


def _bags(register: Register, person: str) -> float:
    """Give the person's bags that count, whoever noted them."""
    return float(sum(bag.bags for bag in register.events.bags if bag.picker == person))


def _flag(flag: Flag, names: set[str]) -> dict[str, Any]:
    return {
        "flag": flag.name, "why": flag.why, "how_sure": flag.how_sure,
        "records": [name for name in flag.records if name in names],
        "ruled": None if flag.ruling is None else flag.ruling.says,
    }


def _records(
    register: Register, own: Sequence[Held], holdings: Holdings
) -> Iterator[dict[str, Any]]:
    counting = {one.name: one.record for one in register.merged.counted}
    order = sorted(own, key=lambda one: (*split_name(one.name), one.total))
    for one in order:
        counts = register.merged.counts(one.name) and (
            one.name not in register.merged.twice or sum_of(counting[one.name]) == one.total)
        yield {
            "record": one.record, "arrived": holdings.arrived[one.name, one.total],
            "counts": None if one.record["kind"] == "void" else counts,
        }


def _waiting(register: Register, holdings: Holdings, person: str) -> Iterator[dict[str, Any]]:
    for one in holdings.aside:
        try:
            record = json.loads(one.raw)
        except (ValueError, RecursionError):
            continue
        if isinstance(record, dict) and one.name is not None and (
                _whose(register, one.name, record) == person):
            yield {"waits": one.raw, "field": one.field, "reason": one.reason}
