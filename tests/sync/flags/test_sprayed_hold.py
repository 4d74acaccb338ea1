"""Bags from ground under a spraying hold, told apart from the owner's closures."""

import itertools
import json
from datetime import UTC, date, datetime, timedelta
from importlib.resources import files

import jsonschema
import pytest

from sync.block import Feature
from sync.report.flag_rows import flag_row

SPRAYED = date(2025, 12, 2)
ON = date(2026, 2, 20)


def spray(book, hold_days=30, **where):
    where = where or {"cells": ["B02"]}
    return book.note("work", SPRAYED, "P", what="sprayed", product="brush killer",
                     hold_days=hold_days, **where)


def flags(mire, books, **changes):
    return mire.flags(mire.register(books, ON, mire.mire(**changes)))


def test_bags_of_a_sprayed_cell_are_flagged_and_no_closure_is_blamed(mire):
    book = mire.Book()
    work = spray(book)
    (bag,) = book.bags(date(2026, 1, 1), "B02", 3)
    found = flags(mire, book)
    flag = found["sprayed_hold:B02:2025"]
    assert (flag.probability, flag.how_sure) == (1.0, "sure")
    assert flag.figures == {"picked_from": date(2026, 1, 1), "bags": 3.0,
                            "kg": pytest.approx(21.0), "until": date(2026, 1, 1)}
    assert flag.records == (bag, work)
    assert "closed_ground:B02:2025" not in found
    schema = json.loads((files("sync.report") / "schemas/register.schema.json").read_text())
    jsonschema.validate(json.loads(json.dumps(flag_row(flag))), {
        "$schema": schema["$schema"], "$defs": schema["$defs"], "$ref": "#/$defs/flag"})


@pytest.mark.parametrize("day", [SPRAYED - timedelta(days=1), SPRAYED + timedelta(days=31)])
def test_the_day_before_and_the_day_after_the_hold_are_free(mire, day):
    book = mire.Book()
    spray(book)
    book.bags(day, "B02", 3)
    assert not [name for name in flags(mire, book) if name.startswith("sprayed_hold")]


def test_a_neighbour_of_the_hold_is_free_and_a_closure_is_no_hold(mire):
    book = mire.Book()
    spray(book)
    book.bags(date(2025, 12, 10), "B01", 3)
    book.bags(date(2025, 12, 10), "C03", 3)
    closed = (Feature(mire.polygon(200, 200, 300, 300), {"why": "nesting"}),)
    found = flags(mire, book, closures=closed)
    assert not [name for name in found if name.startswith("sprayed_hold")]
    assert "closed_ground:C03:2025" in found


def test_a_fix_near_an_outlined_hold_gives_its_chance(mire):
    book, p1 = mire.Book(), mire.Book("p1-aaaa")
    spray(book, outline=mire.polygon(150, 100, 200, 200))
    at = datetime(2025, 12, 10, 9, tzinfo=UTC)
    p1.note("bag", at, bags=2, where=mire.where(152, 150, 6))
    register = mire.register([book, p1], ON)
    (placed,) = register.known.placed
    flag = mire.flags(register)["sprayed_hold:B02:2025"]
    assert 0.5 < flag.probability < 0.95
    assert flag.probability == pytest.approx(placed.held["B02"])
    assert not placed.closed


def test_a_confirmed_cell_keeps_the_part_that_is_held(mire):
    book, p1 = mire.Book(), mire.Book("p1-aaaa")
    spray(book, outline=mire.polygon(100, 100, 150, 200))
    at = datetime(2025, 12, 10, 9, tzinfo=UTC)
    p1.note("outing", at, state="start", role="picker", cell="B02")
    p1.note("bag", at + timedelta(hours=1), bags=2, where=mire.where(101, 150, 4))
    (placed,) = mire.register([book, p1], ON).known.placed
    assert placed.how == "confirmed"
    assert placed.held["B02"] == pytest.approx(1.0, abs=1e-6)


def test_along_a_track_the_time_on_held_ground_counts(mire):
    book, p1 = mire.Book(), mire.Book("p1-aaaa")
    spray(book, outline=mire.polygon(100, 100, 200, 150))
    at = datetime(2025, 12, 10, 9, tzinfo=UTC)
    p1.note("outing", at, state="start", role="picker")
    places = [mire.latlon(140.0, 120.0 if i < 60 else 185.0) for i in range(120)]
    e7 = [(round(lat * 1e7), round(lon * 1e7)) for lat, lon in places]
    steps = [tuple(b - a for a, b in zip(one, two, strict=True))
             for one, two in itertools.pairwise(e7)]
    p1.note("track", at, t0="2025-12-10T09:00:00.000Z", dt_ms=[0] + [30_000] * 119,
            lat_e7=[e7[0][0], *(s[0] for s in steps)], lon_e7=[e7[0][1], *(s[1] for s in steps)],
            acc_m=[3] * 120)
    p1.note("bag", at + timedelta(minutes=59), bags=4)
    register = mire.register([book, p1], ON)
    (placed,) = register.known.placed
    assert placed.how == "track"
    assert placed.held["B02"] == pytest.approx(0.5, abs=0.03)
    flag = mire.flags(register)["sprayed_hold:B02:2025"]
    assert flag.figures["bags"] == pytest.approx(2.0, abs=0.15)
