"""Which quadrats tell what a pick left standing.

Rule 1: before: the latest survey since the pick before; the first day's is of before its bags.
Rule 2: after: those marked `after_pick` from the last day on, until the cell is picked again.
"""

from datetime import date

from sync.crop.chain import CellCrop
from sync.crop.classes import JudgedPick
from sync.survey.readings import surveys_of
from sync.survey.share_kept import CellQuadrats


def quadrats_about(cell: CellCrop, pick: JudgedPick, survey_days: int) -> CellQuadrats:
    """Give the quadrats on both sides of a cell's pick.

    Parameters
    ----------
    cell : CellCrop
        On the day asked about.
    pick : JudgedPick
        One of its picks, no touch.
    survey_days : int
        How long a survey lasts. [days]

    Returns
    -------
    CellQuadrats
        With their indices [L m⁻²]; a side without any is empty.
    """
    first, last = pick.made.first, pick.made.last
    others = [one.made for one in cell.picks if not one.touch and one is not pick]
    since = max((made.last for made in others if made.last < first), default=date.min)
    until = min((made.first for made in others if made.first > last), default=date.max)
    days = sorted({day for made in others for day in made.days if day < first})
    index = {r.reading.name: r.index for r in cell.readings if r.index is not None}
    useful = [r.reading for r in cell.readings if r.reading.name in index]
    surveys = [one for one in surveys_of([r for r in useful if r.day <= first], days,
                                         survey_days=survey_days) if one.day > since]
    before = surveys[-1].readings if surveys else ()
    after = [r for r in useful if r.when == "after_pick" and last <= r.day <= until]
    return CellQuadrats(cell.cell, cell.open_m2, tuple(index[r.name] for r in before),
                        tuple(index[r.name] for r in after))
