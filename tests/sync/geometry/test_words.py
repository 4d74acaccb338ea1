"""The picker's word on the day's cell beside the track: what it moves, and what it may not."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.geometry.picking import DRIFTS
from sync.geometry.placed import Drift, Placed
from sync.geometry.words import with_words
from sync.intake.seen import BagSeen
from sync.picks.groups import track_share_variance
from sync.settings import Tunables

DAY = date(2026, 1, 22)
SURE = np.ones(DRIFTS)


def bag(day, confirmed, *, seq=5, own=True, bags=1.0):
    at = datetime(2026, 1, 22, 1, tzinfo=UTC) + timedelta(days=day)
    return BagSeen(
        f"p1-aaaa:{100 * day + seq}", at, DAY + timedelta(days=day), "p1-aaaa", 100 * day + seq,
        "MT", own, bags, None, None, None, confirmed, None, None)


def placed(bag, shares, parts):
    """A bag by its track: its shares, and the part of its time by cell for each error."""
    drift = Drift(parts, {}, np.clip(1.0 - sum(parts.values()), 0.0, 1.0))
    return Placed(bag, 0.0, 0.0, 3.0, shares, {}, 0.0, "track", drift=drift,
                  moved={cell: (share,) * 4 for cell, share in shares.items()})


def plain(day, *, word="C07", cell="C07", **said):
    """A bag far inside a cell."""
    return placed(bag(day, word, **said), {cell: 1.0}, {cell: SURE})


def on_the_border(day, *, word="C07", part=0.5, seen="D07", **said):
    """A bag filled on one spot, which so many of the errors put into C07, the rest into D07."""
    here = (np.arange(DRIFTS) < part * DRIFTS).astype(float)
    return placed(bag(day, word, **said), {seen: 1.0}, {"C07": here, "D07": 1.0 - here})


def heard(*bags):
    return with_words(bags, Tunables())


def last(*bags):
    return heard(*bags)[-1]


def days_right(count):
    return [plain(day) for day in range(count)]


def test_on_a_young_block_a_word_moves_nothing():
    one = on_the_border(0)

    assert heard(one) == (one,)
    assert heard(one)[0] is one


def test_words_that_proved_right_bring_a_bag_in_doubt_into_their_cell():
    """Nine right words of nine: ten to one. The chance of elsewhere falls from 1/2 to 1/11.

    So 2/11 of the share that the track put there stays.
    """
    found = last(*days_right(9), on_the_border(9))

    assert found.word.chance == pytest.approx(10 / 11)
    assert (found.word.right, found.word.words) == (9.0, 9)
    assert found.chances == {"C07": pytest.approx(9 / 11), "D07": pytest.approx(2 / 11)}


def test_a_share_that_the_word_moved_is_as_uncertain_as_a_chance():
    found = last(*days_right(9), on_the_border(9))

    for cell in ("C07", "D07"):
        east, west, north, south = found.moved[cell]
        assert track_share_variance(east=east, west=west, north=north, south=south) == (
            pytest.approx(10 / 11 * 1 / 11))


def test_the_words_of_the_same_and_of_later_days_count_for_nothing():
    same_day = [plain(0, seq=seq) for seq in range(6, 16)]
    later = [plain(day) for day in range(1, 9)]

    found = heard(on_the_border(0), *same_day, *later)

    assert found[0].chances == {"D07": 1.0}


def test_a_bag_that_the_fixes_put_elsewhere_stays_there():
    """He confirmed C07 and works 30 m inside C08; ninety right words change nothing."""
    there = plain(90, cell="C08")

    assert last(*days_right(90), there) is there


def test_a_bag_in_doubt_of_a_day_whose_plain_bags_gainsay_the_word_goes_by_the_track():
    gainsay = [plain(90, cell="C08", seq=seq) for seq in (6, 7, 8)]
    one = on_the_border(90)

    assert last(*days_right(90), *gainsay, one) is one


def test_a_day_spent_on_both_sides_whatever_the_error_keeps_its_shares():
    half = np.full(DRIFTS, 0.5)
    one = placed(bag(9, "C07"), {"C07": 0.5, "D07": 0.5}, {"C07": half, "D07": 1.0 - half})

    assert last(*days_right(9), one).chances == pytest.approx({"C07": 0.5, "D07": 0.5})


def test_words_that_proved_wrong_do_not_count_against_a_track():
    wrong = [plain(day, cell="C08") for day in range(9)]
    one = on_the_border(9)

    assert last(*wrong, one) is one


def test_a_day_counts_once_however_many_bags_it_had():
    """A day of nine right bags and one of a wrong bag: one right of two."""
    nine = [plain(0, seq=seq) for seq in range(6, 15)]
    one = on_the_border(2)

    assert last(*nine, plain(1, cell="C08"), one) is one


def test_a_word_of_which_half_the_bags_were_right_is_half_right():
    halves = [plain(0), plain(0, cell="C08", seq=6)]

    found = last(*halves, *[plain(day) for day in range(1, 9)], on_the_border(9))

    assert found.word.right == 8.5
    assert found.word.chance == pytest.approx(9.5 / 11)


def test_2026_11_28_a_press_mended_to_a_paper_count_of_none_proves_nothing():
    """It stopped every register of its block: its part right was 0 of 0 bags."""
    found = last(plain(9, bags=0.0), *days_right(9), on_the_border(10))

    assert (found.word.right, found.word.words) == (9.0, 9)


def test_bags_in_doubt_and_bags_for_others_prove_nothing():
    doubtful = [on_the_border(day, part=0.9, seen="C07") for day in range(9)]
    for_others = [plain(day, own=False, seq=7) for day in range(9)]
    one = on_the_border(9)

    assert last(*doubtful, *for_others, one) is one


def test_a_word_says_nothing_of_bags_for_somebody_else():
    one = on_the_border(9, own=False)

    assert last(*days_right(9), one) is one


def test_what_is_flagged_goes_by_the_fixes_alone():
    one = on_the_border(9)

    found = last(*days_right(9), one)

    assert found.chances != one.chances
    assert (found.drift, found.flagged) == (one.drift, one.flagged)
    assert (found.closed, found.held, found.outside) == (one.closed, one.held, one.outside)


@st.composite
def tracks(draw):
    """A bag of any shares in three cells, its errors putting any parts into them."""
    parts = draw(st.lists(st.tuples(*[st.floats(0.0, 1.0)] * 4), min_size=1, max_size=6))
    table = np.array(parts)[np.arange(DRIFTS) % len(parts)] + 1e-9
    table /= table.sum(axis=1, keepdims=True)
    shares = table[0]
    cells = ("C07", "C08", "D07")
    return placed(bag(50, "C07"), dict(zip(cells, shares.tolist(), strict=False)),
                  dict(zip(cells, table.T, strict=False)))


@given(tracks(), st.integers(0, 40))
def test_shares_stay_shares_and_more_right_words_never_lower_the_words_cell(one, words):
    fewer, more = last(*days_right(words), one), last(*days_right(words + 1), one)

    assert sum(more.chances.values()) <= 1.0 + 1e-9
    assert all(0.0 <= share <= 1.0 + 1e-9 for share in more.chances.values())
    assert one.chances["C07"] <= fewer.chances["C07"] + 1e-12
    assert fewer.chances["C07"] <= more.chances["C07"] + 1e-12
    for cell in ("C08", "D07"):
        assert more.chances[cell] <= one.chances[cell] + 1e-12


@given(st.permutations([*range(8)]))
def test_the_order_of_bags_moves_no_bit(order):
    cells = ["C07", "C07", "C08", "C07"]
    bags = [plain(day, cell=cell, bags=0.5 + day) for day, cell in enumerate(cells)]
    bags += [plain(1, cell="C09", seq=8), plain(2, word="C08", cell="C08", seq=9)]
    bags += [on_the_border(6, part=0.3), on_the_border(7)]

    found = heard(*(bags[i] for i in order))

    for i, one in zip(order, found, strict=True):
        assert one.chances == heard(*bags)[i].chances
        assert one.moved == heard(*bags)[i].moved


def test_a_bag_is_unlike_itself_only_in_what_a_word_may_move():
    one = on_the_border(9)

    found = last(*days_right(9), one)

    assert found._replace(chances=one.chances, moved=one.moved, word=None) == one
