"""Touch or pick: judged in the order of first days, by what was known before each.

Rule 1: a pick is judged once; later surveys do not turn a touch into a pick.
Rule 2: where nothing is known of the cell's crop, whatever was taken is a pick.
"""

import operator
from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import timedelta

from sync.block import Block, rule_on
from sync.crop.class_days import OneClass
from sync.crop.classes import ClassCrop, JudgedPick, ReadingIndex, index_by, own_readings
from sync.geometry.swept import Swept
from sync.picks.made import CellTakings, PickMade
from sync.picks.once import Once
from sync.picks.rests import rest_ends
from sync.picks.touch import touches
from sync.settings import Tunables
from sync.survey.density import Densities, of_class
from sync.survey.totals import crop_kg

_A_DAY = timedelta(days=1)


def judged_picks(
    takings: Mapping[str, CellTakings],
    readings: Mapping[str, Sequence[ReadingIndex]],
    class_of: Mapping[str, str],
    open_m2: Mapping[str, float],
    densities: Densities,
    block: Block,
    tunables: Tunables,
    swept: Swept,
    days: Mapping[str, OneClass],
    kept: Once[JudgedPick],
) -> dict[str, tuple[JudgedPick, ...]]:
    """Judge every pick.

    Parameters
    ----------
    takings : mapping
        What was taken, by cell.
    readings : mapping
        Readings with their indices, by cell.
    class_of, open_m2 : mapping
        Ground class and open ground [m²] by cell.
    densities : Densities
        Of the classes. [kg m⁻³]
    block : Block
        Its rules: the months in force on the last day of a pick hold.
    tunables : Tunables
        The share under which a pick only touches.
    swept : Swept
        The ground that hands went over.
    days : mapping of str to OneClass
        The classes on the days before picks; each is told of its picks.
    kept : Once
        What was judged before.

    Returns
    -------
    dict of str to tuple of JudgedPick
        By cell, oldest first.
    """
    judged: dict[str, list[JudgedPick]] = defaultdict(list)
    every = sorted(
        [pick for each in takings.values() for pick in each.picks],
        key=operator.attrgetter("first", "cell"),
    )
    density = {name: of_class(densities, name).mean_kg_m3 for name in days}
    for pick in every:
        name, area_m2 = class_of.get(pick.cell, ""), open_m2.get(pick.cell, 0.0)
        mine, read = days.get(name), readings.get(pick.cell, ())
        before = judged[pick.cell]
        known = None if mine is None else mine.until(pick.first - _A_DAY, judged)

        def judge(
            pick: PickMade = pick, known: ClassCrop | None = known, area_m2: float = area_m2,
            density_kg_m3: float = density.get(name, 0.0),
            read: Sequence[ReadingIndex] = read, before: Sequence[JudgedPick] = before,
        ) -> JudgedPick:
            at_mark = None if known is None else _pickable_at_mark_kg(
                pick, known, read, before, area_m2, density_kg_m3)
            share = _swept_share(pick, swept, area_m2)
            return _judged(pick, at_mark, share, block, tunables)

        before.append(kept.give(
            (pick.cell, pick.first),
            # Its kg first: they are another for every lot, and told apart at a glance.
            (pick.whole, pick, known, read, tuple(before), area_m2, density.get(name),
             swept.by_cell.get(pick.cell)), judge))
        if mine is not None:
            mine.judged(before[-1])
    for each in days.values():
        each.all_judged()
    return {cell: tuple(picks) for cell, picks in judged.items()}


def _judged(
    pick: PickMade,
    at_mark: float | None,
    swept_share: float | None,
    block: Block,
    tunables: Tunables,
) -> JudgedPick:
    typed = None if pick.share_pct is None else pick.share_pct / 100.0
    shares = [one for one in (typed, swept_share) if one is not None]
    touch = touches(
        None if pick.whole is None else pick.whole.kg,
        at_mark,
        area_share=max(shares, default=None),
        touch_pct=tunables.touch_pct,
    )
    months = rule_on(block.rules, pick.last).rest_months
    return JudgedPick(pick, touch, None if touch else rest_ends(pick.last, months), at_mark,
                      swept_share)


def _swept_share(pick: PickMade, swept: Swept, open_m2: float) -> float | None:
    """Give the part of a cell's open ground that a pick swept; None where no track tells. [-]."""
    m2 = swept.m2(pick.cell, pick.first, pick.last)
    return None if m2 is None or open_m2 <= 0.0 else min(1.0, m2 / open_m2)


def _pickable_at_mark_kg(
    pick: PickMade,
    known: ClassCrop,
    readings: Sequence[ReadingIndex],
    judged: Sequence[JudgedPick],
    open_m2: float,
    density_kg_m3: float,
) -> float | None:
    """Give qC of the cell by quadrats from before the pick."""
    if known.prediction is None:
        return None
    before = [r for r in readings if r.reading.day < pick.first]
    mine = own_readings(before, judged)
    own = [r.index for r in mine if r.index is not None]
    index = index_by(known.prediction, mine).index_l_m2
    return known.share_of(own) * crop_kg(open_m2, density_kg_m3, index)
