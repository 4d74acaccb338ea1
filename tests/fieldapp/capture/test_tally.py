"""The tally, UNDO and PUT BACK."""

from datetime import timedelta

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from fieldapp.capture.book import CaptureError
from fieldapp.capture.correct import Correct
from fieldapp.capture.outing import Outing
from fieldapp.capture.tally import Tally
from fieldapp.capture.undo import Undo


@pytest.fixture
def outing(book, hand):
    outing = Outing(book)
    outing.start("MT", "picker", **hand())
    return outing


@pytest.fixture
def tally(outing, zone):
    return Tally(outing, zone=zone)


@pytest.fixture
def undo(outing):
    return Undo(outing)


def test_one_press_is_one_bag_on_disk(book, hand, tally):
    record = tally.bag(press_ms=140, **hand(minutes=30))
    assert record == book.record(2) == {
        "device": "p3-k7f2", "seq": 2, "kind": "bag", "at": "2026-01-20T19:10:00.000Z",
        "person": "MT", "bags": 1, "press_ms": 140,
        "where": {"lat": hand.where.lat, "lon": hand.where.lon, "age_s": 1, "acc_m": 4}}
    assert tally.bags_today(hand.now) == 1.0


def test_halves_many_bags_and_bags_for_others_are_counted_by_whose_they_are(hand, tally):
    tally.bag(**hand())
    tally.bag(bags=0.5, **hand())
    tally.bag(bags=12, for_="DW", type_="wool pack", wet_kg=700, pile="P3-014", **hand())
    tally.bag(for_="MT", **hand())
    assert tally.by_person(hand.now) == {"MT": 2.5, "DW": 12.0}
    assert tally.bags_today(hand.now, "DW") == 12.0
    assert tally.bags_today(hand.now, "RK") == 0.0


def test_a_bag_for_oneself_names_nobody(book, hand, tally):
    tally.bag(for_="MT", **hand())
    assert "for" not in book.record(2)


def test_a_bag_in_a_pause_has_no_place(book, hand, outing, tally):
    outing.pause(**hand())
    tally.bag(**hand())
    assert book.record(3)["where"] is None
    assert tally.bags_today(hand.now) == 1.0


def test_a_bag_that_was_not_written_is_not_counted(book, hand, tally):
    book.broken = True
    with pytest.raises(OSError, match="no room"):
        tally.bag(**hand())
    assert tally.bags_today(hand.now) == 0.0


def test_today_ends_at_the_block_s_midnight(hand, tally):
    tally.bag(**hand())
    hand.wait(hours=16, minutes=19)
    assert tally.bags_today(hand.now) == 1.0
    hand.wait(minutes=1)
    assert tally.bags_today(hand.now) == 0.0


def test_a_pile_s_bags_are_those_of_this_season(hand, tally):
    tally.bag(bags=3, pile="P3-014", **hand())
    tally.bag(bags=2, pile="P3-014", **hand(days=3))
    tally.bag(bags=9, pile="P3-015", **hand())
    assert tally.bags_on("P3-014", hand.now) == 5.0


def test_a_label_of_last_season_does_not_fill_this_one_s_pile(
        book, hand, outing, tally, make_sheet):
    outing.sheet = make_sheet()
    tally.bag(bags=3, pile="P3-014", **hand())
    hand.wait(days=200)
    assert tally.bags_on("P3-014", hand.now) == 0.0


def test_the_cells_picked_are_named_for_the_end_most_bags_first(hand, outing, tally, make_sheet):
    outing.sheet = make_sheet()
    tally.bag(**hand())
    hand.go(250.0, 50.0)
    tally.bag(bags=5, **hand())
    hand.go(350.0, 50.0)
    tally.bag(bags=9, **hand())
    assert tally.cells_picked() == ("C01", "B01")


def test_the_usual_bag_is_the_mean_of_what_was_weighed_today(hand, tally):
    assert tally.usual(hand.now).wet_kg_per_bag is None
    tally.bag(bags=2, wet_kg=160, **hand())
    tally.bag(bags=1, wet_kg=50, **hand())
    tally.bag(**hand())
    usual = tally.usual(hand.now)
    assert (usual.wet_kg_per_bag, usual.frame_m, usual.probes) == (70.0, 0.5, 3)


def test_undo_names_what_it_undoes_and_puts_it_back(book, hand, tally, undo):
    assert undo.offer(hand.now) is None
    tally.bag(**hand())
    tally.bag(bags=0.5, **hand())
    offer = undo.offer(hand.now)
    assert (offer.action, offer.record["seq"], tally.number_of(3, hand.now)) == ("undo", 3, 1.5)
    undo.press(press_ms=420, **hand(seconds=5))
    assert book.record(4) == {
        "device": "p3-k7f2", "seq": 4, "kind": "void", "of": "p3-k7f2:3", "person": "MT",
        "at": "2026-01-20T18:40:05.000Z", "press_ms": 420, "where": book.record(3)["where"]}
    assert tally.bags_today(hand.now) == 1.0
    assert tally.number_of(3, hand.now) is None
    back = undo.offer(hand.now)
    assert (back.action, back.record["seq"], back.void["seq"]) == ("put_back", 3, 4)
    undo.press(**hand(seconds=5))
    assert book.record(5)["of"] == "p3-k7f2:4"
    assert tally.bags_today(hand.now) == 1.5


def test_putting_back_is_offered_for_thirty_seconds_or_until_something_is_noted(hand, tally, undo):
    tally.bag(**hand())
    tally.bag(**hand())
    undo.undo(**hand())
    assert undo.offer(hand.now + timedelta(seconds=29.9)).action == "put_back"
    late = undo.offer(hand.now + timedelta(seconds=30))
    assert (late.action, late.record["seq"]) == ("undo", 2)
    tally.bag(**hand())
    assert undo.offer(hand.now).record["seq"] == 5


def test_undo_again_is_the_one_before_and_stops_at_the_start(hand, tally, undo, outing):
    tally.bag(**hand())
    outing.start("SW", "picker", **hand())
    tally.bag(**hand())
    tally.bag(**hand())
    assert undo.undo(**hand())["of"].endswith(":5")
    assert undo.undo(**hand())["of"].endswith(":4")
    with pytest.raises(CaptureError, match="nothing to undo"):
        undo.undo(**hand())


def test_a_mended_bag_counts_as_mended_and_its_undoing_brings_the_first_back(
        book, hand, tally, undo, outing):
    tally.bag(bags=3, **hand())
    Correct(outing).change(2, bags=5, **hand())
    assert tally.bags_today(hand.now) == 5.0
    undo.undo(**hand())
    assert tally.bags_today(hand.now) == 3.0


class TallyAgainstAList(RuleBasedStateMachine):
    """Bags, undo, put back and mends, against a plain list of what counts."""

    @initialize()
    def begin(self):
        book, self.hand = self.make_book(), self.make_hand()
        self.outing = Outing(book)
        self.outing.start("MT", "picker", **self.hand())
        self.tally = Tally(self.outing, zone=self.zone)
        self.undo = Undo(self.outing)
        self.bags = []
        self.undone = None

    @rule(bags=st.sampled_from([0.5, 1, 2, 12.5]), whose=st.sampled_from([None, "MT", "DW"]),
          pile=st.sampled_from([None, "P3-014"]))
    def bag(self, bags, whose, pile):
        record = self.tally.bag(bags=bags, for_=whose, pile=pile, **self.hand(seconds=7))
        self.bags.append([record["seq"], [bags], whose or "MT", pile])
        self.undone = None

    @precondition(lambda self: self.bags)
    @rule()
    def undo_the_last(self):
        # The last record that counts, be it a bag or a mend of an older one.
        latest = max(self.bags, key=lambda bag: bag[0])
        offer = self.undo.offer(self.hand.now + timedelta(seconds=60))
        assert offer.record["seq"] == latest[0]
        self.undo.undo(**self.hand(seconds=7))
        self.undone = (self.bags.index(latest), [*latest])
        if len(latest[1]) > 1:
            latest[1] = latest[1][:-1]
            latest[0] = latest[4]
        else:
            self.bags.remove(latest)

    @precondition(lambda self: self.undone)
    @rule()
    def put_back(self):
        self.undo.put_back(**self.hand(seconds=7))
        index, bag = self.undone
        if len(bag[1]) > 1:
            self.bags[index] = bag
        else:
            self.bags.insert(index, bag)
        self.undone = None

    @precondition(lambda self: any(len(bag[1]) == 1 for bag in self.bags))
    @rule(bags=st.sampled_from([1, 3, 40]), data=st.data())
    def mend(self, bags, data):
        bag = data.draw(st.sampled_from([bag for bag in self.bags if len(bag[1]) == 1]))
        record = Correct(self.outing).change(bag[0], bags=bags, **self.hand(seconds=7))
        bag[4:] = [bag[0]]
        bag[0], bag[1] = record["seq"], [*bag[1], bags]
        self.undone = None

    @invariant()
    def the_counts_are_those_of_the_list(self):
        wanted = {}
        for _, counts, whose, *_ in self.bags:
            wanted[whose] = wanted.get(whose, 0.0) + counts[-1]
        assert self.tally.by_person(self.hand.now) == wanted
        piled = sum(bag[1][-1] for bag in self.bags if bag[3] == "P3-014")
        assert self.tally.bags_on("P3-014", self.hand.now) == piled


def test_any_order_of_bags_undos_and_mends_counts_as_a_list_would(make_book, hand, zone):
    TallyAgainstAList.make_book = staticmethod(make_book)
    TallyAgainstAList.make_hand = staticmethod(type(hand))
    TallyAgainstAList.zone = zone
    run_state_machine_as_test(TallyAgainstAList, settings=settings(
        max_examples=60, stateful_step_count=25, deadline=None))
