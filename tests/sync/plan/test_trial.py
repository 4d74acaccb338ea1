"""What a trial shows: golden G19 from records, and pairs that were not done as drawn."""

from datetime import date, timedelta

import pytest

from sync.block import TrialDraw, TrialPair
from sync.cli.tables import text_table
from sync.plan.trial import trial_seen
from sync.report.trials import trial_table, trial_verdict
from sync.survey.paired import paired_change

DRAWN, ROLLED = date(2023, 9, 1), date(2023, 9, 20)
BEFORE, AFTER, ON = date(2023, 8, 20), date(2025, 8, 20), date(2026, 2, 20)
#: Golden G19: rolled less not rolled, change in index over two years. [L/m²]
SIX = (14, 22, -3, 9, 17, 11)
#: Nine cells make four pairs; a pair's cells and how much more the first one rose.
PAIRS = (("A01", "A02", 14), ("A03", "B01", 22), ("B02", "B03", -3), ("C01", "C02", 9))


def index(book, cell, day, l_m2, **fields):
    """Read a plot at full cover, so that its depth is its index. [L/m²]."""
    book.note("quadrat", day, "SW", plot=f"{cell}-1", when=fields.pop("when", "survey"),
              side_m=0.5, cover_pct=100, depth_mm=[l_m2, l_m2, l_m2], **fields)


def read_all(book, pairs=PAIRS, before=BEFORE, after=AFTER):
    for treated, other, more in pairs:
        for cell, rise in ((treated, 20 + more), (other, 20)):
            index(book, cell, before, 50)
            index(book, cell, after, 50 + rise)


def rolled(book, *cells, on=ROLLED, trial="rolling"):
    book.note("work", on, "F", what="rolled", cells=list(cells), hours=2, trial=trial)


def draws(pairs=PAIRS):
    return TrialDraw("rolling", "rolled", DRAWN, 7, tuple(
        TrialPair(one, two, "all", 50.0, 50.0) for one, two, _ in pairs))


def seen(mire, book, pairs=PAIRS, on=ON, **options):
    draw = draws(pairs)
    return trial_seen(mire.register(book, on, mire.mire(trials=(draw,))), [draw], **options)


def words(found):
    return "\n".join(trial_verdict(found))


@pytest.fixture
def done(mire):
    book = mire.Book()
    read_all(book)
    rolled(book, *(pair[0] for pair in PAIRS))
    return book


def test_differences_of_changes_come_out_of_the_quadrats(mire, done):
    found = seen(mire, done)
    assert [one.difference for one in found.pairs] == pytest.approx([14, 22, -3, 9])
    assert all(one.as_drawn and not one.waits for one in found.pairs)
    assert found.as_drawn == found.found
    assert {one.treated.plots for one in found.pairs} == {1}


def test_the_printed_six_pairs_have_their_printed_range(mire):
    # Nine cells have no six pairs, so they are read on two blocks, three each.
    differences = []
    for part in (SIX[:3], SIX[3:]):
        book = mire.Book()
        pairs = [(*pair[:2], more) for pair, more in zip(PAIRS, part, strict=False)]
        read_all(book, pairs)
        rolled(book, *(pair[0] for pair in pairs))
        differences += [one.difference for one in seen(mire, book, pairs).pairs]
    change = paired_change(differences)
    assert change.mean == pytest.approx(11.666667, abs=5e-7)
    assert change.se == pytest.approx(3.480102, abs=5e-7)
    assert (change.low, change.high) == pytest.approx((4.654092, 18.679241), abs=5e-7)


def test_nothing_is_compared_before_a_cell_of_the_trial_is_treated(mire):
    book = mire.Book()
    read_all(book)
    found = seen(mire, book)
    assert found.found is None
    assert {one.waits for one in found.pairs} == {
        f"{one} is not rolled yet" for one, _, _ in PAIRS}
    assert "Cannot tell yet: no pairs" in words(found)


def test_work_without_the_trials_name_is_said_and_not_taken(mire):
    book = mire.Book()
    read_all(book)
    rolled(book, "A01", trial=None)
    assert "A01 was rolled on 2023-09-20, but not for trial rolling" in words(seen(mire, book))


def test_a_pair_not_treated_within_a_year_counts_as_it_was_drawn(mire):
    book = mire.Book()
    read_all(book)
    rolled(book, "A01", "A03", "C01")
    early = seen(mire, book, on=DRAWN + timedelta(days=364))
    assert early.pairs[2].waits == "B02 is not rolled yet"
    found = seen(mire, book)
    assert found.found.df == 3
    assert found.as_drawn.df == 2
    assert found.as_drawn.mean == pytest.approx(15.0)
    assert found.found.mean == pytest.approx(10.5)
    assert "B02 was never treated; the pair counts as it was drawn" in words(found)
    assert "Of the three pairs done as drawn alone: +15.0" in words(found)


def test_a_pair_whose_other_cell_was_treated_too_counts_as_it_was_drawn(mire, done):
    rolled(done, "B01", on=date(2024, 1, 5), trial=None)
    found = seen(mire, done)
    assert found.found.df == 3
    assert found.as_drawn.df == 2
    assert "B01 was treated too, on 2024-01-05" in words(found)


def test_work_of_before_the_draw_is_none_of_the_trials(mire, done):
    rolled(done, "A02", on=date(2023, 5, 1))
    assert seen(mire, done).pairs[0].other_on is None


def test_a_pair_that_was_not_read_again_does_not_count_yet(mire):
    book = mire.Book()
    read_all(book)
    index(book, "B03", BEFORE, 50)
    rolled(book, *(pair[0] for pair in PAIRS))
    on = AFTER - timedelta(days=1)
    found = seen(mire, book, on=on)
    assert found.found is None
    assert found.pairs[0].waits == "A01 was not measured since 2023-09-20"


def test_a_cell_read_only_after_its_treatment_has_no_before(mire):
    book = mire.Book()
    read_all(book, before=ROLLED + timedelta(days=1))
    rolled(book, *(pair[0] for pair in PAIRS))
    assert seen(mire, book).pairs[0].waits == "A01 was not measured before 2023-09-20"


@pytest.mark.parametrize(("days", "counts"), [(183, True), (184, False)])
def test_cells_read_at_other_times_are_no_pair(mire, days, counts):
    book = mire.Book()
    rolled(book, "A01")
    for cell, shift, rise in (("A01", 0, 30), ("A02", days, 20)):
        index(book, cell, BEFORE, 50)
        index(book, cell, AFTER - timedelta(days=shift), 50 + rise)
    assert (seen(mire, book).pairs[0].difference is not None) is counts


def test_a_pick_between_in_one_cell_alone_makes_them_no_pair(mire, done):
    done.bags(date(2024, 11, 10), "A02", 200)
    found = seen(mire, done)
    assert found.pairs[0].waits.endswith("with as many picks between")
    done.bags(date(2024, 11, 10), "A01", 200)
    assert seen(mire, done).pairs[0].difference == pytest.approx(14.0)


def test_what_was_read_right_after_the_pick_is_the_before(mire):
    book = mire.Book()
    picked = date(2023, 11, 10)
    for cell, left, rise in (("A01", 20, 34), ("A02", 20, 20)):
        index(book, cell, BEFORE, 60)
        book.bags(picked, cell, 200)
        index(book, cell, picked, left, when="after_pick")
        index(book, cell, AFTER, left + rise)
    rolled(book, "A01", on=picked + timedelta(days=3))
    pair = seen(mire, book).pairs[0]
    assert pair.treated.before == pytest.approx(20.0)
    assert pair.difference == pytest.approx(14.0)


def test_the_means_of_both_visits_serve_where_no_plot_was_read_twice(mire):
    book = mire.Book()
    rolled(book, "A01")
    for cell, rise in (("A01", 30), ("A02", 20)):
        for day, more in ((BEFORE, 0), (AFTER, rise)):
            for _ in range(2):
                book.quadrat(day, cell, 100, (50 + more,) * 3)
    pair = seen(mire, book).pairs[0]
    assert pair.treated.plots == 0
    assert pair.difference == pytest.approx(10.0)
    assert "means" in trial_table(seen(mire, book)).rows[0][3]


def test_work_within_an_outline_is_done_in_the_cells_it_covers(mire):
    book = mire.Book()
    read_all(book)
    book.note("work", ROLLED, "F", what="rolled", outline=mire.polygon(0, 0, 105, 100),
              trial="rolling")
    found = seen(mire, book)
    assert found.pairs[0].treated_on == ROLLED  # A01
    assert found.pairs[1].other_on is None  # a twentieth of B01


def test_an_outline_that_cannot_be_read_stops_nothing(mire, done):
    done.note("work", ROLLED, "F", what="rolled", outline={"type": "Polygon"}, trial="rolling")
    assert seen(mire, done).found is not None


def test_another_difference_that_matters_needs_another_number_of_pairs(mire, done):
    few, many = (seen(mire, done, matters_l_m2=one).needed for one in (20.0, 2.0))
    assert few < many
    assert "a difference of 20 L/m²" in words(seen(mire, done, matters_l_m2=20.0))


@pytest.mark.parametrize(("differences", "said"), [
    ((14, 22, 9, 17), "likely real; four pairs"), ((14, -22, 9, -3), "cannot tell yet; four"),
    ((0, 1, -1, 0), "likely too little to matter; four")])
def test_what_it_shows_is_said_in_words(mire, differences, said):
    book = mire.Book()
    pairs = [(*pair[:2], more) for pair, more in zip(PAIRS, differences, strict=True)]
    read_all(book, pairs)
    rolled(book, *(pair[0] for pair in pairs))
    assert said in words(seen(mire, book, pairs))


def test_a_table_fits_a_hundred_columns(mire, done):
    shown = trial_table(seen(mire, done))
    lines = text_table(shown.columns, shown.rows, left=shown.left)
    assert max(map(len, lines)) <= 100
    assert lines[1].startswith("A01 T")
