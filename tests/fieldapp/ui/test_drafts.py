"""What is half noted outlives a kill at any press; Android's back loses and writes nothing."""

import shutil
import signal
import subprocess
import sys
from datetime import timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from fieldapp.device.location import ReplayedGpx
from fieldapp.record import decode_track, instant
from fieldapp.ui.router import SCREENS

pytestmark = pytest.mark.draws

#: A quadrat with a slip mended at each pad: 65 % and a depth taken back, rush looked at again.
QUADRAT = ("at_plot", "value 60", "plus", "clear", "value 50", "value 80", "plus", "value 90",
           "clear", "value 100", "page", "value 140", "none", "change", "value 5", "save")
NOTED = {"plot": "031", "cover_pct": 50, "depth_mm": [85, 100, 140], "scrub_pct": 0,
         "rush_pct": 5, "cover_step_pct": 10, "depth_step_mm": 5, "person": "MT"}
#: What differs when it is saved later: numbers and moments, not what was noted.
MOMENTS = ("device", "seq", "at", "press_ms", "where")


@pytest.fixture
def at_plot(bench, make_sheet, spot, started):
    """Start a surveyor's outing at plot 031."""
    place = spot(70, 60)
    hand = started(bench.open(make_sheet(), at=place), "MT", "surveyor")
    hand.place = place
    return hand


def press(hand, *names):
    for name in names:
        hand.wait(0.8 if name == "save" else 0.05)  # SAVE is deaf for a while
        hand.press(name)


def word(hand, name):
    return hand.root.look.tell(hand.face(name).key.text)


def title(hand):
    return hand.root.look.tell(hand.root.screen.shown().title)


def draft(hand):
    return hand.phone.journal.draft("quadrat")


def noted(hand):
    """All records but those that no press writes."""
    return [one for one in hand.phone.journal.records() if one["kind"] != "track"]


def quadrats(hand):
    return [one for one in noted(hand) if one["kind"] == "quadrat"]


def go_on(hand):
    """Open the outing that a kill left open, and the quadrat that is half noted in it."""
    assert hand.root.name == "start"
    assert "Outing still open since 1" in title(hand)
    hand.press("continue")
    if draft(hand) is not None:
        assert word(hand, "at_plot") == "GO ON WITH 031"
        hand.press("at_plot")


def kept(record):
    """What must be the same after a kill, the moment and place of the fix among it."""
    where = record["where"]
    fixed_at = instant(record["at"]) - timedelta(seconds=where["age_s"])
    return ({name: value for name, value in record.items() if name not in MOMENTS},
            (where["lat"], where["lon"], where["acc_m"]), round(fixed_at.timestamp()))


def photographed(hand, bench, name):
    """Copy the phone's folder as it lies on disk, which is all that a kill leaves."""
    shutil.copytree(bench.tmp_path / "phone", bench.tmp_path / name)


def test_a_kill_after_any_press_of_a_quadrat_leaves_the_same_record_in_the_end(at_plot, bench):
    place = at_plot.place
    photographed(at_plot, bench, "killed-0")
    for done, name in enumerate(QUADRAT, start=1):
        press(at_plot, name)
        photographed(at_plot, bench, f"killed-{done}")
    (whole,) = quadrats(at_plot)
    assert NOTED.items() <= whole.items()
    bench.stop()

    for done in range(1, len(QUADRAT) + 1):
        place.go(70, 60)
        if done > 1:
            place.go(90, 80)  # nobody's stroll after the kill moves a frame that was laid
        hand = bench.open(None, at=place, name=f"killed-{done}")
        assert (draft(hand) is None) == (done == len(QUADRAT))
        go_on(hand)
        paged = QUADRAT[done - 1] == "page"  # which page of the pad is up is nothing noted
        press(hand, *(("page",) if paged else ()), *QUADRAT[done:])
        (again,) = quadrats(hand)
        assert kept(again) == kept(whole), QUADRAT[:done]
        assert draft(hand) is None
        bench.stop()

    hand = bench.open(None, at=place, name="killed-0")
    hand.press("continue")
    assert word(hand, "at_plot") == "AT THE PLOT"
    assert quadrats(hand) == []


def test_a_kill_after_every_press_of_one_quadrat_leaves_one_record(at_plot, bench):
    hand = at_plot
    for name in QUADRAT:
        if name == "page":
            continue  # it notes nothing, and would be turned back by the kill
        if name == "value 140":
            hand.press("page")
        press(hand, name)
        bench.kill(hand)
        hand = bench.open(None, at=at_plot.place)
        go_on(hand)
    (one,) = quadrats(hand)
    assert NOTED.items() <= one.items()
    starts = [r for r in noted(hand) if r["kind"] == "outing"]
    assert [r["state"] for r in starts] == ["start"]


def test_a_kill_with_the_thumb_still_down_notes_nothing_of_that_press(at_plot, bench):
    press(at_plot, "at_plot")
    before = draft(at_plot)
    at_plot.wait(1)
    face = at_plot.face("value 60")
    at_plot.touch(face.center_x, face.center_y)
    at_plot.wait(0.15)
    bench.kill(at_plot)

    hand = bench.open(None, at=at_plot.place)
    assert draft(hand) == before
    go_on(hand)
    assert "COVER" in title(hand)


def test_an_outing_left_open_is_offered_again_and_the_gap_is_seen(bench, make_sheet, started):
    began = bench.clock.now()
    # A receiver that could tell of every second, also of those in which nobody listened.
    walk = ReplayedGpx([(began + timedelta(seconds=s), -46.3996 + 1e-6 * s, 169.4006, 4.0)
                        for s in range(900)])
    hand = started(bench.open(make_sheet(), at=walk), "MT", "picker")
    hand.presses("bag")
    hand.wait(130, step=0.5)
    bench.kill(hand)
    killed_at = bench.clock.now()
    bench.clock.advance(timedelta(minutes=5))

    hand = bench.open(None, at=walk)
    opened_at = bench.clock.now()
    assert "Outing still open since 13:00" in title(hand)
    assert "M.T." in title(hand)
    before = noted(hand)
    hand.press("continue")
    assert hand.root.name == "picker"
    assert noted(hand) == before  # going on is no record
    hand.press("bag")
    hand.wait(100, step=0.5)
    hand.presses("more", "day", "end", "end")

    assert [r["state"] for r in noted(hand) if r["kind"] == "outing"] == ["start", "end"]
    assert sum(r["kind"] == "bag" for r in noted(hand)) == 2
    tracks = [r for r in hand.phone.journal.records() if r["kind"] == "track"]
    times = [fix[0] for track in tracks for fix in decode_track(track)]
    assert times == sorted(set(times))
    assert not [at for at in times if killed_at < at <= opened_at - timedelta(seconds=1)]
    # What was gathered and not yet written is lost with it: a minute at most.
    (gap,) = [(a, b) for a, b in pairwise(times) if b - a > timedelta(seconds=5)]
    assert killed_at - timedelta(seconds=61) <= gap[0] <= killed_at
    assert gap[1] >= opened_at - timedelta(seconds=1)


#: Presses from the work to each page that both roles have; {bag} is the number of a bag's record.
LINE = ("more", "day", "history", "day 2026-02-10", "line {bag}")
BOTH = ((), ("map",), ("map", "closer"), ("help",), ("more",), ("more", "many"),
        ("more", "many", "names"), ("more", "many", "for AR", "page"), ("more", "work_done"),
        ("more", "work_done", "what drain_blocked"),
        ("more", "work_done", "what drain_blocked", "cell A01", "next"),
        ("more", "work_done", "what drain_blocked", "cell A01", "next", "value 2"),
        ("more", "day"), ("more", "day", "end"), ("more", "day", "my_data"),
        ("more", "day", "hand_over"),
        ("more", "day", "hand_over", "pair"), ("more", "day", "hand_over", "pair", "digit 1"),
        ("more", "day", "hand_over", "pair", *(f"digit {sign}" for sign in "10.0.0.9"), "next"),
        LINE[:3], LINE[:4], LINE, (*LINE, "again"), (*LINE, "note"), ("more", "day", "settings"),
        ("more", "day", "settings", "try", "hit 0"), ("more", "day", "settings", "glossary"),
        ("more", "day", "settings", "glossary", "down"), ("more", "day", "settings", "privacy"))
PICKER = (("more", "weigh"), ("more", "weigh", "value 3"),
          ("more", "weigh", "value 3", "digit 9", "digit 0"))
#: The same through a quadrat, each path going on where the one before has left it.
QUADRAT_PAGES = (
    ("at_plot",), ("at_plot", "clear"), ("at_plot", "value 50"), ("at_plot", "value 80", "page"),
    ("at_plot", "enough"), ("at_plot", "help"), ("at_plot", "value 10"), ("at_plot", "value 0"),
    ("at_plot", "water"), ("at_plot", "ground"), ("at_plot", "clip"), ("at_plot", "clip", "other"),
    ("at_plot", "clip", "other", "digit 7"), ("at_plot", "clip", "take"),
    ("at_plot", "clip", "take", "frame"), ("more", "clip", "take", "plug 20", "value 0"),
    ("at_plot", "change"), ("cant",))
HOMES = ("start", "picker", "surveyor")


def back_home(hand, seen):
    """Press Android's back until the work is up again; nothing may be lost or written."""
    before = noted(hand), draft(hand)
    for _ in range(8):
        seen.add(hand.root.name)
        hand.root.back()
        hand.wait(0.1)
        assert (noted(hand), draft(hand)) == before, hand.root.name
        if hand.root.name in HOMES:
            return
    raise AssertionError(f"back leads round and round at {hand.root.name}")


def go_through(hand, paths, seen):
    bags = [one["seq"] for one in noted(hand) if one["kind"] == "bag"]
    for path in paths:
        press(hand, *(name.format(bag=bags[-1]) for name in path))
        back_home(hand, seen)


def test_back_from_any_page_of_any_screen_loses_no_draft_and_writes_no_record(at_plot):
    hand, seen = at_plot, set()
    hand.place.go(10, 90)
    press(hand, "more", "many", "value 1")
    press(hand, "at_plot")
    assert hand.root.name == "far"
    back_home(hand, seen)
    assert draft(hand) is None
    hand.place.go(70, 60)

    go_through(hand, QUADRAT_PAGES, seen)
    assert draft(hand)["depth_mm"] == [80]
    go_through(hand, BOTH, seen)
    press(hand, "more", "day", "end", "end")
    back_home(hand, seen)
    assert hand.root.name == "start"
    back_home(hand, seen)
    press(hand, "who MT", "role picker", "start", "bag")
    go_through(hand, (*BOTH, *PICKER), seen)
    press(hand, "help", "help")  # a call that runs goes on behind it
    back_home(hand, seen)
    assert hand.phone.check_in.help_since is not None

    assert draft(hand)["depth_mm"] == [80]
    assert seen == set(SCREENS)


CHILD = """
import importlib.util, sys, pathlib
spec = importlib.util.spec_from_file_location("bench", sys.argv[1])
bench = importlib.util.module_from_spec(spec)
spec.loader.exec_module(bench)
made = bench.Bench(pathlib.Path(sys.argv[2]))
made.clock.set_to(bench.NOON + bench.timedelta(minutes=1))
hand = made.open(None, at=bench.Spot(70, 60))
for name in ("who MT", "role surveyor", "start", "at_plot", "value 60", "value 80", "plus"):
    hand.press(name)
print("pressed", flush=True)
while True:
    hand.wait(0.5)
"""


def test_a_real_kill_of_a_real_process_leaves_the_quadrat_half_noted(bench, make_sheet, spot):
    bench.folder(make_sheet())
    child = subprocess.Popen(
        [sys.executable, "-c", CHILD, str(Path(__file__).with_name("conftest.py")),
         str(bench.tmp_path)], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    try:
        while (line := child.stdout.readline()) not in (b"pressed\n", b""):
            pass
        assert line == b"pressed\n"
    finally:
        child.send_signal(signal.SIGKILL)
        assert child.wait() == -signal.SIGKILL
        child.stdout.close()

    bench.clock.advance(timedelta(minutes=3))
    hand = bench.open(None, at=spot(90, 80))
    go_on(hand)
    press(hand, "value 90", "value 70", "none", "save")
    (one,) = quadrats(hand)
    assert (one["plot"], one["cover_pct"], one["depth_mm"]) == ("031", 60, [85, 90, 70])
    assert [r["seq"] for r in hand.phone.journal.records()] == list(
        range(1, hand.phone.journal.last_seq() + 1))
    assert one["where"]["lat"] == pytest.approx(spot(70, 60).fix.lat, abs=1e-6)
