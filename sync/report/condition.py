"""Scrub, water and work in words and figures.

Rule 1: % of the ground and mm to 1, points to 0.1; a change without a second plot has no range.
"""

import statistics
from collections.abc import Sequence

from sync.plan.condition import CellCondition, ClassCondition, Condition, WorkHelped
from sync.report.rounding import MM, PCT, rounded
from sync.report.speech import PLAIN, Speech
from sync.report.table import Shown
from sync.survey.condition import Rewalked
from sync.survey.paired import PairedChange

_NONE = "–"
CELLS = ("cell", "class", "scrub", "at them", "change", "plots", "water", "at them",
         "change", "v. block", "plots", "read")
#: What the two levels of a cell are, and why they may differ.
LEVELS = ("scrub and water: all plots of the latest survey, as in the register and on the "
          "maps; at them: what the plots read in two surveys (plots) read first and last, which "
          "alone tell the change.")
CLASSES = ("class", "scrub: points", "90 % range", "plots", "water v. block: mm", "90 % range",
           "plots")
WORKS = ("done", "what", "cells", "hours", "change", "90 % range", "plots")


def condition_table(found: Condition, speech: Speech = PLAIN) -> Shown:
    """Give the cells with plots read in two surveys."""
    return Shown(CELLS, tuple(_cell(one, speech) for one in found.cells),
                 frozenset({0, 1, 11}))


def _cell(one: CellCondition, speech: Speech) -> tuple[str, ...]:
    scrub, water = one.scrub, one.water
    relative = None if water is None else water.relative_mm
    return (
        one.cell, one.ground_class,
        _level(one.scrub_pct, PCT, speech), _first_and_last(scrub, speech),
        speech.signed(statistics.fmean(p.change for p in scrub), 1) if scrub else _NONE,
        str(len(scrub)) if scrub else _NONE,
        _level(one.water_mm, MM, speech), _first_and_last(water.plots if water else (), speech),
        _NONE if water is None else speech.signed(water.change_mm, 0),
        _NONE if relative is None else speech.signed(relative, 0),
        _NONE if water is None else str(len(water.plots)), speech.day(one.read_on),
    )


def _level(value: float | None, step: float, speech: Speech) -> str:
    """Round as the register does, and then for the eye as the map does."""
    return _NONE if value is None else speech.number(rounded(value, step), 0)


def _first_and_last(plots: Sequence[Rewalked], speech: Speech) -> str:
    if not plots:
        return _NONE
    means = (statistics.fmean(p.before for p in plots), statistics.fmean(p.after for p in plots))
    return "→".join(speech.number(mean, 0) for mean in means)


def class_condition_table(found: Condition, speech: Speech = PLAIN) -> Shown:
    """Give the ground classes: mean change at re-walked plots, with its range."""
    return Shown(CLASSES, tuple(_class(one, speech) for one in found.classes), frozenset({0}))


def _class(one: ClassCondition, speech: Speech) -> tuple[str, ...]:
    return (one.ground_class, *_change(one.scrub, 1, speech), str(one.scrub_plots),
            *_change(one.water, 0, speech), str(one.water_plots))


def _change(change: PairedChange | None, places: int, speech: Speech) -> tuple[str, str]:
    if change is None:
        return _NONE, _NONE
    mean, low, high = (speech.signed(one, places)
                       for one in (change.mean, change.low, change.high))
    return mean, speech.span(low, high)


def work_table(found: Condition, speech: Speech = PLAIN) -> Shown:
    """Give the work done, and the change of scrub or water in its cells against the block's."""
    return Shown(WORKS, tuple(_work(one, speech) for one in found.works), frozenset({0, 1, 2}))


def _work(one: WorkHelped, speech: Speech) -> tuple[str, ...]:
    seen, places = one.work.seen, 1 if one.measure == "scrub" else 0
    cells = ", ".join(one.work.cells[:4]) + (" …" if len(one.work.cells) > 4 else "")
    said = "{change} points" if one.measure == "scrub" else "{change} mm"
    change = _NONE if one.mean is None else speech.say(
        said, change=speech.signed(one.mean, places))
    return (speech.day(seen.day), speech.say(seen.what.replace("_", " ")), cells or _NONE,
            _NONE if seen.hours is None else _hours(seen.hours, speech), change,
            _change(one.relative, places, speech)[1], str(one.plots) if one.measure else _NONE)


def _hours(hours: float, speech: Speech) -> str:
    """Write hours as they were noted, to a hundredth at most."""
    return speech.number(hours, next(n for n in (0, 1, 2) if n == 2 or round(hours, n) == hours))


def work_words(found: Condition) -> list[str]:
    """Say what the work came to, and what its changes can say."""
    if not found.works:
        return ["No work was noted."]
    hours = sum(one.work.seen.hours or 0.0 for one in found.works)
    waits = sum(one.measure != "" and one.plots == 0 for one in found.works)
    lines = [(f"{len(found.works)} records of work, {hours:g} hours. A change is that of plots "
              "read before and since, less the block's median over the same days: seen after the "
              "work, and no proof that it came of it.")]
    if waits:
        lines.append(f"{waits} not read since, or not before: cannot tell yet.")
    if any(one.measure == "" for one in found.works):
        lines.append("Whether rolling, seeding or stacking slash makes moss grow only pairs drawn "
                     "by a coin can tell: fallow trial.")
    return lines
