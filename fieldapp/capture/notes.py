"""Everything else that is noted in the field: marks, work, clips, weighings.

Rule 1: a name or label is proposed, never asked for; what is written on the tag is what is kept.
Rule 2: a clip's place and day are its quadrat's, so that it is linked by its label alone.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, tzinfo
from typing import Any

from fieldapp.capture.asking import ask
from fieldapp.capture.book import Record
from fieldapp.capture.counts import Standing
from fieldapp.capture.days import season_bounds
from fieldapp.capture.labels import labels_in, next_label, phone_code
from fieldapp.capture.outing import Outing
from fieldapp.capture.places import distance_m
from fieldapp.capture.quadrat import DRAFT
from fieldapp.record import Problem, Usual, Where

#: A pile marked within this distance is the one that bags go to. [m]
PILE_REACH_M = 50.0


class Notes:
    """What this phone notes beside bags and quadrats.

    Parameters
    ----------
    outing : Outing
        Who carries the phone.
    zone : tzinfo
        The block's time zone: names begin again with the season.
    """

    def __init__(self, outing: Outing, *, zone: tzinfo) -> None:
        self._outing = outing
        self._zone = zone

    def label(self) -> str:
        """Propose the next label: on this phone's tags, the sheet's piles and in no draft yet."""
        sheet = self._outing.sheet
        code = sheet.for_phone if sheet else phone_code(self._outing.book.device)
        draft = self._outing.book.draft(DRAFT) or {}
        piles = [mark.name for mark in sheet.marks if mark.what == "pile"] if sheet else []
        used = [*labels_in(self._outing.noted.records()), *piles,
                *labels_in([{**draft, "kind": "quadrat"}])]
        return next_label(used, code=code, label_from=sheet.label_from if sheet else 1)

    def name(self, what: str, now: datetime) -> str:
        """Propose the name of a mark.

        Parameters
        ----------
        what : str
            As in `mark`.
        now : datetime
            Aware.

        Returns
        -------
        str
            A pile's is a label; else the word and one past this season's highest number.
        """
        if what == "pile":
            return self.label()
        pattern = re.compile(rf"\A{re.escape(what)} ([0-9]{{1,9}})\Z")
        numbers = [int(found.group(1)) for name in self._names(what, now)
                   if (found := pattern.match(name))]
        return f"{what} {max(numbers, default=0) + 1}"

    def mark(self, what: str, *, now: datetime, where: Where | None, name: str | None = None,
             photo: str | None = None, note: str | None = None,
             press_ms: int | None = None) -> Record:
        """Note a mark.

        Parameters
        ----------
        what : str
            pile, hazard, drain, weed, peg or other.
        now, where : datetime, Where or None
            When and where.
        name : str or None
            None takes the proposed one.
        photo, note : str or None
            Name of a photo; words.
        press_ms : int or None
            How long the press was. [ms]

        Returns
        -------
        dict
            The record, on disk.
        """
        return self._outing.note("mark", now=now, where=where, what=what, photo=photo, note=note,
                                 name=self.name(what, now) if name is None else name,
                                 press_ms=press_ms)

    def pile_near(self, where: Where | None, now: datetime) -> str | None:
        """Give the pile that bags go to.

        Parameters
        ----------
        where : Where or None
            Where the phone is.
        now : datetime
            Aware; this season's piles count.

        Returns
        -------
        str or None
            Label of the last pile this phone marked, if it is within 50 m; else None.
        """
        piles = [one for one in self._marks(now) if one.record["what"] == "pile"]
        if where is None or not piles or piles[-1].where is None:
            return None
        near = distance_m(piles[-1].where, where) <= PILE_REACH_M
        return str(piles[-1].record["name"]) if near else None

    def work(self, what: str, cells: Sequence[str], *, now: datetime, where: Where | None,
             hours: float | None = None, note: str | None = None,
             press_ms: int | None = None) -> Record:
        """Note work done in some cells.

        Parameters
        ----------
        what : str
            scrub_cut, rolled, slash_stacked, reseeded or drain_blocked.
        cells : sequence of str
            At least one.
        now, where : datetime, Where or None
            When and where it was noted.
        hours : float or None
            Time it took. [h]
        note : str or None
            Words.
        press_ms : int or None
            How long the press was. [ms]

        Returns
        -------
        dict
            The record, on disk.
        """
        return self._outing.note("work", now=now, where=where, what=what, cells=list(cells),
                                 hours=hours, note=note, press_ms=press_ms)

    def clip(self, label: str, *, now: datetime, where: Where | None, cut: str | None = None,
             area_m2: float | None = None, from_mm: int | None = None, to_mm: int | None = None,
             note: str | None = None, press_ms: int | None = None) -> Record:
        """Note a clip as cut; it is weighed at the shed.

        Parameters
        ----------
        label : str
            As on its tag.
        now, where : datetime, Where or None
            When and where.
        cut : str or None
            frame (all moss of it) or plug (in full cover).
        area_m2 : float or None
            Area cut. [m²]
        from_mm, to_mm : int or None
            Layer cut, counted down from the surface. [mm]
        note : str or None
            Words.
        press_ms : int or None
            How long the press was. [ms]

        Returns
        -------
        dict
            The record, on disk.
        """
        return self._outing.note("clip", now=now, where=where, clip=label, cut=cut,
                                 area_m2=area_m2, from_mm=from_mm, to_mm=to_mm, note=note,
                                 press_ms=press_ms)

    def weigh(self, bags: float, wet_kg: float, *, now: datetime, where: Where | None,
              label: str | None = None, from_: Sequence[str] = (),
              press_ms: int | None = None) -> Record:
        """Note bags on the scale, with a label to tie on.

        Parameters
        ----------
        bags : float
            How many. [bags]
        wet_kg : float
            Of all of them. [kg]
        now, where : datetime, Where or None
            When and where.
        label : str or None
            None takes the proposed one.
        from_ : sequence of str
            Labels of the piles they come from.
        press_ms : int or None
            How long the press was. [ms]

        Returns
        -------
        dict
            The record, on disk.
        """
        fields = _weighing(bags, wet_kg, self.label() if label is None else label)
        return self._outing.note("batch", now=now, where=where, from_=list(from_) or None,
                                 press_ms=press_ms, **fields)

    def weighing_questions(self, bags: float, wet_kg: float, *, now: datetime,
                           usual: Usual) -> tuple[Problem, ...]:
        """Find what to ask once before a weighing is kept, against today's mean bag."""
        asked = {**_weighing(bags, wet_kg, self.label()), "kind": "batch"}
        return ask(asked, outing=self._outing, now=now, usual=usual)

    def _names(self, what: str, now: datetime) -> Iterator[str]:
        sheet = self._outing.sheet
        yield from (one.record["name"] for one in self._marks(now) if one.record["what"] == what)
        if sheet is not None:
            yield from (mark.name for mark in sheet.marks if mark.what == what)
            yield from (peg.name for peg in sheet.pegs if what == "peg")

    def _marks(self, now: datetime) -> list[Standing]:
        sheet = self._outing.sheet
        season = season_bounds(now, self._zone, sheet.season_start if sheet else None)
        return self._outing.noted.of("mark", within=season)


def _weighing(bags: float, wet_kg: float, label: str) -> Mapping[str, Any]:
    return {"batch": label, "stage": "weighed", "bags": bags, "wet_kg": wet_kg}
