"""What the root does beside presses: typing, a wheel, signs, what stays up and what goes home."""

import contextlib
import sqlite3

import pytest

pytestmark = pytest.mark.draws


@contextlib.contextmanager
def held_by_another_program(hand):
    """Hold the journal from another connection; the phone's own waits not 5 s but 10 ms."""
    hand.phone.journal._connection.execute("PRAGMA busy_timeout = 10")
    (row,) = hand.phone.journal._connection.execute("PRAGMA database_list").fetchall()
    other = sqlite3.connect(row[2], isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    try:
        yield
    finally:
        other.close()


@pytest.fixture
def at_work(bench, make_sheet, spot, started):
    return started(bench.open(make_sheet(), at=spot()), "MT", "picker")


def test_try_again_is_pressed_where_it_lies_over_a_box_to_type_in(at_work):
    hand = at_work
    hand.press("bag")
    hand.presses("more", "day", "history", "day 2026-02-10", "line 2", "note")
    (box,) = [one for one in hand.root.walk(restrict=True) if type(one).__name__ == "TextInput"]
    with held_by_another_program(hand):
        hand.press("keep")
        face = hand.face("try_again")
        assert box.collide_point(*face.center)
        tried = hand.root.doing.waiting.tried
        while hand.root.doing.waiting.tried == tried:
            hand.wait(0.05)
        tried = hand.root.doing.waiting.tried
        touch = hand.touch(*face.center)
        hand.wait(0.15)
        touch.touch_up()
        assert hand.root.doing.waiting.tried > tried
        assert not box.focus


def test_the_wheel_of_a_mouse_is_no_press_and_no_rain(at_work):
    from kivy.tests.common import UnitTestTouch

    hand = at_work
    hand.wait(1)
    face = hand.face("bag")
    for _ in range(6):
        touch = UnitTestTouch(*face.center)
        touch.profile, touch.button = [*touch.profile, "button"], "scrollup"
        touch.touch_down()
        hand.wait(0.1)
        touch.touch_up()
        hand.wait(0.1)
    assert hand.phone.tally.bags_today(hand.phone.now()) == 0
    assert not hand.root.press.guard_on(hand.kivy_clock.time())


def test_the_strip_says_that_help_runs_on_whatever_screen_is_up(at_work):
    hand = at_work
    hand.presses("help", "help", "back", "more")
    hand.wait(6, step=0.5)
    assert hand.root.stage.strip.words.startswith("HELP since")
    assert hand.root.stage.strip.tone == "trouble"


def test_a_contact_that_lasts_while_the_app_goes_out_of_sight_is_no_press(at_work):
    hand = at_work
    hand.wait(1)
    touch = hand.touch(*hand.face("bag").center)
    hand.wait(0.15)
    assert hand.app.on_pause()
    touch.touch_up()
    assert hand.phone.tally.bags_today(hand.phone.now()) == 0


def test_a_sound_for_which_the_phone_has_no_room_is_no_trouble(bench, make_sheet):
    from fieldapp.device.buzz import NoBuzz
    from fieldapp.ui.feedback import Feedback

    hand = bench.open(make_sheet())
    (bench.tmp_path / "phone" / "sounds").write_text("a file where the folder would be made")
    flashed = []
    feedback = Feedback(hand.phone, NoBuzz(), lambda: flashed.append("B4"))
    feedback.give("B4")
    assert flashed == ["B4"]


def told(hand):
    """Give every word on the trouble panel."""
    return " ".join(one.text for one in hand.root.stage.trouble.walk(restrict=True)
                    if getattr(one, "text", ""))


def test_a_call_for_help_that_cannot_be_written_tells_the_place_and_that_nobody_knows(at_work):
    hand = at_work
    hand.press("help")
    with held_by_another_program(hand):
        hand.press("help")
        assert "HELP waits" in told(hand)
        assert "Nobody has been told yet. Use the radio or beacon." in told(hand)
        assert "S 46.39955" in told(hand)
        assert hand.root.given[-1] == "B4"


def test_the_place_can_be_read_out_while_a_bag_waits_but_not_in_a_pause(at_work):
    hand = at_work
    with held_by_another_program(hand):
        hand.press("bag")
        assert "The phone cannot write." in told(hand)
        assert "S 46.39955" in told(hand)
    hand.wait(2.5)
    hand.presses("more", "day", "pause")
    with held_by_another_program(hand):
        hand.press("bag")
        assert "1 bag waits" in told(hand)
        assert "46.39955" not in told(hand)


def test_a_label_to_tie_on_stays_until_it_is_tied(at_work):
    hand = at_work
    hand.presses("more", "weigh", "value 3", "digit 6", "digit 1")
    hand.wait(70, step=1)
    hand.press("save")
    hand.wait(120, step=1)
    assert hand.root.name == "weigh"
    hand.press("work")
    assert hand.root.name == "picker"


def test_a_press_that_is_only_tried_is_not_said_to_be_saved(at_work):
    hand = at_work
    hand.presses("more", "day", "settings", "try", "hit 1")
    assert hand.root.given[-1] == "B0"
