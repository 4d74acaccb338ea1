"""What was worked out once is given again, and only for the very same."""

from sync.picks.once import Once


def test_the_very_same_is_worked_out_once_and_anything_else_anew():
    known, asked = Once(), []
    for bags in (3, 3, 4, 3):
        found = known.give("C07", (bags,), lambda bags=bags: asked.append(bags) or 2 * bags)
        assert found == 2 * bags
    assert asked == [3, 4]


def test_one_name_never_gives_what_is_of_another():
    known = Once()

    assert [known.give(cell, (1,), lambda cell=cell: cell) for cell in ("A01", "A02")] == [
        "A01", "A02"]


def test_only_the_latest_are_kept():
    known, asked = Once(most=2), []
    for bags in (1, 2, 3, 1):
        known.give("C07", (bags,), lambda bags=bags: asked.append(bags) or bags)
    assert asked == [1, 2, 3, 1]


def test_what_the_last_turn_asked_for_stays_for_the_next_and_no_longer():
    known, asked = Once(), []

    def ask(cell):
        return known.give(cell, (1,), lambda: asked.append(cell) or cell)

    ask("A01"), ask("A02")
    known.turn()
    ask("A01")
    assert asked == ["A01", "A02"]
    known.turn()
    ask("A01"), ask("A02")
    assert asked == ["A01", "A02", "A02"]


def test_nothing_that_was_found_is_worked_out_again_though_it_is_none():
    known, asked = Once(), []
    for _ in range(2):
        assert known.give("A01", (1,), lambda: asked.append(1)) is None
        known.turn()
    assert asked == [1]
