"""The lines of the truth bench: what each made-up block is like, and which assumption it breaks.

Rule 1: a line that breaks nothing has the truth drawn from what the method assumes, errors of
readers and of growth included.
"""

import dataclasses


@dataclasses.dataclass(frozen=True)
class Case:
    """One line of the bench.

    Attributes
    ----------
    fails : str
        The assumption it breaks, in words; empty where all hold.
    listed : bool
        Whether the ranges must hold here: true where nothing fails and the spread is not beyond
        what they were made for.
    share : float
        Of the cells that are surveyed.
    quadrats : tuple of int
        Least and most quadrats of a cell.
    clips : int
        In the whole block.
    between_cv, within_cv : float
        Of cells about their class, of quadrats about their cell. [-]
    readers_cv : float
        Of a surveyor's cover about the truth. [-]
    reader_high : float
        By how much every surveyor reads too high. [-]
    dots : int
        Quadrats of each surveyor read again with dots counted.
    again : int
        Quadrats of each surveyor read again by the other.
    picks : int
        Cells picked after the survey.
    growth : str
        "logistic" or "saturating".
    growth_times : float
        True rate over what is assumed; 0 draws it from what is assumed.
    depth_slope : float
        Change of density for 100 mm of strand. [-]
    chosen : str
        How surveyed cells and quadrats are chosen: "drawn", "better" cells, or "eye": every second
        surveyed cell only by eye, on its best patch.
    tails : bool
        One cell in twenty holds five times as much.
    """

    name: str
    fails: str = ""
    listed: bool = True
    share: float = 0.4
    quadrats: tuple[int, int] = (1, 4)
    clips: int = 12
    between_cv: float = 0.6
    within_cv: float = 0.8
    readers_cv: float = 0.12
    reader_high: float = 0.0
    dots: int = 0
    again: int = 0
    picks: int = 0
    growth: str = "logistic"
    growth_times: float = 0.0
    depth_slope: float = 0.0
    chosen: str = "drawn"
    tails: bool = False


CASES = (
    Case("12 clips, 40 % surveyed"),
    Case("12 clips, 5 % surveyed", share=0.05),
    Case("no clips", clips=0),
    Case("3 clips", clips=3),
    Case("one quadrat a cell", quadrats=(1, 1)),
    Case("two quadrats a cell", quadrats=(2, 2)),
    Case("40 clips, all surveyed", clips=40, share=1.0),
    Case("12 quadrats read again by dots", dots=12),
    Case("surveyors read each other's, 12 each", again=12),
    Case("picked, growth as assumed", picks=10),
    Case("between-cell CV 0.9", between_cv=0.9, listed=False,
         fails="cells differ more than the ranges are made for"),
    Case("heavy tails", tails=True, listed=False,
         fails="one cell in twenty holds five times as much"),
    Case("density falls by depth", depth_slope=-0.5, clips=20, listed=False,
         fails="moss is half as dense where the strand is 100 mm deeper"),
    Case("better cells chosen", chosen="better", listed=False,
         fails="surveyors chose the better half of the cells"),
    Case("by eye on the best patch", chosen="eye", listed=False,
         fails="every second surveyed cell was read by eye, on the best of three patches"),
    Case("readers 20 % high, no pairs", readers_cv=0.0, reader_high=0.2, listed=False,
         fails="all surveyors read a fifth too much cover"),
    Case("growth a quarter", picks=10, growth_times=0.25, listed=False,
         fails="moss grows a quarter as fast as assumed"),
    Case("growth twice", picks=10, growth_times=2.0, listed=False,
         fails="moss grows twice as fast as assumed"),
    Case("growth not logistic", picks=10, growth="saturating", growth_times=1.0, listed=False,
         fails="growth is fastest right after the pick and slows from there"),
)
