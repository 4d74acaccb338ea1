"""Position groups: which presses share one error of place."""

import weakref
from datetime import UTC, date, datetime, timedelta

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from sync.crop.kept import Remembered
from sync.geometry.bags import in_order
from sync.geometry.placed import Drift, Placed
from sync.intake.seen import BagSeen
from sync.picks.presses import Numbered, with_groups
from sync.settings import Tunables

NOON = datetime(2025, 11, 10, 12, tzinfo=UTC)


def press(minutes, east=0.0, *, device="p1-aaaa", seq=None, fix=True, picker="MT"):
    seq = 1 + int(minutes * 10) if seq is None else seq
    bag = BagSeen(f"{device}:{seq}", NOON + timedelta(minutes=minutes), date(2025, 11, 10), device,
                  seq, picker, True, 1.0, None, None, None, None, None, None)
    place = (east, 0.0, 3.0) if fix else (None, None, None)
    return Placed(bag, *place, {}, {}, 0.0, "fix")


def grouped(presses, kept=None):
    """The presses with their groups, in their order."""
    parts = {}
    for one in presses:
        parts.setdefault((one.bag.picker, one.bag.device), []).append(one)
    parts = {whose: tuple(each) for whose, each in parts.items()}
    return in_order([one.bag for one in presses], with_groups(parts, Tunables(), kept))


def groups(*presses):
    return [(one.bag.device, one.group) for one in grouped(presses)]


def test_presses_within_ten_minutes_and_25_metres_share_a_group():
    one, two, late, far = groups(press(0), press(10, 25), press(10.5), press(5, 26))
    assert one == two
    assert len({one, late, far}) == 3


def test_presses_of_two_phones_never_share_a_group():
    one, two = groups(press(0), press(0, device="p2-aaaa"))
    assert one != two


def test_presses_of_one_phone_for_two_pickers_share_a_group():
    one, late, other = groups(press(0), press(20), press(1, picker="RK"))
    assert one == other != late


def test_presses_without_a_fix_stand_alone():
    found = groups(press(0, fix=False, seq=1), press(0, fix=False, seq=2), press(0, seq=3),
                   press(0, seq=4))
    assert found[2] == found[3]
    assert len(set(found)) == 3


def test_what_was_placed_keeps_its_order_and_all_else():
    presses = [press(5), press(0), press(3, fix=False)]
    assert [one.bag for one in grouped(presses)] == [one.bag for one in presses]


def test_2026_11_28_a_phones_presses_of_former_registers_are_let_go_of():
    kept, seen = Remembered().grouped, []
    for count in (1, 2, 3):
        drift = Drift({}, {}, np.zeros(3))  # goes with its press
        grouped([press(i)._replace(drift=drift) for i in range(count)], kept)
        seen.append(weakref.ref(drift))
        del drift
    assert [one() is None for one in seen] == [True, True, False]


@given(st.lists(st.tuples(st.integers(0, 60), st.integers(0, 60), st.booleans(),
                          st.sampled_from(["MT", "RK"])), max_size=8),
       st.randoms(use_true_random=False))
def test_the_order_in_which_presses_came_makes_no_group(made, chance):
    presses = [press(minutes, east, seq=i + 1, fix=fix, picker=picker)
               for i, (minutes, east, fix, picker) in enumerate(made)]

    def parted(order):
        together = {}
        for one in grouped(order):
            together.setdefault(one.group, set()).add(one.bag.name)
        return sorted(map(sorted, together.values()))

    other = chance.sample(presses, len(presses))
    assert parted(other) == parted(presses)


@given(st.lists(st.tuples(st.integers(0, 90), st.integers(0, 60), st.booleans(),
                          st.sampled_from(["MT", "RK"])), max_size=10),
       st.lists(st.integers(0, 10), min_size=1, max_size=3), st.booleans())
def test_presses_that_come_later_are_numbered_as_all_at_once(made, cuts, by_time):
    made = sorted(made) if by_time else made
    presses = [press(minutes, east, seq=i + 1, fix=fix, picker=picker)
               for i, (minutes, east, fix, picker) in enumerate(made)]
    kept = Numbered()
    for cut in [*sorted(cuts), len(presses)]:
        assert [one.group for one in grouped(presses[:cut], kept)] == [
            one.group for one in grouped(presses[:cut])]


def test_presses_of_a_later_day_leave_those_before_as_they_are():
    kept, presses = Numbered(), [press(0), press(3, fix=False), press(30), press(60, 40)]
    before = grouped(presses[:3], kept)
    after = grouped(presses, kept)
    assert all(one is other for one, other in zip(before, after, strict=False))
    assert [one.group for one in after] == [0, -1 - presses[1].bag.seq, 1, 2]
    # Nearer than a group lasts they are all looked at again.
    near = [*presses, press(61, 45)]
    assert [one.group for one in grouped(near, kept)] == [one.group for one in grouped(near)]
