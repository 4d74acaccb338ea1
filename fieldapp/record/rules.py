"""What the fields of one record owe each other.

Rule 1: a rule sees only fields that passed their own check and are not null.
Rule 2: what needs a second record to be judged is not judged here.
"""

from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType
from typing import Any

from fieldapp.record.names import DEVICE, LAST_SEQ, SHED, Problem, split_name

#: Wet mass of one bag. [kg]
WET_KG_A_BAG = (5.0, 400.0)
#: Shed-dry mass per volume of layer. [kg m⁻³]
CLIP_DENSITY = (1.0, 80.0)
#: Water in what is called shed-dry, wet basis: the usual of drying sheds, from memory.
SHED_MOISTURE = 0.12

_POINTS = ("t0", "dt_ms", "lat_e7", "lon_e7")


def broken_rules(sound: Mapping[str, Any], record: Mapping[str, Any]) -> Iterator[Problem]:
    """Find the rules between fields that a record breaks.

    Parameters
    ----------
    sound : mapping
        The fields that passed their own check.
    record : mapping
        The whole record, for what only has to be there.

    Yields
    ------
    Problem
        One for each rule broken.
    """
    for field in ("of", "instead_of"):
        if field in sound:
            yield from _naming(sound, field)
    rule = _RULES.get(sound.get("kind", ""))
    if rule is not None:
        yield from rule(sound, record)


def plug_density(sound: Mapping[str, Any]) -> float | None:
    """Give the shed-dry density of a clip whose whole weighing stands in one record.

    Parameters
    ----------
    sound : mapping
        A clip's fields: `area_m2`, `from_mm`, `to_mm`, `dry_g`, `dried`.

    Returns
    -------
    float or None
        Mass over the volume of the layer as cut, as if moss filled it; so it is too low for a
        frame partly bare. None if a field is missing. [kg m⁻³]

    Notes
    -----
    g / (m² · mm) is kg/m³. Oven-dry mass over (1 − 0.12) is shed-dry, by the definition of a
    moisture on wet basis. Derived.
    """
    if any(field not in sound for field in ("area_m2", "from_mm", "to_mm", "dry_g")):
        return None
    layer_mm = sound["to_mm"] - sound["from_mm"]
    if layer_mm <= 0:
        return None
    oven = sound.get("dried") == "oven"
    dry_g = sound["dry_g"] / (1.0 - SHED_MOISTURE) if oven else sound["dry_g"]
    return float(dry_g / sound["area_m2"] / layer_mm)


def _naming(sound: Mapping[str, Any], field: str) -> Iterator[Problem]:
    device, number = split_name(sound[field])
    own = device == sound.get("device")
    if "device" not in sound or "seq" not in sound:
        return
    if not own and sound["device"] != SHED:
        yield Problem(field, sound[field], "must name a record of this device: only the shed "
                                           "may name another's")
    elif own and number >= sound["seq"]:
        yield Problem(field, sound[field], "must name a record with a lower number")


def _outing(sound: Mapping[str, Any], record: Mapping[str, Any]) -> Iterator[Problem]:
    if sound.get("state") == "start" and "role" not in sound:
        yield Problem("role", record.get("role"), "is missing: a start says picker or surveyor")


def _track(sound: Mapping[str, Any], record: Mapping[str, Any]) -> Iterator[Problem]:
    if record.get("thinned") is None or any(record.get(field) is not None for field in _POINTS):
        for field in _POINTS:
            if record.get(field) is None:
                yield Problem(field, None, "is missing")
    steps = sound.get("dt_ms")
    if steps is None:
        return
    if steps[0] != 0:
        yield Problem("dt_ms", steps[0], "must begin with 0")
    for field in ("lat_e7", "lon_e7", "acc_m"):
        if field in sound and len(sound[field]) != len(steps):
            yield Problem(field, len(sound[field]), f"must have as many entries as dt_ms: "
                                                    f"{len(steps)}")


def _bag(sound: Mapping[str, Any], record: Mapping[str, Any]) -> Iterator[Problem]:
    by_hand = sound.get("device") == SHED or str(sound.get("device")).startswith("form-")
    for field in ("cell", "covers"):
        if field in sound and not by_hand:
            yield Problem(field, sound[field], "stands only on a bag noted by hand at the shed")
    if "covers" in sound:
        yield from _covers(sound["covers"])
    elif sound.get("bags") == 0 and record.get("covers") is None:
        yield Problem("bags", 0, "must lie between 0.5 and 40: 0 is only for a paper count")
    yield from _wet_kg(sound)


def _covers(covers: Any) -> Iterator[Problem]:
    device, first, last = covers
    numbers = all(isinstance(n, int) and not isinstance(n, bool) for n in (first, last))
    if (not isinstance(device, str) or not DEVICE.match(device) or not numbers
            or not 1 <= first <= last <= LAST_SEQ):
        yield Problem("covers", covers, "must be a device, its first and its last missing number")


def _wet_kg(sound: Mapping[str, Any]) -> Iterator[Problem]:
    if "wet_kg" in sound and sound.get("bags"):
        low, high = WET_KG_A_BAG
        if not low * sound["bags"] <= sound["wet_kg"] <= high * sound["bags"]:
            yield Problem("wet_kg", sound["wet_kg"], f"must be {low:g} to {high:g} kg a bag: it "
                                                     "is the mass of all bags")


def _clip(sound: Mapping[str, Any], _: Mapping[str, Any]) -> Iterator[Problem]:
    if "from_mm" in sound and "to_mm" in sound and sound["from_mm"] >= sound["to_mm"]:
        yield Problem("to_mm", sound["to_mm"], "must be deeper than from_mm")
    if "wet_g" in sound and "dry_g" in sound and sound["dry_g"] >= sound["wet_g"]:
        yield Problem("dry_g", sound["dry_g"], "must be less than wet_g: look at the scale slip")
    density = plug_density(sound)
    if density is None:
        return
    low, high = CLIP_DENSITY
    if density > high or (density < low and sound.get("cut") == "plug"):
        yield Problem("dry_g", sound["dry_g"], f"makes {density:.3g} kg/m3 and must make {low:g} "
                                               f"to {high:g}: look at area, layer and scale slip")


def _work(sound: Mapping[str, Any], record: Mapping[str, Any]) -> Iterator[Problem]:
    there = [field for field in ("cells", "outline") if record.get(field) is not None]
    if len(there) != 1:
        yield Problem("cells", record.get("cells"), "cells or outline must be there, one of them")
    if sound.get("what") == "sprayed" and record.get("hold_days") is None:
        yield Problem("hold_days", None, "is missing: sprayed ground has a hold")


def _past_pick(sound: Mapping[str, Any], _: Mapping[str, Any]) -> Iterator[Problem]:
    if "from" in sound and "to" in sound and sound["to"] < sound["from"]:
        yield Problem("to", sound["to"], "must not be before from")


def _notice(sound: Mapping[str, Any], record: Mapping[str, Any]) -> Iterator[Problem]:
    if sound.get("what") == "start" and record.get("start") is None:
        yield Problem("start", None, "is missing")
    if sound.get("what") == "return":
        for field in ("year", "known_by", "taken", "sum"):
            if field not in record:
                yield Problem(field, None, "is missing")


def _batch(sound: Mapping[str, Any], _: Mapping[str, Any]) -> Iterator[Problem]:
    yield from _wet_kg(sound)


_RULES: Mapping[str, Callable[[Mapping[str, Any], Mapping[str, Any]], Iterator[Problem]]] = (
    MappingProxyType({
        "outing": _outing, "track": _track, "bag": _bag, "clip": _clip, "work": _work,
        "past_pick": _past_pick, "notice": _notice, "batch": _batch}))
