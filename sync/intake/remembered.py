"""What counts of records that hang together, merged or as it is remembered.

Rule 1: it is known by the sum of all that it is made of; no figure changes by it.
Rule 2: only the latest of a device is remembered.
"""

import collections
import hashlib
from collections.abc import Mapping
from functools import partial

from fieldapp.record import SHED
from sync.intake.counted import Counted
from sync.intake.heads import Tracks
from sync.intake.memo import Memo
from sync.intake.part import PartMerged, Rules, merge_part
from sync.intake.part_bytes import from_bytes, to_bytes
from sync.intake.parts import Part

_OF_SHED = f"{SHED}:"
#: Grows when what counts, or what is seen in it, is worked out in another way.
_FORM = 1


def merged_part(
    part: Part, rules: Rules, tracks: Tracks, before: Mapping[str, Counted],
    sums: Mapping[str, str], memo: Memo,
) -> PartMerged:
    """Merge a part, unless it is remembered.

    Parameters
    ----------
    part, rules, tracks, before
        As for `merge_part`. What counted before is nearer at hand than what is remembered.
    sums : mapping of str to str
        Of all records of each device; empty where nobody summed them up.
    memo : Memo
        Remembers what counts.

    Returns
    -------
    PartMerged
        What counts and what does not.
    """
    total = _sum_of(part, rules, sums)
    if total is None or before or not part.devices:
        return merge_part(part, rules, tracks, before, total)
    key = f"counts:{part.devices[0]}"
    known = memo.look(key, partial(from_bytes, total=total, part=part))
    if known is None:
        known = merge_part(part, rules, tracks, before, total)
        said = to_bytes(known, part)
        if said is not None:
            memo.put(key, said)
    return known


def _sum_of(part: Part, rules: Rules, sums: Mapping[str, str]) -> str | None:
    """Sum up all that a part is made of: its devices, and what the shed says of their records.

    Of a device's records the sum does not say which are read and which are heads alone, nor which
    have lost their points: that is said by name.
    """
    if not sums:
        return None
    devices = [(device, sums.get(device)) for device in part.devices]
    names = [one.name for one in part.held]
    times = collections.Counter(names)
    thinned = [one.name for one in part.held if one.record.get("thinned") is not None]
    # Of a name with two contents it tells which one was sealed.
    said = sorted((one.name, one.total, one.sealed) for one in part.held
                  if one.name.startswith(_OF_SHED) or times[one.name] > 1)
    lines = [(line.name, line.raw) for line in part.lines]
    ruled = (
        _FORM, rules.program, rules.zone, rules.clock_off_s, sorted(rules.aliases.items()))
    total = hashlib.sha256(repr((ruled, devices, said, lines, thinned)).encode())
    total.update("\n".join(names).encode())
    return total.hexdigest()
