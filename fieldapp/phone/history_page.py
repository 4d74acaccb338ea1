"""HISTORY, CORRECT: all that the phone holds, day by day, to see and to mend.

Rule 1: nothing is hidden: what was undone or mended stays in sight.
Rule 2: of positions it says how many are kept, never a path or a pace.
"""

import dataclasses
from collections.abc import Mapping
from datetime import date
from typing import Any

from fieldapp.capture.book import CaptureError
from fieldapp.capture.history import Line, days_held, history_of
from fieldapp.capture.quadrat import Quadrat
from fieldapp.phone.footer import BACK
from fieldapp.phone.keys import NO_KEY, Act, Done, Key, Pressed, stay
from fieldapp.phone.pages import ChoiceShown, PadShown, value_keys
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, count, figure, joined, raw, say
from fieldapp.phone.things import thing
from fieldapp.phone.work import saved
from fieldapp.record import instant

ROWS = 5
BAGS = (0.5, 1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20)
_STANDING: dict[str, Say | None] = {
    "stands": None, "undone": say("undone"), "mended": say("mended")}
_MENDED = ("bag", "quadrat", "batch", "mark", "skip", "work", "clip")


@dataclasses.dataclass(frozen=True)
class Row:
    """One line of the history: its key, and whether it is struck through."""

    key: Key
    struck: bool


@dataclasses.dataclass(frozen=True)
class HistoryShown:
    """A page of the history."""

    title: Say
    rows: tuple[Row, ...]
    footer: tuple[Key, ...]


@dataclasses.dataclass(frozen=True)
class NoteShown:
    """The page on which a note is typed, bare-handed."""

    title: Say
    text: str
    footer: tuple[Key, ...]


class History:
    """Where one is in the history."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone
        self._day: date | None = None
        self._page = 0
        self._seq: int | None = None
        self._aside = ""
        self.typed = ""

    def shown(self) -> HistoryShown | ChoiceShown | PadShown | NoteShown:
        """Give the page that is up."""
        line = self._line()
        if self._day is None:
            return self._days()
        if line is None:
            return self._lines()
        if self._aside == "again":
            return PadShown(joined(thing(line.record), say("HOW MANY?")), NOTHING, (),
                            value_keys(BAGS), (NO_KEY, NO_KEY, BACK))
        if self._aside == "note":
            return NoteShown(joined(thing(line.record), say("NOTE")),
                             str(line.record.get("note") or ""),
                             (NO_KEY, Key("keep", say("SAVE")), BACK))
        return self._detail(line)

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        word, _, what = pressed.name.partition(" ")
        line = self._line()
        if word == "undo" and line is not None:
            return self._undo(line, pressed.press_ms)
        if word == "value" and line is not None:
            return self._change(line, pressed.press_ms, bags=float(what))
        if word == "keep" and line is not None:
            return self._change(line, pressed.press_ms, note=self.typed.strip() or None)
        if word == "again" and line is not None and line.record["kind"] == "quadrat":
            return self._quadrat(line)
        return NOTHING, lambda: self._go(word, what)

    def back(self) -> Done:
        """Step back by one page."""
        if self._aside:
            self._aside = ""
        elif self._seq is not None:
            self._seq = None
        elif self._day is not None:
            self._day, self._page = None, 0
        else:
            return Done("B0", "day")
        return stay()

    def _go(self, word: str, what: str) -> Done:
        if word == "up":
            self._page = max(0, self._page - 1)
        elif word == "down":
            self._page += 1
        elif word == "day":
            self._day, self._page = date.fromisoformat(what), 0
        elif word == "line":
            self._seq = int(what)
        elif word in ("again", "note"):
            self._aside = word
        return stay()

    def _days(self) -> HistoryShown:
        held = days_held(self._phone.outing, zone=self._phone.zone)
        rows = tuple(Row(Key(f"day {one.day.isoformat()}", say(
            "{day}", day=figure("day", one.day)), sub=joined(
                count(one.count, "{n} record", "{n} records"),
                count(one.points, "{n} position kept", "{n} positions kept")
                if one.points else None)), struck=False) for one in held)
        return self._paged(say("HISTORY"), rows)

    def _lines(self) -> HistoryShown:
        day = self._day or self._phone.today()
        lines = history_of(self._phone.outing, day, zone=self._phone.zone)
        return self._paged(say("{day}", day=figure("day", day)), tuple(map(self._row, lines)))

    def _paged(self, title: Say, rows: tuple[Row, ...]) -> HistoryShown:
        pages = max(1, -(-len(rows) // ROWS))
        self._page = min(self._page, pages - 1)
        first = self._page * ROWS
        shown = rows[first:first + ROWS]
        if rows:
            title = joined(title, say("{first}–{last} of {all}", first=first + 1,
                                      last=first + len(shown), all=len(rows)))
        up = Key("up", say("UP")) if self._page else NO_KEY
        down = Key("down", say("DOWN")) if self._page < pages - 1 else NO_KEY
        return HistoryShown(title, shown, (up, down, BACK))

    def _row(self, line: Line) -> Row:
        record = line.record
        text = joined(say("{clock}", clock=figure("clock", instant(record["at"]))),
                      thing(record), by="  ")
        held = self._phone.journal.acknowledged()
        sent = any(first <= record["seq"] <= last for first, last in held)
        return Row(Key(f"line {record['seq']}", text,
                       sub=joined(_STANDING[line.standing], say("sent") if sent else None)),
                   struck=line.standing != "stands")

    def _detail(self, line: Line) -> ChoiceShown:
        record = line.record
        keys: list[Key] = []
        if line.standing == "stands" and record["kind"] in _MENDED:
            keys.append(Key("undo", say("UNDO THIS"), kind="slow"))
            if record["kind"] in ("bag", "quadrat"):
                keys.append(Key("again", say("DO AGAIN")))
            keys.append(Key("note", say("NOTE")))
        return ChoiceShown(joined(say("{clock}", clock=figure("clock", instant(record["at"]))),
                                  thing(record), by="  "),
                           tuple(keys), (NO_KEY, NO_KEY, BACK), self._fields(line), columns=1)

    def _fields(self, line: Line) -> tuple[Say, ...]:
        record = line.record
        where = record.get("where")
        place = say("no position") if not where else joined(
            say("{lat}", lat=figure("latitude", where["lat"])),
            say("{lon}", lon=figure("longitude", where["lon"])), by=" ")
        note = record.get("note")
        return tuple(one for one in (
            joined(raw(f"{record['device']}:{record['seq']}"),
                   raw(self._phone.call(record["person"])), _STANDING[line.standing]),
            _values(record), place, raw(note) if note else NOTHING) if one != NOTHING)

    def _line(self) -> Line | None:
        if self._day is None or self._seq is None:
            return None
        lines = history_of(self._phone.outing, self._day, zone=self._phone.zone)
        return next((one for one in lines if one.record["seq"] == self._seq), None)

    def _undo(self, line: Line, press_ms: int) -> tuple[Say, Act]:
        phone, now, where = self._phone, self._phone.now(), self._phone.where()
        named = thing(line.record)

        def act() -> Done:
            phone.correct.void(line.record["seq"], now=now, where=where, press_ms=press_ms)
            self._seq = None
            return Done("B2", said=say("{thing} undone", thing=named))
        return say("undo {thing}", thing=named), act

    def _change(self, line: Line, press_ms: int, **fields: Any) -> tuple[Say, Act]:
        phone, now, where = self._phone, self._phone.now(), self._phone.where()
        named = thing(line.record)

        def act() -> Done:
            phone.correct.change(line.record["seq"], now=now, where=where, press_ms=press_ms,
                                 **fields)
            self._seq, self._aside = None, ""
            return Done("B1", said=joined(say("{thing} mended", thing=named), saved(now)))
        return named, act

    def _quadrat(self, line: Line) -> tuple[Say, Act]:
        def act() -> Done:
            try:
                Quadrat.mend(self._phone.outing, line.record["seq"])
            except CaptureError:
                return Done("B3", "quadrat", say("A quadrat is half noted: go on with it"))
            return Done("B0", "quadrat")
        return NOTHING, act


def _values(fields: Mapping[str, Any]) -> Say:
    if fields.get("kind") != "quadrat":
        return NOTHING
    depths = " ".join(map(str, fields["depth_mm"])) or "–"
    return joined(say("cover {pct}", pct=figure("pct", fields["cover_pct"])),
                  say("depth {list}", list=depths))
