"""What one person noted, summed up for them alone: outings, and how many records of which kind.

Rule 1: only records of that person are asked for and told.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from fieldapp.record.names import name_of

_STATES_ON = ("pause", "resume")


def own_counts(records: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    """Count a person's records.

    Parameters
    ----------
    records : iterable of mapping
        Theirs, of any devices.

    Returns
    -------
    dict
        `records`, how many of each kind, and `points`, the fixes of the tracks among them.
    """
    kinds: Counter[str] = Counter()
    points = 0
    for record in records:
        kinds[str(record["kind"])] += 1
        if record["kind"] == "track":
            points += len(record.get("dt_ms") or ())
    return {"records": dict(sorted(kinds.items())), "points": points}


def own_outings(records: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Put a person's outings together.

    Parameters
    ----------
    records : iterable of mapping
        Theirs, of any devices.

    Returns
    -------
    list of dict
        By start: `device role from to records`; instants as the device's clock had them, `to` null
        where nothing of theirs ended it; `records` names its start, breaks and end.
    """
    presses = sorted((one for one in records if one["kind"] == "outing"),
                     key=lambda one: (one["device"], one["seq"]))
    found: list[dict[str, Any]] = []
    for at, press in enumerate(presses):
        if press["state"] == "start":
            found.append(_outing(presses[at:]))
    return sorted(found, key=lambda one: (one["from"], one["device"]))


def _outing(presses: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """Give the outing that the first of these starts; another start on its device ends it."""
    start, told = presses[0], [name_of(presses[0])]
    until: str | None = None
    for press in presses[1:]:
        if press["device"] != start["device"]:
            break
        if press["state"] in _STATES_ON:
            told.append(name_of(press))
            continue
        until = press["at"]
        if press["state"] == "end":
            told.append(name_of(press))
        break
    return {"device": start["device"], "role": start.get("role"), "from": start["at"],
            "to": until, "records": told}
