"""Which of a phone's own records count."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldapp.capture.book import Noted
from fieldapp.capture.correct import Correct
from fieldapp.capture.counts import counting
from fieldapp.capture.outing import Outing
from fieldapp.capture.tally import Tally

DEVICE = "p3-k7f2"


def named(seq):
    return f"{DEVICE}:{seq}"


def make(seq, kind="bag", **fields):
    return {"device": DEVICE, "seq": seq, "kind": kind, **fields}


def void(seq, of):
    return make(seq, "void", of=named(of))


def test_a_void_takes_its_record_out_and_a_void_of_it_brings_it_back():
    bag = make(1)
    assert counting([bag]) == {1}
    assert counting([bag, void(2, 1)]) == {2}
    assert counting([bag, void(2, 1), void(3, 2)]) == {1, 3}
    assert counting([bag, void(2, 1), void(3, 2), void(4, 3)]) == {2, 4}


def test_a_mend_stands_in_and_its_void_brings_the_first_back():
    records = [make(1), make(2, instead_of=named(1))]
    assert counting(records) == {2}
    assert counting([*records, void(3, 2)]) == {1, 3}


def test_of_two_mends_of_one_record_the_later_counts():
    records = [make(1), make(2, instead_of=named(1)), make(3, instead_of=named(1))]
    assert counting(records) == {3}
    assert counting([*records, void(4, 3)]) == {2, 4}


@pytest.mark.parametrize("record", [
    make(2, "void", of="p1-a2b3:1"), make(2, "void", of=named(2)), make(2, "void", of=named(9)),
    make(2, "mark", instead_of=named(1)), make(2, instead_of="shed:1"),
    make(2, instead_of=named(7))])
def test_a_record_that_names_what_it_may_not_names_nothing(record):
    assert counting([make(1), record]) == {1, 2}


@given(st.lists(st.tuples(st.sampled_from(["bag", "void", "mend"]), st.integers(1, 30)),
                max_size=30), st.randoms(use_true_random=False))
def test_the_order_of_reading_plays_no_part_and_no_counting_record_is_named_by_one(steps, order):
    records = []
    for seq, (what, back) in enumerate(steps, start=1):
        if what == "bag" or seq == 1:
            records.append(make(seq))
        elif what == "void":
            records.append(void(seq, max(1, seq - back)))
        else:
            records.append(make(seq, instead_of=named(max(1, seq - back))))
    counts = counting(records)
    shuffled = list(records)
    order.shuffle(shuffled)
    assert counting(shuffled) == counts
    voided = {int(r["of"].split(":")[1]) for r in records
              if r["kind"] == "void" and r["seq"] in counts and r["of"] != named(r["seq"])}
    assert not voided & counts
    roots = [r["instead_of"] for r in records if r["seq"] in counts and r.get("instead_of")
             and records[int(r["instead_of"].split(":")[1]) - 1]["kind"] == "bag"
             and r["instead_of"] != named(r["seq"])]
    assert len(roots) == len(set(roots))


def test_a_mend_takes_time_place_and_person_of_the_first(book, hand, zone):
    outing = Outing(book)
    outing.start("MT", "picker", **hand())
    Tally(outing, zone=zone).bag(**hand())
    first = book.record(2)
    outing.start("SW", "picker", **hand(hours=2))
    hand.go(10.0, 10.0)
    Correct(outing).change(2, bags=2, **hand())
    [bag] = Noted(book).of("bag")
    assert (bag.seq, bag.first, bag.person, bag.whose) == (4, 2, "MT", "MT")
    assert (bag.where.lat, bag.record["bags"]) == (first["where"]["lat"], 2)
    assert bag.at.hour == 18


def test_each_record_is_read_once_and_new_ones_are_seen(book, hand):
    outing = Outing(book)
    outing.start("MT", "picker", **hand())
    noted = Noted(book)
    assert len(noted.records()) == 1
    asked = []
    read = book.records
    book.records = lambda first=1, last=None: asked.append(first) or read(first, last)
    outing.note("bag", bags=1, **hand())
    assert [record["kind"] for record in noted.records()] == ["outing", "bag"]
    assert len(noted.records()) == 2
    assert asked[-2:] == [2, 3]
