"""P3 QUADRAT: a few presses on a pad, then CHECK and SAVE.

Rule 1: each press is in the draft on disk before the page turns; only SAVE makes a record.
Rule 2: what is odd is asked as a line on CHECK, never as a box.
"""

import dataclasses
from collections.abc import Callable, Mapping
from typing import Any

from fieldapp.capture.quadrat import Quadrat
from fieldapp.phone.footer import BACK, help_key
from fieldapp.phone.keys import NO_KEY, Act, Done, Key, Pressed, opens, stay
from fieldapp.phone.pages import ChoiceShown, PadShown, value_keys
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, figure, joined, raw, say
from fieldapp.phone.tunables import SAVE_ARMS_MS
from fieldapp.phone.work import saved

SHARES = (0, 5, 10, 20, 30, 40, 50, 60, 70, 80, 90, 100)
DEPTHS = tuple(tuple(range(first, first + 120, 10)) for first in (10, 130, 250))
WATER = (-300, -250, -200, -150, -100, -75, -50, -25, -10, 0, 25, 50)
_TITLES = {"cover": say("COVER %"), "scrub": say("SCRUB %"), "rush": say("RUSH %")}


@dataclasses.dataclass(frozen=True)
class CheckShown:
    """What CHECK shows.

    Attributes
    ----------
    title : Say
        The plot.
    left, right : tuple of Say
        All that is noted, in two columns.
    questions : tuple of Say
        What is odd.
    save : Key
        SAVE.
    extras, footer : tuple of Key
        WATER, CLIP, GROUND; CHANGE, THROW, OK·HELP.
    """

    title: Say
    left: tuple[Say, ...]
    right: tuple[Say, ...]
    questions: tuple[Say, ...]
    save: Key
    extras: tuple[Key, ...]
    footer: tuple[Key, ...]


class QuadratScreen:
    """The pages of the quadrat that is half noted."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone
        self._page = 0
        self._aside = ""

    def shown(self) -> PadShown | CheckShown | ChoiceShown | None:
        """Give what P3 shows now; None once there is no draft."""
        quadrat = Quadrat.resume(self._phone.outing)
        if quadrat is None:
            return None
        if self._aside == "water":
            return self._water(quadrat)
        if self._aside == "ground":
            return self._ground()
        return self._check(quadrat) if quadrat.step == "check" else self._pad(quadrat)

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        quadrat = Quadrat.resume(self._phone.outing)
        word, _, value = pressed.name.partition(" ")
        if word in ("help", "clip") or quadrat is None:
            return NOTHING, opens(word if quadrat else "work")
        if word == "save":
            return self._save(quadrat, pressed.press_ms)
        if self._aside:
            return NOTHING, lambda: self._put_aside(quadrat, word, value)
        acts: dict[str, Callable[[], Done]] = {
            "value": lambda: self._value(quadrat, int(value)),
            "plus": lambda: self._plus(quadrat), "enough": lambda: self._did(quadrat.enough),
            "none": lambda: self._did(quadrat.none), "clear": lambda: self._clear(quadrat),
            "change": lambda: self._did(quadrat.change),
            "keep": lambda: self._did(quadrat.keep), "page": self._turn,
            "throw": lambda: self._throw(quadrat), "water": lambda: self._open("water"),
            "ground": lambda: self._open("ground")}
        return _title(quadrat), acts.get(word, stay)

    def back(self) -> Done:
        """Leave the page; the draft stays."""
        if self._aside:
            return self._open("")
        return Done("B0", "work")

    def _pad(self, quadrat: Quadrat) -> PadShown:
        step, draft = quadrat.step, quadrat.draft
        # A pad stepped back to keeps its values until they are pressed over.
        back = draft["back"] is not None
        left = Key("change", say("CHANGE")) if back else Key("clear", say("CLEAR"))
        plus = Key("plus", raw("+5"))
        keep = Key("keep", say("KEEP")) if back else NO_KEY
        if step != "depth":
            side = NO_KEY if step == "cover" else Key("none", say("NONE"))
            return PadShown(joined(_title(quadrat), _TITLES[step]), _slots(quadrat),
                            (keep if back else side,), value_keys(SHARES),
                            (left, plus, help_key(self._phone)))
        noted = 0 if back else len(draft["depth_mm"])
        title = say("DEPTH mm {n} of {all}", n=min(noted + 1, draft["probes"]),
                    all=draft["probes"])
        turn = DEPTHS[(self._page + 1) % len(DEPTHS)][0]
        return PadShown(joined(_title(quadrat), title), _slots(quadrat),
                        (keep if back else Key("enough", say("ENOUGH")),),
                        value_keys(DEPTHS[self._page % len(DEPTHS)]),
                        (left, plus, Key("page", say("{n} >", n=turn))))

    def _check(self, quadrat: Quadrat) -> CheckShown:
        phone, draft = self._phone, quadrat.draft
        mean, where = quadrat.mean_depth_mm, quadrat.where
        odd = quadrat.questions(now=phone.now(), usual=phone.tally.usual(phone.now()))
        here = say("here, no position") if where is None else say(
            "here ± {radius}", radius=figure("metres", where.acc_m or 0.0))
        return CheckShown(
            title=joined(_title(quadrat), say("CHECK")),
            left=(say("cover {pct}", pct=figure("pct", draft["cover_pct"])),
                  say("depth {list}", list=" ".join(map(str, draft["depth_mm"])) or "–"),
                  NOTHING if mean is None else say("mean {n} mm", n=figure("number", mean)), here),
            right=(say("scrub {pct}", pct=figure("pct", draft["scrub_pct"])),
                   say("rush {pct}", pct=figure("pct", draft["rush_pct"])),
                   raw(draft.get("ground_class") or "–"),
                   say("clip {label}", label=draft.get("clip") or "–"), _water_line(draft)),
            questions=tuple(say(one.reason) for one in odd),
            save=Key("save", say("SAVE"), tone="main", arms_ms=SAVE_ARMS_MS),
            extras=(Key("water", say("WATER")), Key("clip", say("CLIP")),
                    Key("ground", say("GROUND"))),
            footer=(Key("change", say("CHANGE")), Key("throw", say("THROW"), kind="hold"),
                    help_key(phone)))

    def _water(self, quadrat: Quadrat) -> PadShown:
        lit = quadrat.draft.get("water_table_mm")
        return PadShown(say("WATER mm, − is below the moss"), NOTHING, (), value_keys(WATER, lit),
                        (NO_KEY, Key("unmeasured", say("NOT MEASURED")), BACK))

    def _ground(self) -> ChoiceShown:
        sheet = self._phone.sheet
        classes = sorted({one.ground_class for one in (sheet.cells if sheet else ())
                          if one.ground_class})
        return ChoiceShown(say("WHICH GROUND?"),
                           tuple(Key(f"class {name}", raw(name)) for name in classes[:10]),
                           (NO_KEY, Key("unmeasured", say("NOT KNOWN")), BACK))

    def _put_aside(self, quadrat: Quadrat, word: str, value: str) -> Done:
        field = "water_table_mm" if self._aside == "water" else "ground_class"
        if word == "value":
            quadrat.add(**{field: int(value)})
        elif word == "class":
            quadrat.add(**{field: value})
        elif word == "unmeasured":
            quadrat.add(**{field: None})
        return self._open("")

    def _value(self, quadrat: Quadrat, value: int) -> Done:
        quadrat.value(value)
        self._page = 0
        return stay()

    def _plus(self, quadrat: Quadrat) -> Done:
        return Done("B0") if quadrat.plus_five() else Done("B0", said=say("No more than that"))

    def _clear(self, quadrat: Quadrat) -> Done:
        return Done("B0") if quadrat.clear() else Done("B0", "work")

    def _did(self, step: Callable[[], None]) -> Done:
        step()
        self._page = 0
        return stay()

    def _turn(self) -> Done:
        self._page += 1
        return stay()

    def _open(self, aside: str) -> Done:
        self._aside = aside
        return stay()

    def _throw(self, quadrat: Quadrat) -> Done:
        quadrat.throw()
        return Done("B0", "work", say("Thrown away"))

    def _save(self, quadrat: Quadrat, press_ms: int) -> tuple[Say, Act]:
        now, title, mends = self._phone.now(), _title(quadrat), quadrat.mends
        lines = joined(title, _slots(quadrat), by=" ")

        def act() -> Done:
            quadrat.save(now=now, press_ms=press_ms)
            return Done("B1", "history" if mends else "work", joined(title, saved(now)))
        return lines, act


def _title(quadrat: Quadrat) -> Say:
    plot = quadrat.plot
    return say("plot {plot}", plot=plot) if plot else say("by eye")


def _slots(quadrat: Quadrat) -> Say:
    draft = quadrat.draft
    cover = draft.get("cover_pct")
    first = None if cover is None else say("{pct}", pct=figure("pct", cover))
    depths = [raw(str(depth)) for depth in draft["depth_mm"]]
    rest = [say("scrub {pct}", pct=figure("pct", draft["scrub_pct"]))
            if draft.get("scrub_pct") is not None else None]
    gaps = [raw("__")] if quadrat.step == "depth" else []
    return joined(first, *depths, *gaps, *rest, by="  ")


def _water_line(draft: Mapping[str, Any]) -> Say:
    water = draft.get("water_table_mm")
    return NOTHING if water is None else say("water {n} mm", n=figure("number", water))
