"""Which records count, and which of them stand in for which.

Rule 1: a void that counts takes away what it names; voids are judged by the same rule.
Rule 2: records that stand in for one another, however long the chain, are one thing; the last of
them that no counting void names counts for it, so nothing mended twice counts twice, and voiding a
mend brings back the one before.
Rule 3: the shed has the last word; among a phone's own the higher number.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from fieldapp.record import KINDS, NAME, SHED, is_known_kind, split_name

Records = Mapping[str, Mapping[str, Any]]


@dataclasses.dataclass(frozen=True)
class Judged:
    """What was judged of all records.

    Attributes
    ----------
    counts : tuple of str
        Names of the records that count, the last word first; voids are left out.
    voided : mapping of str to str
        Of each record that a counting void takes away, the name of that void.
    first_of : mapping of str to str
        Of each record that counts, the first of those that stand in for one another.
    """

    counts: tuple[str, ...]
    voided: Mapping[str, str]
    first_of: Mapping[str, str]


def links_of(chosen: Records, waiting: Records) -> dict[str, str]:
    """Say what each record stands in for.

    Parameters
    ----------
    chosen : mapping of str to mapping
        Sound records by name.
    waiting : mapping of str to mapping
        What can be read of those set aside, by name; none of these is among the sound ones.

    Returns
    -------
    dict of str to str
        The name in `instead_of`, where that record is there and of the same kind. One that waits
        may be of any kind as long as it does not say of which.
    """
    links: dict[str, str] = {}
    for name, record in (*waiting.items(), *chosen.items()):
        target = record.get("instead_of")
        if not isinstance(target, str):
            continue
        kind = record.get("kind")
        if kind not in KINDS or not _may_name(name, target):
            continue
        there = chosen.get(target)
        said = there.get("kind") if there is not None else waiting.get(target, {}).get("kind")
        if said == kind or (target in waiting and said not in KINDS):
            links[name] = target
    return links


def _may_name(name: str, target: str) -> bool:
    """Say whether a record may name another; one that waits was never checked for that."""
    if not NAME.match(target):
        return False
    (device, seq), (other, number) = split_name(name), split_name(target)
    return number < seq if device == other else device == SHED


def what_counts(chosen: Records, links: Mapping[str, str]) -> Judged:
    """Say which records count, and which a void takes away.

    Parameters
    ----------
    chosen : mapping of str to mapping
        Sound records by name.
    links : mapping of str to str
        What each stands in for.

    Returns
    -------
    Judged
        By name.

    Notes
    -----
    Worked from the last word back. A record is named only by later ones of its own device or by
    the shed, so when its turn comes every void that could name it has been judged, and so has
    every later word on the same thing.
    """
    voided: dict[str, str] = {}
    settled: set[str] = set()
    firsts: dict[str, str] = {}
    counts: dict[str, str] = {}
    for name in _last_word_first(chosen):
        record = chosen[name]
        if name in voided or not is_known_kind(record):
            continue
        first = _first(name, links, firsts) if name in links else name
        if first in settled:
            continue
        settled.add(first)
        if record["kind"] == "void":
            voided.setdefault(record["of"], name)
        else:
            counts[name] = first
    return Judged(tuple(counts), voided, counts)


def _last_word_first(names: Iterable[str]) -> Iterator[str]:
    """Give the shed's names, then those of each device, each from the highest number down."""
    by_device: dict[str, list[tuple[int, str]]] = defaultdict(list)
    for name in names:
        device, _, seq = name.rpartition(":")
        by_device[device].append((int(seq), name))
    for device in sorted(by_device, key=lambda one: (one != SHED, one)):
        yield from (name for _, name in sorted(by_device[device], reverse=True))


def _first(name: str, links: Mapping[str, str], firsts: dict[str, str]) -> str:
    """Follow a name to the first of its chain; what was found is noted in `firsts`."""
    passed = []
    while name not in firsts and name in links:
        passed.append(name)
        name = links[name]
    first = firsts.get(name, name)
    firsts.update(dict.fromkeys(passed, first))
    return first
