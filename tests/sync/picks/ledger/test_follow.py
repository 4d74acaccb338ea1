"""Every bag is in one place: pile, on the way, at the shed, lot, or short between two of them."""

from datetime import date

import pytest


@pytest.fixture
def notes(book):
    """Sixty bags on a pile."""
    made = book.Notes()
    made.bags(0, "P1", 40)
    made.bags(1, "P1", 20, person="RK")
    return made


def told(balance):
    """Give the fields of a balance that are not 0."""
    names = ("tallied", "surplus", "lifted", "arrived", "no_pile", "on_piles", "on_the_way",
             "at_the_shed", "dried", "short")
    return {name: getattr(balance, name) for name in names if getattr(balance, name)}


def test_a_batch_goes_from_pile_to_lot_and_what_is_missing_is_short(book, notes):
    notes.batch(5, "L-1", "lifted", 56, "P1")
    assert told(book.balance(notes)) == {
        "tallied": 60, "lifted": 56, "on_piles": 4, "on_the_way": 56}
    notes.batch(5, "L-1", "arrived", 54)
    assert told(book.balance(notes)) == {
        "tallied": 60, "lifted": 56, "arrived": 54, "on_piles": 4, "at_the_shed": 54, "short": 2}
    notes.batch(30, "L-1", "dried", 54, dry_kg=370.0)
    assert told(book.balance(notes)) == {
        "tallied": 60, "lifted": 56, "arrived": 54, "on_piles": 4, "dried": 54, "short": 2}
    assert book.balance(notes).short_on_the_way == 2


def test_a_day_before_knows_nothing_of_what_came_later(book, notes):
    notes.batch(5, "L-1", "lifted", 56, "P1")
    assert told(book.balance(notes, on=4)) == {"tallied": 60, "on_piles": 60}
    assert told(book.balance(notes, on=0)) == {"tallied": 40, "on_piles": 40}


def test_bags_dried_without_a_word_of_the_lift_were_lifted(book, notes):
    notes.batch(30, "D-1", "dried", 58, "P1", dry_kg=400.0)
    assert told(book.balance(notes)) == {
        "tallied": 60, "lifted": 58, "arrived": 58, "on_piles": 2, "dried": 58}


def test_a_batch_that_is_only_weighed_lies_where_it_lay(book, notes):
    notes.batch(2, "W-1", "weighed", 10, "P1", wet_kg=900.0)
    assert told(book.balance(notes)) == {"tallied": 60, "on_piles": 60}
    notes.batch(30, "D-1", "dried", 10, "W-1", dry_kg=68.0)
    assert told(book.balance(notes))["dried"] == 10
    assert book.ledger(notes).piles["P1", 2025].bags == 50


def test_bags_of_unknown_number_are_all_that_lay_there_by_that_day(book, notes):
    notes.batch(0, "L-1", "lifted", None, "P1")
    assert told(book.balance(notes)) == {
        "tallied": 60, "lifted": 40, "on_piles": 20, "on_the_way": 40}


def test_a_lift_dated_before_its_bags_makes_no_bags(book, notes):
    notes.batch(0, "L-1", "lifted", 56, "P1")
    assert told(book.balance(notes)) == {
        "tallied": 60, "lifted": 56, "on_piles": 4, "on_the_way": 56}


def test_more_than_there_was_is_told_as_surplus_where_it_was_counted(book, notes):
    notes.batch(5, "L-1", "lifted", 63, "P1")
    assert told(book.balance(notes)) == {
        "tallied": 60, "surplus": 3, "lifted": 63, "on_the_way": 63}
    notes.batch(6, "L-1", "arrived", 65)
    found = book.balance(notes)
    assert told(found) == {
        "tallied": 60, "surplus": 5, "lifted": 63, "arrived": 65, "at_the_shed": 65}
    assert [(one.stage, one.bags, one.grew) for one in book.ledger(notes).surplus.values()] == [
        ("lifted", 3, None), ("arrived", 2, "grew_on_the_way")]


def test_lots_made_of_one_lift_explain_where_its_bags_are(book, notes):
    notes.batch(5, "L-1", "lifted", 60, "P1")
    notes.batch(5, "L-1", "arrived", 60)
    notes.batch(30, "D-1", "dried", 30, "L-1", dry_kg=200.0)
    notes.batch(31, "D-2", "dried", 28, "L-1", dry_kg=190.0)
    assert told(book.balance(notes)) == {
        "tallied": 60, "lifted": 60, "arrived": 60, "at_the_shed": 2, "dried": 58}
    notes.batch(32, "L-1", "dried", 1)
    assert told(book.balance(notes)) == {
        "tallied": 60, "lifted": 60, "arrived": 60, "dried": 59, "short": 1}
    assert book.balance(notes).short_at_the_shed == 1


def test_a_lot_is_led_through_lifts_whatever_the_order_of_days_that_was_written(book, notes):
    """The form says the lot was dried on the day before its lift arrived: a slip of the date."""
    notes.batch(5, "L-1", "lifted", 60, "P1")
    notes.batch(9, "L-1", "arrived", 58)
    notes.batch(8, "D-1", "dried", 58, "L-1", dry_kg=400.0)
    assert told(book.balance(notes)) == {
        "tallied": 60, "lifted": 60, "arrived": 58, "dried": 58, "short": 2}


def test_two_records_of_one_stage_add_up(book, notes):
    notes.batch(5, "L-1", "lifted", 30, "P1")
    notes.batch(6, "L-1", "lifted", 20, "P1")
    notes.batch(7, "L-1", "arrived", 50)
    assert told(book.balance(notes)) == {
        "tallied": 60, "lifted": 50, "arrived": 50, "on_piles": 10, "at_the_shed": 50}


def test_a_lot_of_no_known_label_is_surplus_and_takes_nothing_away(book, notes):
    notes.batch(30, "D-1", "dried", 7, "P9", dry_kg=50.0)
    assert told(book.balance(notes)) == {
        "tallied": 60, "surplus": 7, "lifted": 7, "arrived": 7, "on_piles": 60, "dried": 7}


def test_labels_that_run_in_a_ring_end(book, notes):
    notes.batch(5, "L-1", "lifted", 20, ["L-2", "P1"])
    notes.batch(5, "L-2", "lifted", 20, ["L-1", "P1"])
    found = book.balance(notes)
    assert found.held == found.tallied + found.surplus
    assert found.on_the_way + found.on_piles == 60 + found.surplus


def test_a_batch_speaks_of_the_pile_there_was_when_it_left(book, notes):
    """Dried in July, after the season's turn; in November the label is used again."""
    notes.batch(date(2026, 7, 20), "D-1", "dried", 60, "P1", dry_kg=400.0)
    notes.bags(date(2026, 11, 2), "P1", 12)
    piles = book.ledger(notes, date(2026, 12, 1)).piles
    assert {label: held.bags for label, held in piles.items()} == {
        ("P1", 2025): 0, ("P1", 2026): 12}


def test_2026_11_28_a_pile_that_lies_over_the_season_s_turn_is_one(book, notes):
    """A lift in July took only July's bags; June's lay there for ever, the lack was surplus."""
    notes.bags(date(2026, 6, 29), "P9", 7)
    notes.bags(date(2026, 7, 2), "P9", 5)
    notes.batch(date(2026, 7, 4), "L-9", "lifted", 12, "P9")
    day = date(2026, 8, 1)
    assert not book.ledger(notes, day).surplus
    assert told(book.balance(notes, day, 2026)) == {"tallied": 5, "lifted": 5, "on_the_way": 5}


def test_a_label_used_again_a_month_after_the_season_s_turn_is_another_pile(book, notes):
    notes.bags(date(2026, 6, 29), "P9", 7)
    notes.bags(date(2026, 7, 29), "P9", 5)
    notes.batch(date(2026, 7, 30), "L-9", "lifted", None, "P9")
    piles = book.ledger(notes, date(2026, 8, 1)).piles
    assert (piles["P9", 2025].bags, piles["P9", 2026].bags) == (7, 0)


def test_a_batch_lifted_in_june_arrives_in_july(book, notes):
    notes.batch(date(2026, 6, 29), "L-1", "lifted", 60, "P1")
    notes.batch(date(2026, 7, 2), "L-1", "arrived", 59)
    notes.batch(date(2026, 7, 30), "D-1", "dried", 59, "L-1", dry_kg=400.0)
    found = book.ledger(notes, date(2026, 8, 1))
    assert told(book.balance(notes, date(2026, 8, 1))) == {
        "tallied": 60, "lifted": 60, "arrived": 59, "dried": 59, "short": 1}
    assert set(found.batches) == {("L-1", 2025), ("D-1", 2026)}


def test_a_label_of_last_season_is_another_batch_in_this(book, notes):
    notes.batch(5, "L-1", "lifted", 60, "P1")
    notes.bags(date(2026, 9, 1), "P1", 8)
    notes.batch(date(2026, 9, 2), "L-1", "lifted", 8, "P1")
    assert told(book.balance(notes, date(2026, 10, 1), 2026)) == {
        "tallied": 8, "lifted": 8, "on_the_way": 8}


def test_what_is_voided_or_mended_counts_no_more(book, notes):
    name = notes.batch(5, "L-1", "lifted", 56, "P1")
    notes.mend(name, bags=50)
    assert told(book.balance(notes))["on_the_way"] == 50
    notes.void("shed:4")
    assert told(book.balance(notes))["on_the_way"] == 56
    notes.void(name)
    assert told(book.balance(notes)) == {"tallied": 60, "on_piles": 60}


def test_bags_on_no_pile_stay_where_nobody_can_follow_them(book, notes):
    notes.bags(2, None, 3)
    assert told(book.balance(notes)) == {"tallied": 63, "no_pile": 3, "on_piles": 60}


def test_halves_are_exact(book, notes):
    notes.bags(2, "P1", 0.5)
    for i in range(9):
        notes.batch(5 + i, f"L-{i}", "lifted", 6.5, "P1")
    assert book.ledger(notes).piles["P1", 2025].bags == 2.0
