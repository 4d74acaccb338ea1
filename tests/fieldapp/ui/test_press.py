"""What a wet, gloved thumb meant: four contact streams, an invariant a rule, and a plain model.

The streams are made up, none was recorded from a real screen; `streams/draw.py` says what is known
of touches and from where, and draws the same files again.
"""

import json
import runpy
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldapp.phone import tunables
from fieldapp.phone.keys import Pressed
from fieldapp.ui.press import Box, Press, Target

STREAMS = Path(__file__).parent / "streams"
BAG = Target("bag", Box(12, 100, 348, 316), "half", tunables.BAG_REARM_MS)
UNDO = Target("undo", Box(12, 8, 116, 88), "slow")
MORE = Target("more", Box(128, 8, 232, 88))
HELP = Target("help", Box(12, 400, 348, 480), "hold")


def load(name):
    return json.loads((STREAMS / f"{name}.json").read_text("utf-8"))


def target_at(keys, x, y):
    for name, left, bottom, right, top, kind, rearm_ms in keys:
        if left <= x <= right and bottom <= y <= top:
            return Target(name, Box(left, bottom, right, top), kind, rearm_ms)
    return None


def played(stream, press=None):
    """Play a stream; give for each contact what came out of it."""
    press = press or Press()
    events = []
    for number, one in enumerate(stream["contacts"]):
        trace = one["trace"]
        for step, (at_ms, x, y) in enumerate(trace):
            last = 0 if step == 0 else 2 if step == len(trace) - 1 else 1
            events.append((at_ms, number, last, x, y))
    out = [None] * len(stream["contacts"])
    for at_ms, number, last, x, y in sorted(events, key=lambda one: one[:3]):
        one = stream["contacts"][number]
        now_s = at_ms / 1000.0
        if last == 0:
            press.down(number, x, y, target=target_at(stream["keys"][one["screen"]], x, y),
                       now_s=now_s)
        elif last == 1:
            press.move(number, x, y, now_s=now_s)
        else:
            out[number] = press.up(number, x, y, now_s=now_s)
    return out, press


@pytest.mark.parametrize("name", ["dry", "gloved"])
def test_every_press_of_a_steady_hand_comes_out_as_it_was_meant(name):
    stream = load(name)
    out, press = played(stream)
    for one, got in zip(stream["contacts"], out, strict=True):
        assert got is not None, one
        assert (got.name, got.half) == (one["means"], one["half"]), one
    assert not press.guard_on(stream["contacts"][-1]["trace"][-1][0] / 1000)
    assert len(out) >= 30


def test_nothing_but_firm_presses_comes_out_of_a_smeared_screen():
    stream = load("smeared")
    out, _ = played(stream)
    for one, got in zip(stream["contacts"], out, strict=True):
        if one["means"] is None:
            assert got is None, one
        elif one["must"]:
            assert got == Pressed(one["means"], got.press_ms, half=False), one
    assert sum(got is not None for got in out) >= 8


def test_in_rain_firm_presses_count_few_drops_do_and_none_is_a_call_for_help():
    stream = load("raining")
    out, press = played(stream)
    pairs = list(zip(stream["contacts"], out, strict=True))
    meant = [got for one, got in pairs if one["must"]]
    false = [got for one, got in pairs if one["means"] is None and got is not None]
    assert all(got is not None and got.name == "BAG" for got in meant)
    assert len(meant) >= 2
    assert press.guard_on(120.0)
    drops = sum(one["means"] is None for one, _ in pairs)
    assert drops > 100
    assert not false, [got.name for got in false]
    assert not any(got.name in ("HELP", "END") for got in false)


def test_no_rain_on_the_page_of_help_calls_for_help():
    stream = load("raining")
    for one in stream["contacts"]:
        one["screen"] = "help"
    out, _ = played(stream)
    assert not any(got is not None and got.name == "HELP" for got in out)


def test_the_streams_are_those_that_their_script_draws():
    script = runpy.run_path(str(STREAMS / "draw.py"))
    for name, stream in script["streams"]().items():
        assert script["as_text"](stream) == (STREAMS / f"{name}.json").read_text("utf-8")


def hold(press, target, seconds, *, at_s=10.0, x=200.0, y=None):
    y = (target.box.bottom + target.box.top) / 2 if y is None else y
    press.down(1, x, y, target=target, now_s=at_s)
    return press.up(1, x, y, now_s=at_s + seconds)


@pytest.mark.parametrize(("seconds", "half"), [
    (0.079, None), (0.08, False), (0.5, False), (0.999, False), (1.0, True), (2.0, True),
    (2.001, None)])
def test_the_bag_key_gives_one_a_half_or_nothing_by_how_long_it_is_held(seconds, half):
    got = hold(Press(), BAG, seconds)
    assert (got and got.half) == half


@pytest.mark.parametrize(("target", "seconds", "counts"), [
    (UNDO, 0.39, False), (UNDO, 0.4, True), (HELP, 1.99, False), (HELP, 2.0, True),
    (HELP, 9.0, True), (MORE, 0.1, True), (MORE, 2.1, False)])
def test_slow_and_hold_keys_ask_for_their_time(target, seconds, counts):
    assert (hold(Press(), target, seconds, x=(target.box.left + target.box.right) / 2)
            is not None) == counts


def test_a_hold_key_let_go_early_is_no_rain_and_four_short_touches_are():
    press = Press()
    for k in range(6):
        hold(press, HELP, 1.0, at_s=2.0 * k)
    assert not press.guard_on(12.0)
    for k in range(4):
        hold(press, MORE, 0.03, at_s=20 + k, x=180)
    assert press.guard_on(24.0)
    assert press.guard_on(323.0)
    assert not press.guard_on(323.1)


def test_the_guard_makes_every_key_slow_and_says_so_once():
    press = Press()
    for k in range(4):
        hold(press, MORE, 0.03, at_s=k, x=180)
    assert press.guard_entered(4.0)
    assert not press.guard_entered(4.1)
    assert hold(press, MORE, 0.39, at_s=10, x=180) is None
    assert hold(press, MORE, 0.41, at_s=12, x=180) is not None
    assert hold(Press(guard_always=True), MORE, 0.39, x=180) is None


def test_a_contact_may_wander_23_dp_and_end_16_dp_beside_its_key():
    def slid(dx, dy):
        press = Press()
        press.down(1, 228, 50, target=MORE, now_s=1.0)
        press.move(1, 228 + dx, 50 + dy, now_s=1.1)
        return press.up(1, 228 + dx, 50 + dy, now_s=1.2)

    assert slid(19, 0) is not None
    assert slid(21, 0) is None  # 17 dp beside the key
    assert slid(0, 23) is not None
    assert slid(0, 24.5) is None


def test_a_second_contact_spoils_both_until_all_are_up():
    press = Press()
    press.down(1, 200, 200, target=BAG, now_s=1.0)
    press.down(2, 180, 50, target=MORE, now_s=1.05)
    assert press.up(1, 200, 200, now_s=1.3) is None
    assert press.rejected() == "two"
    assert press.up(2, 180, 50, now_s=1.4) is None
    assert hold(press, MORE, 0.2, at_s=2.0, x=180) is not None


def test_two_bags_on_purpose_lie_seven_tenths_of_a_second_apart():
    press = Press()
    assert hold(press, BAG, 0.1, at_s=1.0) is not None
    assert hold(press, BAG, 0.1, at_s=1.7) is None
    assert press.rejected() == "rearm"
    assert not press.guard_on(1.9)
    assert hold(press, BAG, 0.1, at_s=1.81) is not None


def test_save_is_deaf_until_it_arms():
    save = Target("save", BAG.box, arms_at_s=10.7)
    assert hold(Press(), save, 0.2, at_s=10.6) is None
    assert hold(Press(), save, 0.2, at_s=10.7) is not None


def test_a_pocket_over_the_phone_and_a_screen_that_changed_drop_what_was_held():
    press = Press()
    press.down(1, 200, 200, target=BAG, now_s=1.0)
    press.cancel()
    assert press.up(1, 200, 200, now_s=1.2) is None
    press.covered = True
    for k in range(9):
        assert hold(press, MORE, 0.02, at_s=2 + k / 10, x=180) is None
    press.covered = False
    assert not press.guard_on(3.0)
    assert hold(press, MORE, 0.2, at_s=4.0, x=180) is not None


def test_a_contact_whose_end_was_lost_does_not_block_the_phone():
    press = Press()
    press.down(1, 200, 200, target=BAG, now_s=1.0)
    assert hold_as(press, 2, MORE, at_s=12.0) is not None


def hold_as(press, contact, target, *, at_s, seconds=0.2):
    press.down(contact, 180, 50, target=target, now_s=at_s)
    return press.up(contact, 180, 50, now_s=at_s + seconds)


def test_the_tick_and_the_full_ring_are_told_once():
    press = Press()
    press.down(1, 200, 200, target=BAG, now_s=1.0)
    told = [press.ticked(1.0 + k / 10) for k in range(19)]
    assert told.count("bag") == 1
    assert told.index("bag") == 10
    press.up(1, 200, 200, now_s=2.9)
    press.down(2, 200, 440, target=HELP, now_s=5.0)
    assert press.progress(6.0) == ("help", 0.5)
    assert [press.ticked(7.0), press.ticked(7.1)] == ["help", None]


STEPS = st.lists(st.tuples(
    st.sampled_from(["down", "move", "up", "cancel"]), st.integers(1, 3),
    st.sampled_from([BAG, UNDO, MORE, HELP, None]), st.integers(0, 30),
    st.sampled_from([0.01, 0.05, 0.1, 0.5, 1.2, 2.2])), max_size=40)


@given(STEPS)
def test_no_contact_gives_two_presses_and_beside_others_only_a_hold_with_splashes_comes(steps):
    press, now_s = Press(), 1.0
    down: dict[int, float] = {}
    last_s: dict[int, float] = {}
    for what, contact, target, slid, wait_s in steps:
        now_s += wait_s
        box = BAG.box if target is None else target.box
        x, y = (box.left + box.right) / 2 + slid, (box.bottom + box.top) / 2
        if what == "down":
            press.down(contact, x, y, target=target, now_s=now_s)
            down = {each: began_s for each, began_s in down.items()
                    if each != contact and now_s - last_s[each] < tunables.LOST_S - 1e-6}
            down[contact] = last_s[contact] = now_s
        elif what == "move":
            last_s[contact] = now_s
            press.move(contact, x, y, now_s=now_s)
        elif what == "cancel":
            press.cancel()
            down.clear()
        else:
            got = press.up(contact, x, y, now_s=now_s)
            if got is not None:
                first, *later = down
                assert contact == first, (contact, down)
                assert not later or got.name == "help"
                assert all(round(1000 * (now_s - down[each])) < 80 for each in later)
            down.pop(contact, None)
            assert press.up(contact, x, y, now_s=now_s) is None
