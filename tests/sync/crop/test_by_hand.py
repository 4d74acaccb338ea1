"""The whole chain of one cell against the same formulas written down anew, on made-up years."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

ORIGIN = date(2024, 1, 1)
CELL = "B02"
DEPTHS = st.lists(st.integers(20, 200), min_size=1, max_size=3)
FAR = st.integers(0, 3600)
#: Days near one another, so that surveys fall into picks and picks into rests.
NEAR = st.sampled_from([0, 1, 5, 20, 29, 60, 118, 180, 181, 200, 300, 365, 366, 1826, 1827, 1900,
                        1950, 2100])
LENT = (("A01", 60, (90, 110)), ("A01", 80, (70,)), ("C01", 40, (120, 100)),
        ("C03", 90, (60, 150, 60)))


def day(offset):
    return ORIGIN + timedelta(days=offset)


def written(made, readings, bags, finished):
    """The same story as records of the shed."""
    book = made.Book()
    for cell, cover, depths in LENT:
        book.quadrat(ORIGIN, cell, cover, depths)
    for when, cover, depths, kind in readings:
        fields = {"when": "after_pick"} if kind == "after" else {}
        book.quadrat(day(when), CELL, cover, depths, drawn=kind != "eye", **fields)
    for when, count in bags.items():
        book.bags(day(when), CELL, count)
    for when in finished:
        book.finished(day(when), CELL)
    return book


def by_hand(hand, readings, bags, finished, area, on):
    cells = {"A01": [], "C01": [], "C03": []}
    for cell, cover, depths in LENT:
        cells[cell].append((ORIGIN, cover, depths, "drawn"))
    cells = {name: {"readings": each, "days": {}} for name, each in cells.items()}
    cells[CELL] = {
        "readings": sorted((day(when), *rest) for when, *rest in readings),
        "days": {day(when): count for when, count in sorted(bags.items())},
    }
    return hand.today(cells, CELL, area, on, [day(when) for when in finished])


def check(made, hand, readings, bags, finished, on):
    found = made.register(written(made, readings, bags, finished), on)
    area = found.crop.ground.cells[CELL].open_m2
    state, may, left, cell = by_hand(hand, readings, bags, finished, area, on)
    today, walked = found.cells[CELL], found.crop.cells[CELL].walked
    close = {"rel": 1e-6, "abs": 1e-3}
    assert [p.touch for p in found.crop.cells[CELL].picks] == [
        p not in cell.real for p in cell.picks]
    stand = cell.stand
    assert (walked.stand.crop_kg, walked.stand.mark_kg, walked.pickable_kg) == pytest.approx(
        (stand["B"], stand["C"], cell.P), **close)
    assert (walked.stand.crop_var, walked.stand.mark_var, walked.stand.cov) == pytest.approx(
        (stand["VB"], stand["VC"], stand["Cov"]), **close)
    assert today.state == state
    assert (today.may_take_kg, today.left_kg) == pytest.approx((may, left), **close)


def stories(days):
    """Readings, bags by day, and days on which an END named the cell finished."""
    kinds = st.sampled_from(["drawn", "drawn", "drawn", "eye", "after"])
    return st.tuples(
        st.lists(st.tuples(days, st.integers(10, 100), DEPTHS, kinds), max_size=6),
        st.dictionaries(days, st.sampled_from([0.5, 3, 40, 150, 400]), max_size=6),
        st.lists(days, max_size=2),
    )


@settings(max_examples=120, deadline=None)
@given(stories(FAR), st.integers(0, 4000))
def test_years_of_one_cell_come_out_as_worked_by_hand(made, hand, story, on):
    check(made, hand, *story, day(on))


@settings(max_examples=200, deadline=None)
@given(stories(NEAR), NEAR)
def test_surveys_in_picks_and_picks_in_rests_come_out_as_worked_by_hand(made, hand, story, on):
    check(made, hand, *story, day(on))


def test_a_plain_story_goes_through_all_states(made, hand):
    readings = [(3, 60, [90, 110], "drawn"), (4, 80, [100], "drawn"),
                (1990, 70, [100, 80], "drawn")]
    bags, ended = {170: 60, 172: 400}, [172]
    seen = {}
    for on in (0, 3, 169, 170, 171, 172, 173, 1989, 1990, 1999, 2010):
        check(made, hand, readings, bags, ended, day(on))
        found = made.register(written(made, readings, bags, ended), day(on))
        seen[on] = found.cells[CELL].state
    assert seen == {
        0: "unsurveyed", 3: "ready", 169: "ready", 170: "ready", 171: "ready", 172: "resting",
        173: "resting", 1989: "resting", 1990: "resting", 1999: "ready", 2010: "ready",
    }
