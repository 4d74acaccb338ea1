"""The fields of every kind of record, each with its hard limit.

Rule 1: a limit stands in these tables and nowhere else; a broken one sets the record aside.
Rule 2: all that is wrong is told at once.
Rule 3: an unknown field is ignored, an unknown kind is not judged beyond its name.
Rule 4: place is not judged here, and of `at` only that it is an instant.
"""

from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Any

from fieldapp.record.checks import (
    Check,
    a_day,
    an_instant,
    an_object,
    like,
    list_of,
    number,
    one_of,
    text,
    whole,
    yes_no,
)
from fieldapp.record.names import (
    CELL,
    DEVICE,
    KINDS,
    LABEL,
    LAST_SEQ,
    NAME,
    PERSON,
    PHOTO,
    SUM,
    Problem,
)
from fieldapp.record.rules import broken_rules

_CELL = like(CELL, "a cell such as C07")
_CELLS = list_of(_CELL, least=1)
_LABEL = like(LABEL, "a label of 1 to 32 characters with no space at its ends")
_NAME = like(NAME, "a record's name such as p3-k7f2:12")
_PERSON = like(PERSON, "a person code such as MT")
_PHOTO = like(PHOTO, "a photo's name such as p3-k7f2-12.jpg")
_SUM = like(SUM, "a SHA-256 sum, 64 hex digits")
_PCT = number(0, 100)
#: More than any block carries; a slip of the decimal point is caught before it counts. [kg]
_KG = number(0, 1_000_000)
_BAGS = number(0, 40, step=0.5)
_WORDS = text()

_NAMED: Mapping[str, Check] = MappingProxyType({
    "device": like(DEVICE, "a device such as p3-k7f2"), "seq": whole(1, LAST_SEQ)})
_COMMON: Mapping[str, Check] = MappingProxyType({
    **_NAMED, "kind": text(), "at": an_instant, "person": _PERSON})
_COMMON_OPTIONAL: Mapping[str, Check] = MappingProxyType({
    "note": text(2000), "press_ms": whole(0), "instead_of": _NAME})

#: Fields that a kind must have. What it may need besides, by its other fields: `rules`.
_NEEDED: Mapping[str, Mapping[str, Check]] = MappingProxyType({
    "outing": {"state": one_of("start", "pause", "resume", "end")},
    "track": {},
    "bag": {"bags": _BAGS},
    "void": {"of": _NAME},
    "quadrat": {"when": one_of("survey", "before_pick", "after_pick"), "side_m": number(0.1, 2),
                "cover_pct": _PCT, "depth_mm": list_of(whole(0, 800), most=20)},
    "skip": {"plot": _WORDS, "why": one_of("pool", "scrub", "flooded_today", "unsafe", "other")},
    "clip": {"clip": _LABEL},
    "mark": {"what": one_of("pile", "hazard", "drain", "weed", "peg", "other"), "name": _WORDS},
    "work": {"what": one_of("scrub_cut", "rolled", "slash_stacked", "reseeded", "drain_blocked",
                            "sprayed", "driven")},
    "check_in": {"state": one_of("fine", "help")},
    "batch": {"batch": _LABEL, "stage": one_of("weighed", "lifted", "arrived", "dried")},
    "past_pick": {"cell": _CELL, "from": a_day},
    "notice": {"permit": _WORDS, "what": one_of("start", "return")},
    "ruling": {"flag": _WORDS, "says": one_of("upheld", "not_so", "agreed"), "seen": _SUM},
})

_STEPS = list_of(whole(), least=1, most=1000)
_SPANS = list_of(an_object({"from": an_instant, "to": an_instant, "cells": an_object()}))

#: Fields that a kind may have; null is as good as absent.
_OPTIONAL: Mapping[str, Mapping[str, Check]] = MappingProxyType({
    "outing": {"role": one_of("picker", "surveyor"), "cell": _CELL,
               "sheet": an_object({"id": _WORDS, "made_at": an_instant}),
               "finished": list_of(_CELL, distinct=True)},
    "track": {"t0": an_instant, "dt_ms": _STEPS, "lat_e7": _STEPS, "lon_e7": _STEPS,
              "acc_m": list_of(whole(0, 255), most=1000), "lag_s": number(), "mock": yes_no,
              "thinned": an_object({"sum": _SUM, "spans": _SPANS, "swept_m2": an_object()})},
    "bag": {"for": _PERSON, "type": _WORDS, "wet_kg": number(0, 16000), "pile": _LABEL,
            "cell": _CELL, "covers": list_of(lambda _: None, least=3, most=3)},
    "void": {},
    "quadrat": {"plot": _WORDS, "cell": _CELL, "again": yes_no, "scrub_pct": _PCT,
                "rush_pct": _PCT, "water_table_mm": number(-1500, 500), "ground_class": _WORDS,
                "cover_step_pct": number(0), "depth_step_mm": number(0), "clip": _LABEL,
                "photo": _PHOTO},
    "skip": {},
    "clip": {"cut": one_of("frame", "plug"), "area_m2": number(0.0001, 4),
             "from_mm": whole(0, 800), "to_mm": whole(0, 800), "wet_g": number(0, above=True),
             "dry_g": number(0, above=True), "dried": one_of("oven", "shed")},
    "mark": {"photo": _PHOTO},
    "work": {"cells": _CELLS, "outline": an_object(), "hours": number(0), "trial": _WORDS,
             "product": _WORDS, "hold_days": whole(0)},
    "check_in": {},
    "batch": {"bags": number(0.5, 2000, step=0.5), "from": list_of(_LABEL), "wet_kg": _KG,
              "dry_kg": _KG, "moist_pct": _PCT, "pure_pct": _PCT},
    "past_pick": {"to": a_day, "share_pct": _PCT, "dry_kg": _KG},
    "notice": {"start": a_day, "year": whole(1900), "known_by": an_instant, "taken": number(0),
               "sum": _SUM, "figures": _SUM},
    "ruling": {"figures": an_object()},
})


def problems(record: Mapping[str, Any]) -> tuple[Problem, ...]:
    """Find all that sets a record aside.

    Parameters
    ----------
    record : mapping
        As read from a line, or as about to be written.

    Returns
    -------
    tuple of Problem
        Broken hard limits, missing fields, unknown words and wrong types, each with its reason;
        empty if the record can be taken. Of an unknown kind only device and number are judged,
        by which it is kept; of a replacement whether it stays within the kind is the merge's to
        say.
    """
    kind = record.get("kind")
    if isinstance(kind, str) and kind not in KINDS:
        return tuple(_wrong_fields(record, _NAMED, needed=True))
    needed, optional = dict(_COMMON), dict(_COMMON_OPTIONAL)
    if isinstance(kind, str):
        needed.update(_NEEDED[kind])
        optional.update(_OPTIONAL[kind])
    found = [*_wrong_fields(record, needed, needed=True),
             *_wrong_fields(record, optional, needed=False)]
    wrong = {problem.field for problem in found}
    judged = {*needed, *optional} - wrong
    sound = {key: value for key, value in record.items() if key in judged and value is not None}
    found.extend(problem for problem in broken_rules(sound, record) if problem.field not in wrong)
    return tuple(found)


def _wrong_fields(record: Mapping[str, Any], checks: Mapping[str, Check], *,
                  needed: bool) -> Iterator[Problem]:
    for field, check in checks.items():
        value = record.get(field)
        if value is None:
            if needed:
                yield Problem(field, None, "is missing")
        elif reason := check(value):
            yield Problem(field, value, reason)
