"""What is kept up to date equals what is settled anew."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldapp.capture.book import Noted
from fieldapp.capture.correct import Correct
from fieldapp.capture.counts import settle, standing
from fieldapp.capture.outing import Outing
from fieldapp.capture.settling import Settling
from fieldapp.capture.tally import Tally
from fieldapp.record import instant, stamp

FIRST = datetime(2026, 1, 20, 11, tzinfo=UTC)
#: What is noted, how far back it names a record, and how many hours the clock is off.
STEPS = st.lists(st.tuples(
    st.sampled_from(["bag", "mark", "void", "mend", "mend_void", "track", "astray"]),
    st.integers(1, 15), st.integers(-30, 30), st.sampled_from(["P3-014", "P3-015", None])),
    max_size=40)


def records_of(steps):
    records = []
    for seq, (what, back, hours, pile) in enumerate(steps, start=1):
        target = f"p3-k7f2:{max(1, seq - back)}"
        common = {"device": "p3-k7f2", "seq": seq, "person": "MT", "where": None,
                  "at": stamp(FIRST + timedelta(hours=hours, minutes=seq))}
        if what == "track":
            records.append({**common, "kind": "track", "t0": common["at"], "dt_ms": [0, 60_000],
                            "lat_e7": [1, 1], "lon_e7": [1, 1]})
        elif what == "mark":
            records.append({**common, "kind": "mark", "what": "hazard", "name": ""})
        elif what == "void":
            records.append({**common, "kind": "void", "of": target})
        elif what == "mend_void":
            records.append({**common, "kind": "void", "of": f"p3-k7f2:{max(1, seq // 2)}",
                            "instead_of": target})
        elif what == "astray":
            records.append({**common, "kind": "void", "of": f"p3-k7f2:{seq + back}"})
        else:
            mend = {"instead_of": target} if what == "mend" else {}
            pile = {} if pile is None else {"pile": pile}
            records.append({**common, "kind": "bag", "bags": 0.5 * back, **pile, **mend})
    return records


class Book:
    """A notebook that is read bit by bit."""

    def __init__(self):
        self.kept = []

    def records(self, first=1, last=None):
        return iter(self.kept[first - 1:last])


def untracked(records):
    return [one for one in records if one["kind"] != "track"]


@given(STEPS)
def test_after_each_record_the_same_counts_as_if_all_were_settled_anew(steps):
    settling, taken = Settling(), []
    for record in untracked(records_of(steps)):
        taken.append(record)
        settling.add(record)
        fresh = settle(taken)
        assert settling.settled() == fresh
        assert [one["seq"] for one in taken if settling.counts(one["seq"])] == sorted(fresh.counts)


@given(STEPS)
def test_each_change_is_told(steps):
    settling, taken, before = Settling(), [], {}
    for record in untracked(records_of(steps)):
        taken.append(record)
        told = settling.add(record)
        fresh = settle(taken)
        after = {fresh.first_of(seq): seq for seq in fresh.counts}
        assert {one for one in {*before, *after} if before.get(one) != after.get(one)} <= told
        before = after


@given(STEPS, st.integers(1, 5), st.integers(-40, 40), st.integers(0, 60))
def test_what_is_asked_of_a_book_is_what_going_through_all_of_it_gives(steps, every, begin, hours):
    book = Book()
    noted = Noted(book)
    records = records_of(steps)
    since = FIRST + timedelta(hours=begin)
    within = (stamp(since), stamp(since + timedelta(hours=hours)))
    for seq, record in enumerate(records, start=1):
        book.kept.append(record)
        if seq % every and seq != len(records):
            continue
        read = untracked(book.kept)
        all_of_it = standing({one["seq"]: one for one in read}, settle(read), lambda _: True)
        by_seq = {one["seq"]: one for one in read}
        for kind in ("bag", "mark"):
            plain = [one for one in all_of_it if one.kind == kind]
            assert noted.of(kind) == plain
            assert noted.of(kind, first_seq=5) == [one for one in plain if one.first >= 5]
            assert noted.of(kind, within=within) == [
                one for one in plain if within[0] <= by_seq[one.first]["at"] < within[1]]
        assert noted.standing(lambda one: one["seq"] % 2) == [
            one for one in all_of_it if one.first % 2]
        for pile in ("P3-014", "P3-016"):
            assert noted.bags_on(pile, within=within) == sum(
                one.record["bags"] for one in all_of_it if one.kind == "bag"
                and one.record.get("pile") == pile and instant(within[0]) <= one.at
                and one.at < instant(within[1]))


def test_what_a_book_gave_is_the_askers_own(book, hand, zone):
    outing = Outing(book)
    outing.start("MT", "picker", **hand())
    Tally(outing, zone=zone).bag(**hand())
    outing.noted.of("bag").clear()

    assert len(outing.noted.of("bag")) == 1


def test_a_kind_changes_only_with_its_own_records(book, hand, zone):
    outing = Outing(book)
    outing.start("MT", "picker", **hand())
    before = outing.noted.changes("bag", "quadrat")
    Tally(outing, zone=zone).bag(**hand())
    noted = outing.noted.changes("bag", "quadrat")
    Correct(outing).void(2, **hand())
    undone = outing.noted.changes("bag", "quadrat")

    assert before[0] < noted[0] < undone[0]
    assert before[1] == noted[1] == undone[1]


@pytest.mark.parametrize("count", [1, 3])
def test_an_even_number_of_voids_upon_voids_brings_a_record_back(count):
    settling = Settling()
    settling.add({"device": "p3-k7f2", "seq": 1, "kind": "bag"})
    for seq in range(2, 2 + count):
        settling.add({"device": "p3-k7f2", "seq": seq, "kind": "void", "of": f"p3-k7f2:{seq - 1}"})
    assert not settling.counts(1)
    settling.add({"device": "p3-k7f2", "seq": 2 + count, "kind": "void",
                  "of": f"p3-k7f2:{1 + count}"})
    assert settling.counts(1)
