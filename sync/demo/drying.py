"""From the piles to the drying floor: lifts, what went astray, and lots with their weights.

Rule 1: what is left behind and what is lost shows only in the counts; nothing else is told.
Rule 2: purity has chance of its own, so that the rest of the story stays as it is.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from sync.demo.picking import KG_A_BAG, PickDone
from sync.demo.place import local
from sync.demo.world import World

#: In 2023/24 four bags stayed behind on the last pile, and two got lost on the way.
STORY_CELL, LEFT_BAGS, LOST_BAGS = "G03", 4, 2
_FOUND = date(2024, 4, 20)
_LOTS_A_SEASON = 31
#: One lot's mean bag against another's.
_LOT_CV = 0.06
#: Clean moss of all that was dried, by ground class; between cells and between lots. Invented. [%]
PURE_PCT: Mapping[str, float] = {"lawn": 95.2, "mound": 97.4, "rushy": 91.5, "edge": 90.0}
_PURE_CELL, _PURE_LOT, _MOIST_PCT, _MOIST_SD = 0.6, 0.9, 12.0, 0.6


def dry(world: World, done: Sequence[PickDone]) -> None:
    """Lift a season's piles, dry them in lots, and enter counts and weights.

    Parameters
    ----------
    world : World
        The block.
    done : sequence of PickDone
        The season's picks; a lift and a lot are of one pile.
    """
    rows: list[dict[str, Any]] = []
    whole = sum(one.bags for one in done)
    quality = world.rng.spawn(1)[0]
    for one in done:
        lots = max(1, round(_LOTS_A_SEASON * one.bags / whole))
        left = one.bags
        pure = PURE_PCT[world.moss.class_of[one.cell]] + _PURE_CELL * quality.normal()
        for i in range(lots):
            bags = round(one.bags / lots) if i < lots - 1 else left
            left -= bags
            bags -= _astray(one) if i == lots - 1 else 0
            kg = bags * KG_A_BAG * float(world.rng.normal(1.0, _LOT_CV))
            rows.append({
                "day": one.last + timedelta(days=30 + i), "person": "O",
                "batch": f"D{one.last.year % 100}-{len(rows) + 1:02d}", "stage": "dried",
                "bags": bags, "from": _lift_label(done, one), "dry_kg": round(kg, 1),
                "moist_pct": round(_MOIST_PCT + _MOIST_SD * quality.normal(), 1),
                "pure_pct": round(min(99.5, pure + _PURE_LOT * quality.normal()), 1),
            })
    rows += [row for one in done for row in _lifted(done, one)]
    world.form("batch", rows, local(done[-1].last + timedelta(days=60), 18))


def _lift_label(done: Sequence[PickDone], one: PickDone) -> str:
    return f"L{done[0].last.year % 100}-{done.index(one) + 1}"


def _astray(one: PickDone) -> int:
    return LEFT_BAGS + LOST_BAGS if one.cell == STORY_CELL else 0


def _lifted(done: Sequence[PickDone], one: PickDone) -> Iterator[dict[str, Any]]:
    """Give the rows of one pile's lift: so many off the pile, so many at the shed."""
    left, lost = (LEFT_BAGS, LOST_BAGS) if one.cell == STORY_CELL else (0, 0)
    lift = {"day": one.last + timedelta(days=3), "person": "P",
            "batch": _lift_label(done, one), "from": for_form(one.pile)}
    yield {**lift, "stage": "lifted", "bags": one.bags - left}
    yield {**lift, "stage": "arrived", "bags": one.bags - left - lost}
    if left:
        # Counted where they lie: a batch that is only weighed has not left its pile.
        yield {**lift, "day": _FOUND, "person": "F", "batch": "F24-1", "stage": "weighed",
               "bags": left, "note": "found on Bale Knoll"}


def for_form(label: str) -> str:
    """Write a label so that a form takes its blanks for its own."""
    return f"{label}|" if " " in label else label
