"""Whatever is tallied, lifted, arrived, dried, voided, corrected and late: each bag is somewhere.

The plain model keeps counts in lists and goes through what stands, day after day.
"""

from collections import defaultdict

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sync.picks.ledger.balance import (
    Balance,
    balance_of_days,
    balance_of_piles,
    balance_of_seasons,
    balances,
    places_of,
)

PLACE = {"lifted": "on_the_way", "arrived": "at_the_shed", "dried": "dried"}
HALVES = st.integers(1, 60).map(lambda n: n / 2)
PILES = ("P1", "P2", "P3")


class Model:
    """Counts by place, gone through one step a day; `tallies` are all of the time asked about."""

    def __init__(self, tallies):
        self.tallies = [[day, pile, bags] for day, pile, bags in tallies if pile is not None]
        self.batches = {}
        self.sums = defaultdict(float)
        self.sums["tallied"] = sum(bags for _, _, bags in tallies)
        self.sums["no_pile"] = sum(bags for _, pile, bags in tallies if pile is None)

    def stage(self, day, label, stage, bags, sources):
        if stage == "weighed":
            return
        held = (self.batches[label][1] if label in self.batches
                else self._drawn(day, bags, sorted(sources)))
        counted = held if bags is None else bags
        self.sums["short" if counted < held else "surplus"] += abs(held - counted)
        self.batches[label] = (stage, counted)

    def _drawn(self, day, bags, sources):
        most, got = float("inf") if bags is None else bags, 0.0
        for source in sources:
            if source in self.batches:
                stage, held = self.batches[source]
                self.batches[source] = (stage, held - min(held, most - got))
                got += min(held, most - got)
            else:
                got += self._off(source, range(day + 1), most - got)
        for source in sources if bags is not None else ():
            got += self._off(source, range(day + 1, 999), most - got)
        return got

    def _off(self, pile, days, most):
        got = 0.0
        for one in self.tallies:
            if one[1] == pile and one[0] in days:
                taken = min(one[2], most - got)
                one[2] -= taken
                got += taken
        return got

    def told(self):
        found = defaultdict(float, {key: n for key, n in self.sums.items() if n})
        found["on_piles"] = sum(bags for _, _, bags in self.tallies)
        for stage, held in self.batches.values():
            found[PLACE[stage]] += held
        return {key: n for key, n in found.items() if n}


@st.composite
def histories(draw):
    """Steps of one season, a day each: (what, arguments); lifts first have a `from`, always."""
    steps, lifts = [], {}
    for _ in range(draw(st.integers(4, 24))):
        what = draw(st.sampled_from(["tally", "tally", "tally", "lift", "go on", "dry", "weigh"]))
        bags = draw(st.none() | HALVES)
        if what == "tally":
            pile = draw(st.sampled_from((*PILES, None)))
            steps.append(("tally", pile, draw(HALVES)))
        elif what == "lift":
            label = f"L{len(lifts)}"
            made_of = tuple(draw(st.lists(st.sampled_from(PILES), min_size=1, max_size=2,
                                          unique=True)))
            lifts[label] = ["lifted", made_of]
            steps.append(("stage", label, "lifted", bags, made_of))
        elif what == "go on":
            waiting = [label for label, (stage, _) in lifts.items() if stage == "lifted"]
            if waiting:
                label = draw(st.sampled_from(waiting))
                lifts[label][0] = "arrived"
                steps.append(("stage", label, "arrived", bags, lifts[label][1]))
        else:
            there = [label for label, (stage, _) in lifts.items() if stage == "arrived"]
            made_of = tuple(draw(st.lists(st.sampled_from((*PILES, *there)), min_size=1,
                                          max_size=2, unique=True)))
            stage = "weighed" if what == "weigh" else "dried"
            steps.append(("stage", f"D{len(steps)}", stage, bags, made_of))
    return steps


def replayed(steps, changes, until):
    standing = []
    for i, (what, *said) in enumerate(steps[:until + 1]):
        if changes.get(i) != "void":
            said[1 if what == "tally" else 2] = changes.get(i, said[1 if what == "tally" else 2])
            standing.append((i, what, said))
    model = Model([(i, *said) for i, what, said in standing if what == "tally"])
    for i, what, said in standing:
        if what == "stage":
            model.stage(i, *said)
    return model.told()


def noted(book, steps, changes):
    notes = book.Notes()
    for i, (what, *said) in enumerate(steps):
        if what == "tally":
            notes.bags(i, said[0], said[1])
        else:
            label, stage, bags, made_of = said
            notes.batch(i, label, stage, bags, made_of)
    for i, change in changes.items():
        if change == "void":
            notes.void(f"shed:{i + 1}")
        else:
            notes.mend(f"shed:{i + 1}", bags=change)
    return notes


def told(balance):
    names = ("tallied", "surplus", "no_pile", "on_piles", "on_the_way", "at_the_shed", "dried",
             "short")
    return {name: getattr(balance, name) for name in names if getattr(balance, name)}


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_every_bag_is_where_the_plain_model_has_it(book, data):
    steps = data.draw(histories())
    changes = data.draw(st.dictionaries(
        st.integers(0, len(steps) - 1), st.just("void") | HALVES, max_size=5))
    notes = noted(book, steps, changes)
    until = data.draw(st.integers(0, len(steps) - 1))
    late = data.draw(st.permutations(notes.kept))
    for on in (until, len(steps) - 1):
        found = book.ledger(notes, on, order=late)
        by_season = balance_of_seasons(found)
        expected = replayed(steps, changes, on)
        assert (told(by_season[2025]) if by_season else {}) == pytest.approx(expected)
        adds_up(found)


def adds_up(found):
    for group in (balance_of_seasons(found), balance_of_piles(found),
                  balances(found, lambda bag: bag.day, lambda over: over.day)):
        for one in group.values():
            assert one.held == pytest.approx(one.tallied + one.surplus, abs=1e-4)
            assert min(vars(one).values()) >= 0.0
            assert one.lifted >= one.arrived - one.grew_on_the_way - 1e-4
    for _, held in places_of(found):
        assert held.bags == pytest.approx(sum(held.parts.values()))
        assert held.bags >= 0.0


LABELS = st.sampled_from(["P1", "P2", "L1", "L2", "D1", "D2"])
DAYS = st.integers(0, 500)
WILD = st.one_of(
    st.tuples(st.just("bag"), DAYS, st.none() | LABELS, HALVES),
    st.tuples(st.just("batch"), DAYS, LABELS,
              st.sampled_from(["weighed", "lifted", "arrived", "dried"]), st.none() | HALVES,
              st.lists(LABELS, max_size=3)),
)


@settings(max_examples=150, deadline=None)
@given(st.lists(WILD, min_size=1, max_size=25), st.randoms(use_true_random=False))
def test_labels_in_any_muddle_lose_no_bag_and_make_none_untold(book, steps, chance):
    notes = book.Notes()
    for what, day, *said in steps:
        if what == "bag":
            notes.bags(day, *said)
        else:
            notes.batch(day, *said)
    found = book.ledger(notes, 600)
    adds_up(found)
    bags = [one["bags"] for one in notes.kept if one["kind"] == "bag"]
    whole = sum(held.bags for _, held in places_of(found))
    assert whole == pytest.approx(sum(bags) + sum(o.bags for o in found.surplus.values()))
    late = list(notes.kept)
    chance.shuffle(late)
    assert book.ledger(notes, 600, order=late) == found


def test_2026_11_28_a_surplus_after_the_turn_draws_no_bag_of_the_next_season_into_its_day(book):
    notes, turned = book.Notes(), 310
    notes.bags(1, "A", 5)
    notes.batch(100, "L", "lifted", 5, "A")
    notes.batch(turned, "L", "dried", 7)
    notes.bags(turned, "B", 11)
    found, day = book.ledger(notes, turned), book.day_of(turned)

    assert balance_of_days(found, 2025)[day] == Balance(
        surplus=2.0, dried=2.0, grew_at_the_shed=2.0)
    assert balance_of_days(found, 2026) == {day: Balance(tallied=11.0, on_piles=11.0)}
