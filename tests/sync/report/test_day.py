"""The evening of a day: who is not back, what came in, bags in four views, what changes."""

import importlib.util
import math
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldapp.record import stamp
from sync.flags.raised import flags_of
from sync.report.arrivals import FileIn, arrived_between
from sync.report.day import Evening, PhoneKept, day_of_block, span_of_day
from sync.report.day_bags import day_bags
from sync.report.day_text import WIDE, day_lines
from sync.report.out import who_is_out

_spec = importlib.util.spec_from_file_location(
    "mire_of_the_evening", Path(__file__).parents[1] / "mire.py")
mire = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(mire)

DAY = date(2025, 11, 10)
OUT = datetime(2025, 11, 10, 8, tzinfo=UTC)
NIGHT = datetime(2025, 11, 11, tzinfo=UTC)


def hours(n):
    return OUT + timedelta(hours=n)


def book_of_a_day(device="p1-aaaa"):
    """Four hours out, two bags every half hour in B02, and an END."""
    book = mire.Book(device)
    book.note("outing", OUT, state="start", role="picker")
    for i in range(1, 8):
        book.note("bag", hours(0.5 * i), bags=2, where=mire.where(150, 150))
    book.note("outing", hours(4), state="end", finished=["B02"])
    return book


def surveyed():
    book = mire.Book("p9-zzzz")
    for cell in mire.CELLS:
        for cover in (60, 70, 65, 55):
            book.quadrat(date(2025, 8, 1), cell, cover)
    return book


def told(books, on=DAY, *, at=None, morning=None, arrivals=None, files=(), phones=(), block=None):
    register = mire.register(books, on, block)
    begins, ends = span_of_day(register.block, on)
    evening = Evening(
        register, flags_of(register),
        mire.register(books if morning is None else morning, on, block),
        mire.register(books, on + timedelta(days=1), block),
        arrived_between(files, arrivals or {}, begins, ends), phones, at or ends)
    day = day_of_block(evening)
    lines = day_lines(day, evening)
    assert max(map(len, lines)) <= WIDE
    return day, " ".join(" ".join(lines).split())


def test_bags_of_a_day_are_told_by_person_cell_type_and_pile():
    book = book_of_a_day()
    book.note("bag", hours(5), bags=1.5, type="bale", pile="P1-004", where=mire.where(50, 50),
              **{"for": "RK"})
    book.note("bag", hours(24), bags=9, where=mire.where(50, 50))
    day, text = told(book)
    assert [(one.name, one.bags) for one in day.bags.persons] == [("MT", 14.0), ("RK", 1.5)]
    assert [(one.name, round(one.bags, 6)) for one in day.bags.cells] == [
        ("A01", 1.5), ("B02", 14.0)]
    assert [(one.name, one.bags) for one in day.bags.types] == [("bale", 1.5), ("sack", 14.0)]
    assert [(one.name, one.bags, one.waiting) for one in day.bags.piles] == [
        ("P1-004", 1.5, 1.5), (None, 14.0, None)]
    assert "BAGS 15.5 by 8 records" in text
    assert "by person MT 14 · RK 1.5" in text


def test_what_is_taken_back_or_corrected_is_in_no_sum_and_is_told():
    book = book_of_a_day()
    book.note("void", hours(5), of="p1-aaaa:2")
    book.note("bag", hours(5), bags=0.5, instead_of="p1-aaaa:3")
    day, text = told(book)
    assert day.bags.total == 10.5
    assert day.bags.undone == 2
    assert "2 records taken back or corrected" in text


def test_a_hole_is_told_in_clock_time_with_its_guess_and_a_paper_count_with_its_bags():
    book = book_of_a_day()
    book.kept = [one for one in book.kept if not 5 <= one["seq"] <= 7]
    day, text = told(book)
    # Record 4 at 1.5 h and 8 at 3.5 h: 8 bags in the 2 hours outside, 2 hours within.
    assert "p1-aaaa 5 to 7, 09:30 to 11:30: 8.0 ± 2.8 bags expected, counted nowhere" in text
    assert day.bags.total == 8.0
    shed = mire.Book()
    shed.note("bag", OUT, bags=6, covers=["p1-aaaa", 5, 7], cell="B02")
    day, text = told([book, shed])
    assert "the paper says 6 bags, which are counted" in text
    assert (day.bags.total, day.bags.paper) == (14.0, 6.0)


def test_an_older_hole_is_told_apart_until_paper_tells_it():
    book = book_of_a_day()
    book.note("check_in", hours(24), state="fine")
    book.kept = [one for one in book.kept if not 5 <= one["seq"] <= 7]
    day, text = told(book, DAY + timedelta(days=1))
    assert day.holes == ()
    assert "on no paper: p1-aaaa 5 to 7, 2025-11-10 09:30 to 2025-11-10 11:30" in text


@pytest.mark.parametrize(("state", "at_h", "due"), [
    (None, 0.5, None), (None, 3.9, "check-in was due 09:00"),
    ("fine", 3.5, "check-in was due 11:00")])
def test_who_has_not_ended_is_told_with_last_place_and_check_in(state, at_h, due):
    book = mire.Book("p1-aaaa")
    book.note("outing", OUT, state="start", role="picker")
    book.note("bag", hours(0.4), bags=1, where=mire.where(150, 150))
    if state is not None:
        book.note("check_in", hours(2), state=state)
    day, text = told(book, at=hours(at_h))
    (one,) = day.out
    assert (one.person, one.since, one.where is not None) == ("MT", OUT, True)
    assert "out since 08:00" in text
    assert "last place S 42.8" in text
    assert ("check-in was due" in text) is (due is not None)
    if due:
        assert due in text


def test_a_call_for_help_stands_first_of_all_and_outlasts_an_end():
    quiet = mire.Book("p2-bbbb")
    quiet.note("outing", OUT, "RK", state="start", role="picker")
    book = book_of_a_day()
    book.note("check_in", hours(3), state="help", where=mire.where(20, 20))
    day, text = told([quiet, book])
    assert [one.device for one in day.out] == ["p1-aaaa", "p2-bbbb"]
    assert text.index("CALLED FOR HELP 11:00") < text.index("p2-bbbb: out since")
    assert mire.register([quiet, book], DAY + timedelta(days=90))
    later = who_is_out(mire.register([quiet, book], DAY), NIGHT + timedelta(days=90))
    assert [one.device for one in later] == ["p1-aaaa"]  # help ends by no date
    book.note("check_in", hours(5), state="fine")
    day, text = told([quiet, book])
    assert [one.device for one in day.out] == ["p2-bbbb"]
    assert "called for help 11:00, said to be well again 13:00" in text


def test_a_record_of_help_taken_back_rings_no_more():
    book = book_of_a_day()
    book.note("check_in", hours(3), state="help")
    shed = mire.Book()
    shed.note("void", hours(30), of="p1-aaaa:10")
    assert told([book, shed])[0].out == ()


def test_a_phone_out_for_longer_than_anybody_is_silent_and_its_place_is_told_no_more():
    book = mire.Book("p1-aaaa")
    book.note("outing", OUT, state="start", role="picker")
    book.note("bag", hours(1), bags=1, where=mire.where(150, 150))
    day, text = told(book, DAY + timedelta(days=10))
    assert day.out == ()
    assert "silent: p1-aaaa, out since 2025-11-10 08:00, last record 2025-11-10 09:00" in text
    assert "last place" not in text


def test_what_came_in_is_told_by_file_and_a_phone_that_brought_nothing_is_named():
    files = [FileIn(hours(10), "a.handover.zip", "taken", 9, 2, 1, None),
             FileIn(hours(11), "b.zip", "refused: no", 0, 0, 0, "no"),
             FileIn(hours(-30), "old.zip", "taken", 1, 0, 0, None)]
    arrivals = {(f"p1-aaaa:{i}", "x"): stamp(hours(10)) for i in range(1, 10)}
    arrivals["shed:1", "x"] = stamp(hours(12))
    arrivals["p2-bbbb:1", "x"] = stamp(hours(-30))
    _, text = told(book_of_a_day(), files=files, arrivals=arrivals, phones=(
        PhoneKept("p1", "p1-aaaa"), PhoneKept("p2", "p2-bbbb"), PhoneKept("p3", None)))
    assert "18:00 a.handover.zip 9 new, 2 already there, 1 set aside" in text
    assert "19:00 b.zip REFUSED: no" in text
    assert ("1 file taken, 1 refused: 10 new records (1 of them typed in here), 2 already there, "
            "1 set aside; before that day something last came in 2025-11-09 02:00") in text
    assert ("Not heard from that day: p2 (last 2025-11-09 02:00), p3 (never yet)") in text


def test_a_cell_named_finished_rests_on_tomorrows_sheet_and_was_ready_this_morning():
    morning, book = surveyed(), book_of_a_day()
    shed = mire.Book()
    shed.bags(DAY, "B02", 120)
    day, text = told([morning, book, shed], morning=[morning])
    (cell,) = day.cells
    assert cell.finished == ("p1-aaaa:9",)
    assert "named finished by p1-aaaa:9" in text
    (change,) = day.changes.states
    assert (change.cell, change.before.state, change.after.state) == ("B02", "ready", "resting")
    assert change.after.rest_ends == date(2030, 11, 10)
    assert "- B02: resting until 2030-11-10; this morning ready," in text


def test_a_cell_with_less_left_than_the_day_took_is_nearly_used_up_and_more_is_ran_over():
    morning = surveyed()
    may_take = mire.register([morning], DAY).cells["A01"].may_take_kg
    book = mire.Book()
    book.bags(DAY, "A01", round(0.8 * may_take / 7.0))
    day, text = told([morning, book], morning=[morning])
    (cell,) = day.cells
    assert (cell.nearly_used_up, cell.state, cell.over) == (True, "ready", None)
    assert "NEARLY USED UP" in text
    (change,) = day.changes.left
    assert change.before.left_bags == math.floor(may_take / 7.0)
    assert f"A01 {change.before.left_bags} → {change.after.left_bags}" in text
    book.bags(DAY, "A01", round(2 * may_take / 7.0))
    day, text = told([morning, book], morning=[morning])
    assert day.cells[0].over.rule == "over_pick"
    assert "RAN OVER" in text
    assert [(one.cell, one.after.state) for one in day.changes.states] == [("A01", "taken")]


def test_without_a_record_in_the_morning_nothing_is_compared():
    _, text = told(book_of_a_day(), morning=[])
    assert "nothing to compare it with" in text


@pytest.mark.parametrize("on", [date(1, 1, 1), date(2019, 12, 31), date.max])
def test_a_day_that_none_of_the_records_can_be_of_is_refused(on):
    with pytest.raises(ValueError, match=on.isoformat()):
        span_of_day(mire.mire(), on)


_PRESS = st.fixed_dictionaries({
    "hour": st.integers(0, 40), "halves": st.integers(1, 8), "whose": st.sampled_from("ABC"),
    "pile": st.sampled_from([None, "P1-001", "P1-002"]),
    "type": st.sampled_from([None, "sack", "bale"]),
    "place": st.sampled_from(["fix", "border", "outside", None]),
})
_PLACES = {"fix": (150, 150), "border": (200, 100), "outside": (-400, 150)}


@settings(max_examples=25)
@given(st.lists(st.one_of(_PRESS, st.tuples(st.sampled_from(["void", "mend"]),
                                            st.integers(0, 30))), max_size=14), st.data())
def test_sums_by_person_cell_type_and_pile_are_those_of_the_records_that_count(steps, data):
    """Whatever is taken back, corrected, or comes late."""
    book = mire.Book("p1-aaaa")
    # By the number of the first: each word said on it, the last of them counting.
    counts: dict[int, list[list[object]]] = {}
    for step in steps:
        if isinstance(step, dict):
            place = {} if step["place"] is None else {
                "where": mire.where(*_PLACES[step["place"]])}
            book.note("bag", hours(step["hour"]), bags=step["halves"] / 2, pile=step["pile"],
                      type=step["type"], **{"for": step["whose"]}, **place)
            counts[len(book.kept)] = [[step["hour"], step["halves"] / 2, step["whose"],
                                       step["pile"], len(book.kept)]]
        elif counts:
            what, which = step
            first = sorted(counts)[which % len(counts)]
            hour, _, whose, pile, last = counts[first][-1]
            if what == "void":
                book.note("void", hours(41), of=f"p1-aaaa:{last}")
                counts[first].pop()
                if not counts[first]:
                    del counts[first]
            else:
                book.note("bag", hours(41), bags=7, pile=pile, **{"for": whose},
                          instead_of=f"p1-aaaa:{last}")
                counts[first].append([hour, 7.0, whose, pile, len(book.kept)])
    order = data.draw(st.permutations(book.kept))
    book.kept = order
    for on in (DAY, DAY + timedelta(days=1)):
        bags = day_bags(mire.register(book, on))
        rows = [one[-1] for one in counts.values() if hours(one[-1][0]).date() == on]
        assert bags.total == sum(one[1] for one in rows)
        assert set(bags.records) == {f"p1-aaaa:{one[4]}" for one in rows}
        for view, key in ((bags.persons, 2), (bags.piles, 3)):
            for one in view:
                assert one.bags == sum(row[1] for row in rows if row[key] == one.name)
            assert sum(one.bags for one in view) == bags.total
        assert sum(one.bags for one in bags.types) == bags.total
        in_cells = math.fsum(one.bags for one in bags.cells)
        assert in_cells + bags.outside + bags.nowhere == pytest.approx(bags.total, abs=1e-9)
