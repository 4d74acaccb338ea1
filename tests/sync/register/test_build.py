"""The register as a function: of what, and of nothing else."""

import dataclasses
import json
import random
from datetime import UTC, date, datetime, timedelta

import pytest

from sync.block import Person, Plot
from sync.intake.check import check_lines
from sync.register.build import Inputs, aliases_of, build, sums_of
from sync.report.document import register_document, register_json
from sync.settings import Tunables

ON = date(2026, 2, 20)


@pytest.fixture
def books(mire):
    shed, p1 = mire.Book(), mire.Book("p1-aaaa")
    for cell in ("A01", "B02", "B02"):
        shed.quadrat(date(2025, 6, 20), cell, 60, (90, 110))
    for i in range(30):
        p1.note("bag", datetime(2025, 11, 10, 8, tzinfo=UTC) + timedelta(minutes=11 * i), bags=2,
                where=mire.where(100 + 3 * i, 150), pile="P1-001")
    shed.note("batch", date(2026, 2, 1), "O", batch="D-1", stage="dried", bags=50, dry_kg=330.0,
              **{"from": ["P1-001"]})
    return [shed, p1]


def inputs(mire, books, **changes):
    made = Inputs(mire.mire(), Tunables(), mire.held(books), (), "0.1.0")
    return dataclasses.replace(made, **changes)


def text(mire, given, on=ON):
    found = build(given, on=on)
    return register_json(register_document(found, tuple(mire.flags(found).values())))


def test_the_order_of_the_records_moves_no_byte(mire, books):
    given = inputs(mire, books)
    expected = text(mire, given)
    chance = random.Random(7)
    for _ in range(5):
        mixed = [*given.held, *chance.choices(given.held, k=9)]
        chance.shuffle(mixed)
        assert text(mire, dataclasses.replace(given, held=mixed)) == expected


def test_each_thing_it_is_made_of_moves_its_own_sum_and_no_other(mire, books):
    given = inputs(mire, books)
    before = sums_of(given)
    changes = {
        "block": {"block": mire.mire(name="Other Mire")},
        "settings": {"tunables": Tunables(touch_pct=12.0)},
        "records": {"held": given.held[1:]},
        "program": {"program": "0.2.0"},
    }
    for name, change in changes.items():
        after = sums_of(dataclasses.replace(given, **change))
        assert {key for key in before if after[key] != before[key]} == {name}


def test_the_sum_of_the_block_holds_no_names_of_people(mire, books):
    one = Person("MT", "Mia", "M.T.", "picker")
    sums = [sums_of(inputs(mire, books, block=mire.mire(people=(person,))))["block"]
            for person in (one, dataclasses.replace(one, name="Max", call="x", role="owner"))]
    assert sums[0] == sums[1]
    other = mire.mire(people=(dataclasses.replace(one, also=("x-k7f2:A",)),))
    assert sums_of(inputs(mire, books, block=other))["block"] != sums[0]


def test_what_happened_after_the_day_moves_nothing_of_it(mire, books):
    before = build(inputs(mire, books), on=date(2025, 11, 20))
    shed, _ = books
    later = date(2025, 11, 21)
    shed.quadrat(later, "A01", 5, (30,))
    shed.bags(later, "B02", 400, pile="P1-001")
    shed.finished(later, "B02")
    shed.note("clip", later, clip="X-1", cut="plug", area_m2=0.0625, from_mm=0, to_mm=100,
              dry_g=300.0, dried="shed", where=mire.where(150, 150))
    shed.note("work", later, what="sprayed", cells=["B02"], hold_days=30)
    after = build(inputs(mire, books), on=date(2025, 11, 20))
    assert after.crop.cells == before.crop.cells
    assert after.crop.weights == before.crop.weights
    assert after.cells == before.cells
    assert after.total == before.total


def test_a_weight_that_came_later_is_known_of_the_day(mire, books):
    found = build(inputs(mire, books), on=date(2025, 11, 20))
    assert found.crop.weights.kappa[2025, "sack"].kg == pytest.approx(6.6)


def test_a_quadrat_that_no_cell_is_found_for_is_named(mire, books):
    p1 = books[1]
    lost = p1.note("quadrat", date(2025, 12, 1), plot=None, when="survey", side_m=0.5,
                   cover_pct=60, depth_mm=[90], where=mire.where(900, 900))
    none = p1.note("quadrat", date(2025, 12, 1), plot="A01-99", when="survey", side_m=0.5,
                   cover_pct=60, depth_mm=[90])
    assert build(inputs(mire, books), on=ON).nowhere == tuple(sorted((lost, none)))


def test_a_quadrat_by_eye_is_of_the_cell_it_stands_in(mire, books):
    books[1].note("quadrat", date(2025, 12, 1), plot=None, when="survey", side_m=0.5,
                  cover_pct=60, depth_mm=[90], where=mire.where(250, 250))
    found = build(inputs(mire, books), on=ON)
    assert [r.reading.drawn for r in found.crop.cells["C03"].readings] == [False]


def test_a_quadrat_on_a_plot_is_of_the_plots_cell_wherever_the_phone_thought_it_was(mire, books):
    lat, lon = mire.latlon(50, 50)
    block = mire.mire(plots=(*mire.plots(), Plot("far", "A01", lat, lon, True, "survey", False,
                                                 False, False)))
    books[1].note("quadrat", date(2025, 12, 1), plot="far", when="survey", side_m=0.5,
                  cover_pct=60, depth_mm=[90], where=mire.where(250, 250))
    found = build(inputs(mire, books, block=block), on=ON)
    assert [r.reading.plot for r in found.crop.cells["A01"].readings] == ["A01-1", "far"]
    assert found.crop.cells["C03"].readings == ()


def test_letters_of_a_phone_without_a_sheet_are_people(mire):
    one = Person("DW", "D. W.", "D.W.", "picker", also=("x-m2q4:A", "x-m2q4:B"))
    assert aliases_of(mire.mire(people=(one,))) == {
        ("x-m2q4", "A"): "DW", ("x-m2q4", "B"): "DW"}


def test_a_record_set_aside_fills_its_number_and_moves_no_figure(mire, books):
    given = inputs(mire, books)
    broken = {**books[1].kept[-1], "seq": 32, "bags": 77}
    aside = check_lines([json.dumps(broken).encode()], file="f", sealed=True).aside
    assert len(aside) == 1
    before, after = (build(dataclasses.replace(given, aside=a), on=ON) for a in ((), aside))
    assert tuple(after.merged.numbers["p1-aaaa"]) == (*range(1, 31), 32)
    assert [(h.first, h.last) for h in after.holes] == [(31, 31)]
    assert after.cells == before.cells


def test_an_empty_block_has_ground_and_nothing_else(mire):
    found = build(inputs(mire, []), on=ON)
    assert {one.state for one in found.cells.values()} == {"unsurveyed"}
    assert (found.total, found.long_run_kg, found.may_take_kg) == (None, None, 0.0)
    assert all(one.walked is None for one in found.crop.cells.values())
