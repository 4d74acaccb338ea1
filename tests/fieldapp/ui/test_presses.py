"""What each job costs in presses, counted on the real screens from a cold start."""

import pytest

pytestmark = pytest.mark.draws


@pytest.fixture
def at_work(bench, make_sheet, spot, started):
    def open_(role="picker", x=50, y=50):
        place = spot(x, y)
        hand = started(bench.open(make_sheet(), at=place), "MT", role)
        hand.place = place
        return hand
    return open_


def noted(hand, kind):
    return [one.record for one in hand.phone.outing.noted.of(kind)]


def test_an_outing_starts_with_three_presses(bench, make_sheet, spot):
    hand = bench.open(make_sheet(), at=spot())
    assert hand.presses("who MT", "role picker", "start") == 3
    assert hand.root.name == "picker"
    (start,) = [r for r in hand.phone.outing.noted.records() if r["kind"] == "outing"]
    assert (start["person"], start["role"], start["cell"]) == ("MT", "picker", "A01")


def test_one_more_bag_is_one_press(at_work):
    hand = at_work()
    assert hand.presses("bag") == 1
    (bag,) = noted(hand, "bag")
    assert bag["bags"] == 1
    assert bag["where"] is not None
    assert bag["press_ms"] == 150
    assert hand.root.given[-1] == "B1"


def test_half_a_bag_is_one_long_press(at_work):
    hand = at_work()
    hand.press("bag", 1.2)
    assert [bag["bags"] for bag in noted(hand, "bag")] == [0.5]
    assert hand.root.given[-2:] == ["B0", "B1"]
    hand.press("bag", 0.9)
    assert [bag["bags"] for bag in noted(hand, "bag")] == [0.5, 1]


def test_undo_is_one_slow_press_and_puts_back_with_another(at_work):
    hand = at_work()
    hand.presses("bag", "bag")
    assert hand.presses("undo") == 1
    assert len(noted(hand, "bag")) == 1
    assert hand.root.given[-1] == "B2"
    hand.press("undo")
    assert len(noted(hand, "bag")) == 2


def test_a_mark_is_two_presses(at_work):
    hand = at_work()
    assert hand.presses("more", "mark hazard") == 2
    (mark,) = noted(hand, "mark")
    assert (mark["what"], mark["name"]) == ("hazard", "hazard 2")
    assert hand.root.name == "picker"


def test_a_plot_is_left_out_with_two_presses(at_work):
    hand = at_work("surveyor", 60, 50)
    assert hand.presses("cant", "why pool") == 2
    (skip,) = noted(hand, "skip")
    assert (skip["plot"], skip["why"]) == ("031", "pool")


def test_a_quadrat_with_three_probes_is_seven_presses(at_work):
    hand = at_work("surveyor", 70, 60)
    count = hand.presses("at_plot", "value 60", "value 80", "value 90", "value 70", "none")
    hand.wait(0.8)
    count += hand.presses("save")
    assert count == 7
    (quadrat,) = noted(hand, "quadrat")
    assert quadrat["plot"] == "031"
    assert quadrat["depth_mm"] == [80, 90, 70]
    assert (quadrat["cover_pct"], quadrat["scrub_pct"], quadrat["rush_pct"]) == (60, 0, 0)
    assert hand.root.name == "surveyor"


def test_a_bag_for_somebody_else_is_four_presses(at_work):
    hand = at_work()
    assert hand.presses("more", "many", "for AR", "value 1") == 4
    (bag,) = noted(hand, "bag")
    assert (bag["for"], bag["bags"], bag["person"]) == ("AR", 1, "MT")


def test_two_blocks_cost_one_press_more(bench, make_sheet, spot):
    other = make_sheet(block={"id": "otherblk", "name": "Far Mire"})
    folder = bench.folder(make_sheet())
    bench.bring(folder, other)
    hand = bench.open(make_sheet(), at=spot())
    block = next(name for name in hand.names() if name.startswith("block "))
    assert "role picker" not in hand.names()
    assert hand.presses(block, "who MT", "role picker", "start") == 4
    assert hand.root.name == "picker"


def test_a_second_press_within_the_time_of_a_bounce_is_no_second_bag(at_work):
    hand = at_work()
    hand.wait(1)
    face = hand.face("bag")
    for _ in range(2):
        touch = hand.touch(face.center_x, face.center_y)
        hand.wait(0.15)
        touch.touch_up()
        hand.wait(0.1)
    assert len(noted(hand, "bag")) == 1
    assert face.told == "wait"


def test_change_steps_back_as_far_as_wanted_and_keep_leaves_what_stands(at_work):
    hand = at_work("surveyor", 70, 60)
    hand.presses("at_plot", "value 60", "value 80", "value 90", "value 70", "none",
                 "change", "change", "change", "change", "keep")
    hand.presses("change", "change", "change", "value 100", "value 110", "value 120")
    hand.wait(0.8)
    hand.press("save")
    (quadrat,) = noted(hand, "quadrat")
    assert (quadrat["cover_pct"], quadrat["depth_mm"]) == (60, [100, 110, 120])
    assert (quadrat["scrub_pct"], quadrat["rush_pct"]) == (0, 0)
