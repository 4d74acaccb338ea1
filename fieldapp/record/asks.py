"""What is worth asking once before a record is kept: the soft limits.

Rule 1: a question never stops a record; the answer "yes" keeps it as it is.
Rule 2: a reason holds no figures, so that the phone can say it in the person's language.
Rule 3: what needs more than the record itself (its outing, its clip's other records) is not asked
here.
"""

import dataclasses
from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType
from typing import Any

from fieldapp.record.limits import problems
from fieldapp.record.names import Problem
from fieldapp.record.place import where_of
from fieldapp.record.rules import plug_density

MANY_BAGS = 4.0
#: Cover from which moss deserves all its probes. [%]
PROBED_COVER_PCT = 5.0
DEEP_MM = 350
ODD_PROBE = 3.0
WET_OVER_DRY = (5.0, 30.0)
USUAL_DENSITY = (4.0, 40.0)
WEAK_ACC_M = 25.0
CLOCK_OFF_S = 120.0


@dataclasses.dataclass(frozen=True)
class Usual:
    """What is usual on the block, from the ground sheet and today's bags.

    Attributes
    ----------
    frame_m : float
        Side of the block's frame. [m]
    wet_kg_per_bag : float or None
        Today's mean; None before the first bag was weighed. [kg]
    probes : int
        Depths to a quadrat.
    """

    frame_m: float
    wet_kg_per_bag: float | None
    probes: int


def questions(record: Mapping[str, Any], *, usual: Usual) -> tuple[Problem, ...]:
    """Find what to ask once before a record is kept.

    Parameters
    ----------
    record : mapping
        About to be written; one with problems is asked nothing.
    usual : Usual
        The block's frame [m], today's mean wet bag [kg], probes to a quadrat.

    Returns
    -------
    tuple of Problem
        What is odd, each with a reason that reads as a question.
    """
    if problems(record):
        return ()
    ask = _ASKS.get(record["kind"])
    given = {key: value for key, value in record.items() if value is not None}
    odd = list(ask(given, usual)) if ask is not None else []
    return (*odd, *_place(record))


def _place(record: Mapping[str, Any]) -> Iterator[Problem]:
    where = where_of(record)
    if where is None:
        return
    if where.acc_m is not None and where.acc_m > WEAK_ACC_M:
        yield Problem("where", where.acc_m, "the position is weak: wait a little?")
    if where.lag_s is not None and abs(where.lag_s) > CLOCK_OFF_S:
        yield Problem("where", where.lag_s, "the phone's clock is off: set it by the satellites?")


def _bag(given: Mapping[str, Any], usual: Usual) -> Iterator[Problem]:
    if given["bags"] > MANY_BAGS:
        yield Problem("bags", given["bags"], "that is many bags at once: sure?")
    yield from _wet_kg(given, usual)


def _wet_kg(given: Mapping[str, Any], usual: Usual) -> Iterator[Problem]:
    mean = usual.wet_kg_per_bag
    if mean is None or "wet_kg" not in given or not given.get("bags"):
        return
    if not mean / 2 <= given["wet_kg"] / given["bags"] <= 2 * mean:
        yield Problem("wet_kg", given["wet_kg"], "a bag is not half or twice as heavy as today's "
                                                 "others: sure?")


def _quadrat(given: Mapping[str, Any], usual: Usual) -> Iterator[Problem]:
    depths, cover_pct = given["depth_mm"], given["cover_pct"]
    if cover_pct == 0 and depths:
        yield Problem("cover_pct", cover_pct, "there are depths but no cover: sure?")
    if cover_pct >= PROBED_COVER_PCT and len(depths) < usual.probes:
        yield Problem("depth_mm", depths, "probes are missing: sure?")
    if any(depth > DEEP_MM for depth in depths):
        yield Problem("depth_mm", depths, "that is very deep: sure?")
    if any(len(depths) > 1 and depth * (len(depths) - 1) > ODD_PROBE * (sum(depths) - depth)
           for depth in depths):
        yield Problem("depth_mm", depths, "one probe is far deeper than the others: sure?")
    if given["side_m"] != usual.frame_m:
        yield Problem("side_m", given["side_m"], "that is not the block's usual frame: sure?")
    if given.get("water_table_mm", 0) > 0 and "hummock" in given.get("ground_class", "").lower():
        yield Problem("water_table_mm", given["water_table_mm"], "water above a hummock: sure?")


def _clip(given: Mapping[str, Any], _: Usual) -> Iterator[Problem]:
    if "wet_g" in given and "dry_g" in given:
        low, high = WET_OVER_DRY
        if not low * given["dry_g"] <= given["wet_g"] <= high * given["dry_g"]:
            yield Problem("dry_g", given["dry_g"], "wet and dry mass are an odd pair: sure?")
    density = plug_density(given)
    low, high = USUAL_DENSITY
    if density is not None and (density > high or (density < low and given.get("cut") == "plug")):
        yield Problem("dry_g", given["dry_g"], "that is odd moss for its volume: sure?")


_ASKS: Mapping[str, Callable[[Mapping[str, Any], Usual], Iterator[Problem]]] = MappingProxyType(
    {"bag": _bag, "batch": _wet_kg, "quadrat": _quadrat, "clip": _clip})
