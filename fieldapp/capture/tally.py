"""The tally: one more bag, and how many there are.

Rule 1: a bag is written whatever the ground or the position say; the shed flags, the owner rules.
Rule 2: counts come from the book: what is undone does not count, what was mended counts as mended.
Rule 3: a bag belongs to the day on which it was first noted, by the block's own midnight.
"""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime, tzinfo

from fieldapp.capture.book import Record
from fieldapp.capture.counts import Standing
from fieldapp.capture.days import day_bounds, season_bounds
from fieldapp.capture.outing import Outing
from fieldapp.ground import cell_at
from fieldapp.record import Usual, Where

#: The block's usual frame and probes, where no sheet says otherwise.
FRAME_M = 0.5
PROBES = 3


class Tally:
    """The bags of this phone.

    Parameters
    ----------
    outing : Outing
        Who carries the phone.
    zone : tzinfo
        The block's time zone.
    """

    def __init__(self, outing: Outing, *, zone: tzinfo) -> None:
        self._outing = outing
        self._zone = zone

    def bag(self, *, now: datetime, where: Where | None, bags: float = 1.0,
            for_: str | None = None, type_: str | None = None, wet_kg: float | None = None,
            pile: str | None = None, press_ms: int | None = None) -> Record:
        """Note bags; in a pause too, then without a place.

        Parameters
        ----------
        now, where : datetime, Where or None
            When and where the key was pressed.
        bags : float
            0.5 to 40, in halves.
        for_ : str or None
            Person code of whose bags they are, if not of who carries the phone.
        type_ : str or None
            Kind of bag; None for the usual.
        wet_kg : float or None
            Of all of them. [kg]
        pile : str or None
            Label of the pile they wait on.
        press_ms : int or None
            How long the press was. [ms]

        Returns
        -------
        dict
            The record, on disk.

        Raises
        ------
        CaptureError
            If no outing is open.
        """
        whose = None if for_ == self._outing.person else for_
        return self._outing.note("bag", now=now, where=where, bags=bags, for_=whose, type_=type_,
                                 wet_kg=wet_kg, pile=pile, press_ms=press_ms)

    def by_person(self, now: datetime) -> dict[str, float]:
        """Give today's bags by whose they are, those of nobody left out.

        Parameters
        ----------
        now : datetime
            Aware; its local day counts.

        Returns
        -------
        dict of str to float
            Bags by person code. [bags]
        """
        bags: defaultdict[str, float] = defaultdict(float)
        for one in self._today(now):
            bags[one.whose] += one.record["bags"]
        return dict(bags)

    def bags_today(self, now: datetime, whose: str | None = None) -> float:
        """Give one person's bags of today; by default of who carries the phone. [bags]."""
        return self.by_person(now).get(whose or self._outing.person or "", 0.0)

    def bags_on(self, pile: str, now: datetime) -> float:
        """Give the bags this phone has noted on a pile this season; labels come again. [bags]."""
        sheet = self._outing.sheet
        season = season_bounds(now, self._zone, sheet.season_start if sheet else None)
        return self._outing.noted.bags_on(pile, within=season)

    def number_of(self, seq: int, now: datetime) -> float | None:
        """Give the running number of a bag of today, as UNDO names it.

        Parameters
        ----------
        seq : int
            Number of the bag's record.
        now : datetime
            Aware; its local day counts.

        Returns
        -------
        float or None
            The bags of that person today up to and with it; None if it does not count. [bags]
        """
        today = self._today(now)
        asked = next((one for one in today if one.seq == seq), None)
        if asked is None:
            return None
        return _bags_in(one for one in today
                        if one.whose == asked.whose and one.first <= asked.first)

    def cells_picked(self) -> tuple[str, ...]:
        """Give the cells this outing has noted bags in, most bags first, for END to ask about.

        Returns
        -------
        tuple of str
            By the fix of each bag, else the confirmed cell.
        """
        bags: defaultdict[str, float] = defaultdict(float)
        for one in self._outing.noted.of("bag", first_seq=self._outing.first_seq):
            cell = self._cell_under(one.where)
            if cell is not None:
                bags[cell] += one.record["bags"]
        return tuple(sorted(bags, key=lambda cell: (-bags[cell], cell)))

    def usual(self, now: datetime) -> Usual:
        """Give what is usual today, for the questions asked before a record is kept."""
        sheet = self._outing.sheet
        today = day_bounds(now, self._zone)
        weighed = [one.record for kind in ("bag", "batch")
                   for one in self._outing.noted.of(kind, within=today)
                   if one.record.get("wet_kg") and one.record.get("bags")]
        bags = sum(record["bags"] for record in weighed)
        mean = sum(record["wet_kg"] for record in weighed) / bags if bags else None
        return Usual(sheet.frame_m if sheet else FRAME_M, mean, sheet.probes if sheet else PROBES)

    def _today(self, now: datetime) -> list[Standing]:
        return self._outing.noted.of("bag", within=day_bounds(now, self._zone))

    def _cell_under(self, where: Where | None) -> str | None:
        sheet = self._outing.sheet
        if where is None or sheet is None:
            return self._outing.cell
        cell = cell_at(sheet, *sheet.map.to_m(where.lat, where.lon))
        return None if cell is None else cell.name


def _bags_in(noted: Iterable[Standing]) -> float:
    return float(sum(one.record["bags"] for one in noted))
