"""Bags by person and day: the records behind them, what is not counted, what may lack."""

import csv
import importlib.util
import io
import json
import math
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sync.block import Person
from sync.intake.check import check_lines
from sync.report.day_bags import day_bags
from sync.report.pay import people_known, person_days, sums_of_bags
from sync.report.pay_rows import CSV_COLUMNS, pay_csv, pay_notes, pay_table
from sync.report.pay_sheet import pay_sheet
from sync.shed.words import ShedWords

_spec = importlib.util.spec_from_file_location(
    "mire_of_pay", Path(__file__).parents[1] / "mire.py")
mire = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(mire)

DAY = date(2025, 11, 10)
NEXT = date(2025, 11, 11)
OUT = datetime(2025, 11, 10, 8, tzinfo=UTC)
PEOPLE = (Person("MT", "the picker's whole name", "M.T.", "picker"),
          Person("RK", "another whole name", "R.K.", "picker"))


def hours(n):
    return OUT + timedelta(hours=n)


def phone():
    """MT's phone: three bags of MT's on a pile, one and a half for RK, one taken back."""
    book = mire.Book("p1-aaaa")
    book.note("outing", OUT, state="start", role="picker")
    for i in range(3):
        book.note("bag", hours(0.5 + i), bags=1, pile="P1-001", where=mire.where(150, 150))
    book.note("bag", hours(3), bags=1.5, where=mire.where(150, 150), **{"for": "RK"})
    book.note("bag", hours(3.2), bags=2, where=mire.where(150, 150))
    book.note("void", hours(3.3), of="p1-aaaa:6")
    book.note("outing", hours(4), state="end", finished=[])
    return book


def days_of(books, first=DAY, last=NEXT, *, waiting=(), people=PEOPLE, **block):
    register = mire.register(books, last, mire.mire(people=people, **block))
    return register, person_days(register, waiting, first, last)


def test_a_bag_is_whose_it_says_and_each_row_names_its_records():
    _, days = days_of(phone())
    assert [(one.person, one.day, sums_of_bags(one.bags).bags) for one in days] == [
        ("MT", DAY, 3.0), ("RK", DAY, 1.5)]
    mt, rk = days
    assert [bag.said.name for bag in mt.bags] == ["p1-aaaa:2", "p1-aaaa:3", "p1-aaaa:4"]
    assert [bag.said.person for bag in rk.bags] == ["MT"]
    assert [(one.said.name, one.how, one.by) for one in mt.undone] == [
        ("p1-aaaa:6", "void", "p1-aaaa:7")]


def test_a_bag_that_is_corrected_to_be_another_persons_moves_to_that_person():
    book = phone()
    book.note("bag", hours(5), "RK", bags=1, instead_of="p1-aaaa:2", **{"for": "RK"})
    _, days = days_of(book)
    assert {one.person: sums_of_bags(one.bags).bags for one in days} == {"MT": 2.0, "RK": 2.5}
    assert [one.how for one in days[0].undone] == ["mended", "void"]


def test_dry_kg_are_told_where_the_lot_is_known_and_of_how_many_bags():
    shed = mire.Book()
    shed.note("batch", date(2025, 12, 1), batch="D-1", stage="dried", bags=2, dry_kg=13.0,
              **{"from": ["P1-001"]})
    _, days = days_of([phone(), shed])
    mt, rk = (sums_of_bags(one.bags) for one in days)
    # Two of the pile's three bags were dried, at 6.5 kg each: two thirds of each of the three.
    assert (mt.dry_kg, mt.dry_bags) == (pytest.approx(13.0), pytest.approx(2.0))
    assert (rk.dry_kg, rk.dry_bags) == (0.0, 0.0)
    table = pay_table(days)
    assert table.rows[0][4] == "13.0 (2)"
    assert table.rows[2][4] == "–"


def test_wet_kg_are_those_weighed_and_nothing_else():
    book = phone()
    book.note("bag", hours(3.5), bags=2, wet_kg=150, where=mire.where(150, 150))
    _, days = days_of(book)
    sums = sums_of_bags(days[0].bags)
    assert (sums.bags, sums.wet_kg, sums.wet_bags, sums.dry_bags) == (5.0, 150.0, 2.0, 0.0)


def test_a_hole_says_may_lack_for_whom_the_phone_tallied_and_paper_ends_that():
    book = phone()
    book.kept = [one for one in book.kept if one["seq"] != 3]
    register, days = days_of(book)
    assert [(one.person, one.may_lack) for one in days] == [("MT", True), ("RK", True)]
    assert [sums_of_bags(one.bags).bags for one in days] == [2.0, 1.5]  # the guess is not counted
    notes = " ".join(pay_notes(days, register.block.zone))
    assert ("MT 2025-11-10 may lack something: p1-aaaa 3 (08:30 – 10:30) never came") in notes
    shed = mire.Book()
    shed.note("bag", OUT, bags=1, covers=["p1-aaaa", 3, 3], **{"for": "MT"})
    _, days = days_of([book, shed])
    assert [one.may_lack for one in days] == [False, False]
    assert (sums_of_bags(days[0].bags).bags, sums_of_bags(days[0].bags).paper) == (3.0, 1.0)


def test_a_day_of_which_nothing_came_but_a_hole_has_a_row_that_says_so():
    book = phone()
    book.note("outing", hours(24), state="start", role="picker")
    book.note("bag", hours(25), bags=1, where=mire.where(150, 150))
    book.note("outing", hours(26), state="end", finished=[])
    book.kept = [one for one in book.kept if one["seq"] != 10]
    _, days = days_of(book)
    (empty,) = [one for one in days if one.person == "MT" and one.day == NEXT]
    assert (empty.bags, empty.may_lack) == ((), True)


def test_a_record_that_waits_or_came_twice_is_told():
    book = phone()
    twin = mire.Book("p1-aaaa")
    twin.kept = [{**book.kept[1], "bags": 3}]
    broken = json.dumps({**book.kept[1], "seq": 9, "bags": 99}).encode()
    waiting = check_lines([broken, b"{]"], file="f", sealed=True).aside
    assert len(waiting) == 2
    register, days = days_of([book, twin], waiting=waiting)
    mt = days[0]
    assert mt.waiting == ("p1-aaaa:9",)
    assert mt.twice == ("p1-aaaa:2",)
    assert "p1-aaaa:2 came with two contents" in " ".join(pay_notes(days, register.block.zone))


def test_people_stand_by_code_and_day_whatever_they_picked():
    book = mire.Book("p1-aaaa")
    for day, who, bags in ((NEXT, "AA", 1), (DAY, "ZZ", 9), (DAY, "AA", 20), (NEXT, "MM", 30)):
        book.note("bag", day, bags=bags, **{"for": who})
    register, days = days_of(book)
    assert [(one.person, one.day) for one in days] == [
        ("AA", DAY), ("AA", NEXT), ("MM", NEXT), ("ZZ", DAY)]
    assert people_known(register) == ["AA", "MM", "MT", "RK", "ZZ"]
    assert [row[1] for row in pay_table(days).rows] == [
        "2025-11-10", "2025-11-11", "sum", "2025-11-11", "sum", "2025-11-10", "sum"]


def test_the_csv_has_each_record_and_starts_no_formula():
    book = phone()
    book.note("bag", hours(3.6), bags=1, type="=1+1,\"x\"\nä", **{"for": "RK"})
    register, days = days_of(book)
    text = pay_csv(days, register.block.zone)
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert text.startswith(",".join(CSV_COLUMNS) + "\r\n")
    assert [row["records"].split() for row in rows] == [
        ["p1-aaaa:2", "p1-aaaa:3", "p1-aaaa:4"], ["p1-aaaa:5", "p1-aaaa:9"]]
    assert rows[0]["records_undone"] == "p1-aaaa:6"
    assert (rows[0]["bags"], rows[1]["bags"]) == ("3", "2.5")
    assert (rows[0]["dry_kg"], rows[0]["wet_kg"], rows[0]["may_lack"]) == ("", "", "false")
    assert rows[1]["types"].startswith("'=1+1")
    assert not any(value.startswith(("=", "+", "-", "@")) for row in rows for value in
                   row.values())


def sheet(books, person, language="en", **block):
    register, days = days_of(books, **block)
    words = ShedWords(language, ZoneInfo("UTC"))
    return pay_sheet(register, days, person, DAY, NEXT, say=words, day_words=words.day,
                     number=words.number, lang=language)


def test_a_persons_sheet_has_every_bag_its_noter_what_was_undone_and_a_line_to_sign():
    mine, theirs = sheet(phone(), "MT"), sheet(phone(), "RK")
    assert "08:30 · B02 · 1 · P1-001" in mine
    assert "not counted: <s>11:12 · 2</s> · taken back" in mine
    assert "Signature" in mine
    assert "RK" not in mine
    assert "11:00 · B02 · 1.5 · noted by MT" in theirs
    assert "P1-001" not in theirs
    for text in (mine, theirs):
        assert "whole name" not in text
        assert "p1-aaaa" not in text


def test_a_persons_sheet_says_in_spanish_what_may_lack_and_escapes_what_was_typed():
    book = phone()
    book.kept = [one for one in book.kept if one["seq"] != 3]
    text = sheet(book, "MT", "es", people=(Person("MT", "n", "<b>M&T", "picker"),))
    assert "A este día puede faltarle algo" in text
    assert "p1-aaaa: nunca llegaron los registros de 08:30 – 10:30" in text
    assert "<b>M" not in text
    assert "&lt;b&gt;M&amp;T" in text
    assert '<html lang="es">' in text


def test_a_sheet_without_a_bag_says_so():
    assert "none in these days" in sheet(mire.Book("p1-aaaa"), "MT")


_STEP = st.one_of(
    st.tuples(st.just("bag"), st.integers(0, 39), st.integers(1, 8), st.sampled_from("ABC")),
    st.tuples(st.sampled_from(["void", "mend"]), st.integers(0, 30), st.integers(1, 8),
              st.sampled_from("ABC")))


@settings(max_examples=30)
@given(st.lists(_STEP, max_size=14), st.randoms(use_true_random=False))
def test_person_days_add_up_to_the_days_and_to_the_records_that_count(steps, rng):
    """Whatever is taken back, corrected to be another's, or comes late."""
    book = mire.Book("p1-aaaa")
    counts: dict[int, list[tuple[int, float, str, int]]] = {}
    for what, n, halves, who in steps:
        if what == "bag":
            book.note("bag", hours(n), bags=halves / 2, where=mire.where(150, 150),
                      **{"for": who})
            counts[len(book.kept)] = [(n, halves / 2, who, len(book.kept))]
        elif counts:
            first = sorted(counts)[n % len(counts)]
            hour, _, _, last = counts[first][-1]
            if what == "void":
                book.note("void", hours(41), of=f"p1-aaaa:{last}")
                counts[first].pop()
                if not counts[first]:
                    del counts[first]
            else:
                book.note("bag", hours(41), bags=halves / 2, instead_of=f"p1-aaaa:{last}",
                          **{"for": who})
                counts[first].append((hour, halves / 2, who, len(book.kept)))
    noted = {f"p1-aaaa:{one['seq']}" for one in book.kept if one["kind"] == "bag"}
    rng.shuffle(book.kept)
    _, days = days_of(book)
    rows = [each[-1] for each in counts.values()]
    for one in days:
        own = [row for row in rows if row[2] == one.person and hours(row[0]).date() == one.day]
        assert {bag.said.name for bag in one.bags} == {f"p1-aaaa:{row[3]}" for row in own}
        assert sums_of_bags(one.bags).bags == sum(row[1] for row in own)
        assert not one.may_lack
    for day in (DAY, NEXT):
        total = math.fsum(sums_of_bags(one.bags).bags for one in days if one.day == day)
        assert total == day_bags(mire.register(book, day)).total
    counting = [bag.said.name for one in days for bag in one.bags]
    undone = [each.said.name for one in days for each in one.undone]
    assert len(counting) == len(set(counting)) == len(rows)
    assert {*counting, *undone} == noted
    assert set(counting).isdisjoint(undone)
    assert sum(float(row[2]) for row in pay_table(days).rows if row[1] == "sum") == sum(
        row[1] for row in rows)
