"""Signs that come by themselves, and those a press gives: when, how often, and never too early."""

from datetime import timedelta

import pytest

from fieldapp.device.signals import SIGNALS

pytestmark = pytest.mark.draws


@pytest.fixture
def at_work(bench, make_sheet, spot, started):
    def open_(role="picker", x=50, y=50, **sheet):
        place = spot(x, y)
        hand = started(bench.open(make_sheet(**sheet), at=place), "MT", role)
        hand.place = place
        hand.root.given.clear()
        return hand
    return open_


def given(hand, code):
    return hand.root.given.count(code)


def test_ground_that_is_not_ready_is_told_after_ten_seconds_once_in_ten_minutes(at_work):
    hand = at_work(x=150)
    hand.wait(9, step=0.5)
    assert given(hand, "B3") == 0
    hand.wait(3, step=0.5)
    assert given(hand, "B3") == 1
    hand.wait(590, step=2)
    assert given(hand, "B3") == 1
    hand.wait(30, step=1)
    assert given(hand, "B3") == 2


def test_ready_ground_and_ground_near_an_edge_are_not_told(at_work):
    hand = at_work(x=50)
    hand.wait(20, step=1)
    hand.place.go(99, 50)
    hand.wait(20, step=1)
    assert given(hand, "B3") == 0


def test_a_surveyor_is_told_of_no_ground_but_of_a_plot_reached_once(at_work):
    hand = at_work("surveyor", x=150, y=60)
    hand.wait(30, step=1)
    assert given(hand, "B3") == 0
    hand.place.go(71, 60)
    hand.wait(5, step=0.5)
    assert given(hand, "B3") == 1


def test_a_check_in_is_told_five_minutes_before_and_is_trouble_when_overdue(at_work):
    hand = at_work(check_in_min=30)
    hand.clock.advance(timedelta(minutes=25, seconds=1))
    hand.wait(3, step=0.5)
    assert given(hand, "B3") == 1
    hand.clock.advance(timedelta(minutes=5))
    hand.wait(31, step=0.5)
    assert 3 <= given(hand, "B4") <= 5
    hand.presses("help", "fine")
    hand.root.given.clear()
    hand.wait(25, step=0.5)
    assert given(hand, "B4") == 0


def test_help_sounds_every_ten_seconds_until_i_am_ok_now_is_held(at_work):
    hand = at_work()
    hand.presses("help", "help")
    hand.root.given.clear()
    hand.wait(60, step=0.5)
    assert 5 <= given(hand, "B4") <= 7
    assert hand.root.name == "help"
    hand.press("fine")
    hand.root.given.clear()
    hand.wait(20, step=0.5)
    assert given(hand, "B4") == 0
    assert hand.root.name == "picker"


def test_help_let_go_early_calls_nobody(at_work):
    hand = at_work()
    hand.press("help")
    face = hand.face("help")
    touch = hand.touch(face.center_x, face.center_y)
    hand.wait(1.8)
    touch.touch_up()
    hand.wait(0.3)
    assert hand.phone.check_in.help_since is None


def test_a_sign_of_success_is_given_after_the_record_is_on_disk_and_not_before(at_work):
    hand = at_work()
    seen = []
    give = hand.root._feedback.give
    hand.root._feedback.give = lambda code: (
        seen.append((code, sum(one["kind"] == "bag" for one in hand.phone.journal.records()))),
        give(code))
    hand.press("bag")
    assert ("B1", 1) in seen
    assert ("B1", 0) not in seen


def test_pages_but_not_a_quadrat_fall_back_to_the_work_when_nobody_touches_them(at_work):
    hand = at_work("surveyor", x=70, y=60)
    hand.presses("more", "day")
    hand.wait(62, step=1)
    assert hand.root.name == "surveyor"
    hand.presses("at_plot", "value 60")
    hand.wait(120, step=1)
    assert hand.root.name == "quadrat"


def test_what_was_said_goes_after_five_seconds(at_work):
    hand = at_work()
    hand.press("bag")
    assert hand.root.stage.strip.words.startswith("1 bag")
    hand.wait(6, step=0.5)
    assert hand.root.stage.strip.words == ""


def test_every_sign_has_its_buzz_and_only_the_tick_is_silent():
    assert {code for code, one in SIGNALS.items() if not one.tones} == {"B0"}
    assert all(one.buzz_ms for one in SIGNALS.values())
