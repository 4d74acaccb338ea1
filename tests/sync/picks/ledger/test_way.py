"""How far a batch's bags have come, whoever noted which stage."""

import pytest

from sync.picks.ledger.way import way_of


@pytest.fixture
def notes(book):
    made = book.Notes()
    made.bags(0, "P1", 40)
    made.bags(0, "P2", 10)
    made.batch(1, "L-1", "lifted", 36, "P1")
    return made


def way(book, notes, label="L-1"):
    found = way_of(book.ledger(notes), (label, 2025))
    return found.tallied, found.lifted, found.arrived, found.dried, found.short


def test_a_batch_that_is_only_lifted_has_not_arrived(book, notes):
    assert way(book, notes) == (40, 36, 0, 0, 0)


def test_lots_made_of_it_tell_what_arrived_and_was_dried(book, notes):
    notes.batch(20, "D-1", "dried", 20, "L-1", dry_kg=130.0)
    notes.batch(21, "D-2", "dried", 10, "L-1", dry_kg=70.0)
    assert way(book, notes) == (40, 36, 30, 30, 0)
    notes.batch(2, "L-1", "arrived", 34)
    assert way(book, notes) == (40, 36, 34, 30, 2)


def test_what_another_batch_brought_counts_where_it_brought_it(book, notes):
    notes.batch(2, "S-1", "arrived", 12, "L-1")
    notes.batch(3, "L-1", "arrived", 20)
    assert way(book, notes) == (40, 36, 32, 0, 4)
    notes.batch(30, "S-1", "dried", 9, dry_kg=60.0)
    assert way(book, notes) == (40, 36, 32, 9, 4)
    assert way(book, notes, "S-1") == (40, 12, 12, 9, 3)


def test_a_lot_is_all_dried_whatever_was_made_of_it_later(book, notes):
    notes.batch(20, "D-1", "dried", 8, "P2", dry_kg=50.0)
    notes.batch(21, "M-1", "dried", 5, "D-1", dry_kg=31.0)
    assert way(book, notes, "D-1") == (10, 8, 8, 8, 0)


def test_a_ring_ends(book, notes):
    notes.batch(5, "A", "lifted", 20, ["B", "P1"])
    notes.batch(5, "B", "lifted", 20, ["A", "P1"])
    assert way(book, notes, "A")[1] == 20
