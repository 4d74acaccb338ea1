"""A press that cannot be written waits, alone, and is written exactly once or let go of."""

import contextlib
import resource
import sqlite3
from datetime import timedelta
from itertools import pairwise

import pytest

from fieldapp.record import instant

pytestmark = pytest.mark.draws


@contextlib.contextmanager
def held_by_another_program(hand):
    """Hold the journal from another connection; the phone's own waits not 5 s but 10 ms."""
    hand.phone.journal._connection.execute("PRAGMA busy_timeout = 10")
    other = sqlite3.connect(journal_path(hand), isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    try:
        yield
    finally:
        other.close()


@contextlib.contextmanager
def no_room(hand):
    """Let the journal's file grow no further, as on a full phone."""
    connection = hand.phone.journal._connection
    (pages,) = connection.execute("PRAGMA page_count").fetchone()
    connection.execute(f"PRAGMA max_page_count = {pages}")
    try:
        yield
    finally:
        connection.execute("PRAGMA max_page_count = 1000000")


@contextlib.contextmanager
def failing_storage(hand):
    """Let the system refuse this process to write beyond the first bytes of a file."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1024, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


CAUSES = [held_by_another_program, no_room, failing_storage]


def journal_path(hand):
    (row,) = hand.phone.journal._connection.execute("PRAGMA database_list").fetchall()
    return row[2]


@pytest.fixture
def at_work(bench, make_sheet, spot, started):
    def open_(role="picker", x=50, y=50):
        place = spot(x, y)
        hand = started(bench.open(make_sheet(), at=place), "MT", role)
        hand.place = place
        return hand
    return open_


def noted(hand, kind="bag"):
    return [one for one in hand.phone.journal.records() if one["kind"] == kind]


def shown(hand):
    """Give every word on the panel that is up, or on the page."""
    over = hand.root.stage.trouble or hand.root
    return " ".join(one.text for one in over.walk(restrict=True) if getattr(one, "text", ""))


def in_trouble(hand):
    return "NOT SAVED" in shown(hand)


def press_until_trouble(hand, name="bag"):
    """Press until it cannot be written; a last page may still have room for a few."""
    for _ in range(60):
        hand.press(name)
        if in_trouble(hand):
            return
    raise AssertionError("all could be written")


def tap(hand, face):
    """Press a key at once, in a quarter of a second."""
    touch = hand.touch(face.center_x, face.center_y)
    hand.wait(0.15)
    touch.touch_up()
    hand.wait(0.05)


@pytest.mark.parametrize("cause", CAUSES)
def test_a_bag_that_cannot_be_written_waits_and_is_written_once(at_work, cause):
    hand = at_work()
    hand.press("bag")
    with cause(hand):
        press_until_trouble(hand)
        written, at = len(noted(hand)), hand.clock.now()
        assert hand.root.given[-1] == "B4"
        assert "1 bag waits. Do not press again." in shown(hand)
        assert ("no room" in shown(hand)) == (cause is no_room)
        assert sorted(hand.names()) == ["on_paper", "try_again"]
        hand.wait(7)
        assert in_trouble(hand)
        assert len(noted(hand)) == written
        assert hand.phone.tally.bags_today(hand.clock.now()) == written
        given = list(hand.root.given)
        hand.place.go(80, 80)
    hand.wait(2.2)

    assert not in_trouble(hand)
    assert hand.root.given[len(given):] == ["B1"]
    assert hand.root.name == "picker"
    assert "bag" in hand.names()
    hand.wait(6)
    bags = noted(hand)
    assert len(bags) == written + 1
    assert timedelta(0) <= at - instant(bags[-1]["at"]) < timedelta(seconds=0.5)
    assert bags[-1]["where"]["lat"] == bags[0]["where"]["lat"]  # not where it was written from
    assert bags[-1]["press_ms"] == 150
    assert f"{written + 1} bags" in shown(hand)


def test_no_other_key_does_anything_while_a_press_waits(at_work):
    hand = at_work()
    hand.wait(1)
    places = {name: hand.face(name).center for name in hand.names()}
    with held_by_another_program(hand):
        hand.press("bag")
        waits = hand.root.doing.waiting
        free = [at for name, at in places.items()
                if not any(face.collide_point(*at) for face in hand.root.faces())]
        assert len(free) >= 1
        for x, y in free:
            touch = hand.touch(x, y)
            hand.wait(0.5)
            touch.touch_up()
            hand.wait(0.5)
        hand.root.back()
        hand.wait(0.5)
        assert in_trouble(hand)
        assert hand.root.name == "picker"
        assert hand.root.doing.waiting.act is waits.act
        assert noted(hand) == []
    hand.wait(2.5)
    assert len(noted(hand)) == 1


def test_it_is_tried_again_every_2_s_and_told_again_every_10_s(at_work):
    hand = at_work()
    with held_by_another_program(hand):
        hand.press("bag")
        told = len(hand.root.given)
        tried = []
        for _ in range(480):
            hand.wait(0.05)
            at = hand.root.doing.waiting.tried
            if not tried or tried[-1] != at:
                tried.append(at)
        gaps = [(b - a).total_seconds() for a, b in pairwise(tried)]
        assert len(gaps) >= 9
        assert all(2.0 <= gap <= 2.6 for gap in gaps)  # the screen looks every half second
        assert hand.root.given[told:] == ["B4", "B4"]
        assert hand.root.doing.waiting.since == tried[0]  # it is still the same press


def test_try_again_writes_it_at_once(at_work):
    hand = at_work()
    with held_by_another_program(hand):
        hand.press("bag")
        hand.wait(3)
        tried = hand.root.doing.waiting.tried
        while hand.root.doing.waiting.tried == tried:
            hand.wait(0.05)
        tap(hand, hand.face("try_again"))
        assert in_trouble(hand)
        assert noted(hand) == []
        hand.wait(0.5)
        face = hand.face("try_again")
    tried = hand.root.doing.waiting.tried
    tap(hand, face)
    assert hand.clock.now() - tried < timedelta(seconds=2)
    assert not in_trouble(hand)
    assert hand.root.given[-1] == "B1"
    hand.wait(6)
    assert len(noted(hand)) == 1


def test_on_paper_is_held_and_lets_go_of_it_for_good(at_work):
    hand = at_work()
    hand.press("bag")
    with held_by_another_program(hand):
        hand.press("bag")
        face = hand.face("on_paper")
        assert face.key.kind == "hold"
        tap(hand, face)
        assert in_trouble(hand)  # a tap is not enough
        hand.press("on_paper")
        assert not in_trouble(hand)
        assert hand.root.name == "picker"
        assert len(noted(hand)) == 1
    hand.wait(12)
    assert len(noted(hand)) == 1
    given = len(hand.root.given)
    hand.press("bag")
    assert len(noted(hand)) == 2
    assert hand.root.given[given:] == ["B1"]


def test_a_kill_while_a_press_waits_counts_it_nowhere(at_work, bench):
    hand = at_work()
    hand.press("bag")
    with held_by_another_program(hand):
        hand.press("bag")
        bench.kill(hand)
    hand = bench.open(None, at=hand.place)
    hand.press("continue")
    hand.wait(5)
    assert len(noted(hand)) == 1
    assert "1 bag" in shown(hand)


def test_start_waits_for_a_journal_that_can_be_written(bench, make_sheet, spot):
    hand = bench.open(make_sheet(), at=spot())
    hand.presses("who MT", "role picker")
    with held_by_another_program(hand):
        hand.press("start")
        assert in_trouble(hand)
        assert "START M.T. waits" in shown(hand)
        assert hand.root.name == "start"
    hand.wait(2.5)
    assert hand.root.name == "picker"
    assert [one["state"] for one in noted(hand, "outing")] == ["start"]


def test_undo_waits_and_undoes_once(at_work):
    hand = at_work()
    hand.presses("bag", "bag")
    with held_by_another_program(hand):
        hand.press("undo")
        assert in_trouble(hand)
        assert "undo bag 2 waits" in shown(hand)
        hand.wait(3)
    hand.wait(2.5)
    assert hand.root.given[-1] == "B2"
    assert len(noted(hand, "void")) == 1
    assert hand.phone.tally.bags_today(hand.clock.now()) == 1


def test_end_waits_and_ends_once_with_its_track(at_work):
    hand = at_work()
    hand.press("bag")
    hand.wait(5)
    hand.presses("more", "day", "end", "cell A01")
    with held_by_another_program(hand):
        hand.press("end")
        assert "END OUTING waits" in shown(hand)
    hand.wait(2.5)
    assert hand.root.name == "hand_over"
    assert [one["state"] for one in noted(hand, "outing")] == ["start", "end"]
    assert noted(hand, "outing")[-1]["finished"] == ["A01"]
    assert len(noted(hand, "track")) == 1


@pytest.mark.parametrize("cause", [held_by_another_program, failing_storage])
def test_a_value_of_a_quadrat_that_cannot_be_kept_waits_and_stands_once(at_work, cause):
    hand = at_work("surveyor", 70, 60)
    hand.presses("at_plot", "value 60")
    with cause(hand):
        hand.press("value 80")
        assert "plot 031 waits" in shown(hand)
        assert hand.root.given[-1] == "B4"
        hand.wait(5)
        assert hand.phone.journal.draft("quadrat")["depth_mm"] == []
    hand.wait(2.5)
    assert not in_trouble(hand)
    assert hand.phone.journal.draft("quadrat")["depth_mm"] == [80]
    hand.presses("value 90", "value 70", "none")
    hand.wait(0.8)
    with cause(hand):
        hand.press("save")
        assert noted(hand, "quadrat") == []
        assert hand.phone.journal.draft("quadrat") is not None
    hand.wait(2.5)
    (quadrat,) = noted(hand, "quadrat")
    assert quadrat["depth_mm"] == [80, 90, 70]
    assert hand.phone.journal.draft("quadrat") is None
    assert hand.root.name == "surveyor"


def test_fixes_that_cannot_be_written_are_kept_and_written_later(at_work):
    hand = at_work()
    with held_by_another_program(hand):
        hand.wait(90, step=0.5)
        assert noted(hand, "track") == []
        assert not in_trouble(hand)  # no press waits
    hand.wait(3)
    assert sum(len(one["dt_ms"]) for one in noted(hand, "track")) >= 90


def test_a_journal_that_cannot_be_read_is_trouble_and_not_the_end_of_the_app(
        bench, make_sheet, spot, started):
    hand = started(bench.open(make_sheet(), at=spot()), "MT", "picker")
    hand.press("bag")
    hand.phone.journal._connection.execute("ALTER TABLE records RENAME TO gone")
    hand.wait(3, step=0.5)
    assert hand.names() == ["try_again", "on_paper"]
    hand.phone.journal._connection.execute("ALTER TABLE gone RENAME TO records")
    hand.wait(5, step=0.5)
    assert "bag" in hand.names()
    assert hand.phone.tally.bags_today(hand.phone.now()) == 1
