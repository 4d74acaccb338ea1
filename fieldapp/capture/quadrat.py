"""One quadrat in the making: a few presses on a pad, then SAVE.

Rule 1: the draft is on disk after each press; only `save` makes a record, and it drops the draft
in the same transaction.
Rule 2: nothing is proposed: no value stands before it is pressed.
Rule 3: a saved quadrat is mended the same way; its place and time stay.
Rule 4: the place is frozen where AT THE PLOT was pressed, so that nobody strolls on to nicer moss.

    step     done by                               then
    cover    a value                               depth
    depth    all probes, or enough, or cover 0     scrub
    scrub    a value, or none                      rush
    rush     a value, or none                      check
"""

from collections.abc import Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Any, Literal, Self

from fieldapp.capture.asking import ask
from fieldapp.capture.book import CaptureError, Record, record_of
from fieldapp.capture.correct import Correct
from fieldapp.capture.outing import Outing
from fieldapp.capture.tally import FRAME_M, PROBES
from fieldapp.ground import Plot
from fieldapp.record import Problem, Usual, Where, instant, stamp, where_json, where_of

Step = Literal["cover", "depth", "scrub", "rush", "check"]
STEPS: tuple[Step, ...] = ("cover", "depth", "scrub", "rush", "check")
#: Name of the draft in the book; there is one at a time.
DRAFT = "quadrat"
#: What the keys of the pads go by, and what +5 brings in between. [mm], [%]
KEY_STEP, HALF_STEP = 10, 5
_FIELD: Mapping[str, str] = MappingProxyType(
    {"cover": "cover_pct", "scrub": "scrub_pct", "rush": "rush_pct"})
_MOST: Mapping[str, int] = MappingProxyType(
    {"cover": 100, "depth": 800, "scrub": 100, "rush": 100})
_READ = ("cover_pct", "depth_mm", "scrub_pct", "rush_pct")
_EXTRAS = ("water_table_mm", "ground_class", "clip", "photo", "note")
_KEPT = ("plot", "when", "side_m", *_READ, *_EXTRAS)


class Quadrat:
    """The quadrat that is half noted; made by `begin` or `resume`."""

    def __init__(self, outing: Outing, draft: Record) -> None:
        self._outing = outing
        self._draft = draft

    @classmethod
    def begin(cls, outing: Outing, plot: Plot | None, *, now: datetime, where: Where | None,
              ground_class: str | None = None) -> Self:
        """Begin a quadrat at a plot, or by eye.

        Parameters
        ----------
        outing : Outing
            Who lays the frame.
        plot : Plot or None
            The plot, with when it is for and whether it is a second reading; None by eye.
        now, where : datetime, Where or None
            When and where the frame was laid.
        ground_class : str or None
            For a quadrat by eye; a plot knows its own.

        Returns
        -------
        Quadrat
            Its draft on disk.

        Raises
        ------
        CaptureError
            If no outing is open or another quadrat is half noted.
        """
        outing.carrier()
        if outing.book.draft(DRAFT) is not None:
            raise CaptureError("a quadrat is half noted: go on with it, or throw it away")
        sheet, place = outing.sheet, outing.place(where)
        draft: Record = {
            "plot": plot.name if plot else None, "when": plot.when if plot else "survey",
            "again": bool(plot and plot.again),
            "side_m": sheet.frame_m if sheet else FRAME_M,
            "probes": sheet.probes if sheet else PROBES, "begun": stamp(now),
            "where": None if place is None else where_json(place),
            "ground_class": plot.ground_class if plot else ground_class,
            "depth_mm": [], "enough": False, "back": None, "last": None}
        outing.book.keep_draft(DRAFT, draft)
        return cls(outing, draft)

    @classmethod
    def mend(cls, outing: Outing, seq: int) -> Self:
        """Begin to mend a quadrat that was saved: its values stand until they are pressed over.

        Parameters
        ----------
        outing : Outing
            Who mends it.
        seq : int
            Number of the record, of any day.

        Returns
        -------
        Quadrat
            Its draft on disk; saved, it stands in for the first.

        Raises
        ------
        CaptureError
            If no such quadrat counts or another is half noted.
        """
        if outing.book.draft(DRAFT) is not None:
            raise CaptureError("a quadrat is half noted: go on with it, or throw it away")
        old = Correct(outing).found(seq)
        if old.kind != "quadrat":
            raise CaptureError(f"number {seq} is no quadrat")
        sheet = outing.sheet
        draft: Record = {
            **{name: old.record.get(name) for name in _KEPT},
            "again": bool(old.record.get("again")), "probes": sheet.probes if sheet else PROBES,
            "begun": stamp(old.at), "where": old.record.get("where"), "enough": True,
            "back": None, "last": None, "mends": seq}
        outing.book.keep_draft(DRAFT, draft)
        return cls(outing, draft)

    @property
    def mends(self) -> int | None:
        """Number of the saved quadrat that this one is to stand in for; None for a new one."""
        seq: int | None = self._draft.get("mends")
        return seq

    @classmethod
    def resume(cls, outing: Outing) -> Self | None:
        """Go on with the quadrat that was half noted when the app was left or killed."""
        draft = outing.book.draft(DRAFT)
        return None if draft is None else cls(outing, draft)

    @property
    def draft(self) -> Mapping[str, Any]:
        """What is noted so far, under the names of a record's fields."""
        return MappingProxyType(self._draft)

    @property
    def plot(self) -> str | None:
        """The plot's name; None by eye."""
        name: str | None = self._draft["plot"]
        return name

    @property
    def where(self) -> Where | None:
        """The place, as frozen at the beginning."""
        return where_of(self._draft)

    @property
    def mean_depth_mm(self) -> float | None:
        """Mean of the depths so far [mm]; None before the first."""
        depths = self._draft["depth_mm"]
        return sum(depths) / len(depths) if depths else None

    @property
    def step(self) -> Step:
        """The pad that is up: the one stepped back to, else the first that lacks a value."""
        back: Step | None = self._draft["back"]
        if back is not None:
            return back
        return next((step for step in STEPS if self._lacks(step)), "check")

    def value(self, value: int) -> None:
        """Press a value of the pad that is up; a step that was stepped back to is begun anew.

        Parameters
        ----------
        value : int
            Cover, scrub or rush [%], or one depth [mm].

        Raises
        ------
        CaptureError
            If it is out of the pad's limits, or no pad is up.
        """
        step = self.step
        if step == "check" or not 0 <= value <= _MOST[step]:
            raise CaptureError(f"{step}: {value!r} is no value of this pad")
        changes: Record = {"back": None, "last": step}
        if step == "depth":
            before = [] if self._draft["back"] else self._draft["depth_mm"]
            changes |= {"depth_mm": [*before, value], "enough": False}
        else:
            changes[_FIELD[step]] = value
            if step == "cover" and value == 0:
                changes["depth_mm"] = []
        self._keep(changes)

    def plus_five(self) -> bool:
        """Add 5 to the value pressed last; False if that is out of reach and nothing changed."""
        last = self._draft["last"]
        if last is None:
            return False
        old = self._draft["depth_mm"][-1] if last == "depth" else self._draft[_FIELD[last]]
        new = old + HALF_STEP
        if new > _MOST[last]:
            return False
        self._keep({"depth_mm": [*self._draft["depth_mm"][:-1], new]} if last == "depth"
                   else {_FIELD[last]: new})
        return True

    def enough(self) -> None:
        """End the depths early."""
        if self.step != "depth":
            raise CaptureError(f"{self.step}: only depths can be enough")
        self._keep({"enough": True, "back": None, "last": None})

    def none(self) -> None:
        """Note that there is neither scrub nor rush, or no rush."""
        step = self.step
        if step not in ("scrub", "rush"):
            raise CaptureError(f"{step}: only scrub and rush can be none")
        both = {"scrub_pct": 0} if step == "scrub" else {}
        self._keep({**both, "rush_pct": 0, "back": None, "last": None})

    def clear(self) -> bool:
        """Take back the last value; False if there was none and nothing changed."""
        step = self._draft["back"] or self._last_filled()
        if step is None or step == "check":
            return False
        changes: Record = {"back": None, "last": None}
        if step == "depth":
            changes |= {"depth_mm": self._draft["depth_mm"][:-1], "enough": False}
        else:
            changes[_FIELD[step]] = None
        self._keep(changes)
        return True

    def change(self) -> None:
        """Step back by one step; its values stay until they are pressed over."""
        steps = [step for step in STEPS
                 if step != "depth" or self._draft.get("cover_pct") != 0]
        here = steps.index(self.step)
        self._keep({"back": steps[max(0, here - 1)], "last": None})

    def keep(self) -> None:
        """Go on from a step that was stepped back to, its values as they stand."""
        self._keep({"back": None, "last": None})

    def add(self, **extras: Any) -> None:
        """Note what lies beside the pads; None takes it back.

        Parameters
        ----------
        **extras
            `water_table_mm` [mm, negative below the surface], `ground_class`, `clip` (label),
            `photo` (name), `note`.

        Raises
        ------
        CaptureError
            For any other name.
        """
        unknown = [name for name in extras if name not in _EXTRAS]
        if unknown:
            raise CaptureError(f"{unknown[0]} is nothing that is noted beside the pads")
        self._keep(extras)

    def questions(self, *, now: datetime, usual: Usual) -> tuple[Problem, ...]:
        """Find what to ask once before it is saved.

        Parameters
        ----------
        now : datetime
            Aware.
        usual : Usual
            What is usual today.

        Returns
        -------
        tuple of Problem
            The record's soft limits, and whether it reads as the quadrat before it throughout.
        """
        fields = self._fields()
        odd = ask({**fields, "kind": "quadrat"}, outing=self._outing, now=now, usual=usual)
        before = self._outing.noted.of("quadrat")
        same = before and all(before[-1].record.get(name) == fields[name] for name in _READ)
        if same and self.mends is None:
            odd += (Problem("plot", before[-1].record.get("plot"),
                            "the same values as the quadrat before: sure?"),)
        return odd

    def save(self, *, now: datetime, press_ms: int | None = None) -> Record:
        """Make the record and drop the draft, both or neither.

        Parameters
        ----------
        now : datetime
            Aware; the fix has aged since the frame was laid.
        press_ms : int or None
            How long the press was. [ms]

        Returns
        -------
        dict
            The record, on disk.

        Raises
        ------
        CaptureError
            If a step lacks its value or no outing is open.
        """
        if self.step != "check":
            raise CaptureError(f"{self.step} is not noted yet")
        if self.mends is not None:
            return Correct(self._outing).change(self.mends, now=now, where=None, drop_draft=DRAFT,
                                                press_ms=press_ms, **self._fields())
        return self._outing.write(
            record_of("quadrat", now=now, where=self._aged(now), person=self._outing.carrier(),
                      press_ms=press_ms, **self._fields()), drop_draft=DRAFT)

    def throw(self) -> None:
        """Throw the draft away; no record."""
        self._outing.book.drop_draft(DRAFT)

    def _fields(self) -> Record:
        draft = self._draft
        fields = {name: draft.get(name) for name in _KEPT}
        return {**fields, "again": draft["again"] or None,
                "cover_step_pct": _step_of([draft.get("cover_pct") or 0]),
                "depth_step_mm": _step_of(draft["depth_mm"])}

    def _aged(self, now: datetime) -> Where | None:
        where = self.where
        if where is None:
            return None
        since = (now - instant(self._draft["begun"])).total_seconds()
        return where._replace(age_s=where.age_s + max(0.0, since))

    def _lacks(self, step: Step) -> bool:
        if step == "depth":
            return (self._draft["cover_pct"] != 0 and not self._draft["enough"]
                    and len(self._draft["depth_mm"]) < self._draft["probes"])
        return step != "check" and self._draft.get(_FIELD[step]) is None

    def _last_filled(self) -> Step | None:
        if self._draft.get("rush_pct") is not None:
            return "rush"
        if self._draft.get("scrub_pct") is not None:
            return "scrub"
        if self._draft["depth_mm"] or self._draft["enough"]:
            return "depth"
        return "cover" if self._draft.get("cover_pct") is not None else None

    def _keep(self, changes: Mapping[str, Any]) -> None:
        draft = {**self._draft, **changes}
        self._outing.book.keep_draft(DRAFT, draft)
        self._draft = draft


def _step_of(values: list[int]) -> int:
    """Give the step the values were read to: 5 once +5 was used."""
    return HALF_STEP if any(value % KEY_STEP for value in values) else KEY_STEP
