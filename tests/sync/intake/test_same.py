"""Which objects of two sequences are the very same, at their beginnings and ends."""

from hypothesis import given
from hypothesis import strategies as st

from sync.intake.same import all_same, same_ends

THINGS = [object() for _ in range(3)]
rows = st.lists(st.sampled_from(THINGS), max_size=6)


@given(rows, rows)
def test_what_lies_between_the_same_ends_is_as_short_as_can_be(some, others):
    first, last = same_ends(some, others)

    assert first + last <= min(len(some), len(others))
    assert all_same(some[:first], others[:first])
    assert all_same(some[len(some) - last:], others[len(others) - last:])
    left, there = some[first:len(some) - last], others[first:len(others) - last]
    if left and there:
        assert left[0] is not there[0]
        assert left[-1] is not there[-1]


def test_equal_is_not_the_same():
    one, other = [1.5], [1.5]
    assert same_ends([one], [other]) == (0, 0)
    assert same_ends([], []) == (0, 0)
