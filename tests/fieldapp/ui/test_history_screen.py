"""HISTORY: what was noted is mended in sight, and keeps its time, place and person."""

from datetime import timedelta

import pytest

from fieldapp.record import instant, where_of

pytestmark = pytest.mark.draws


@pytest.fixture
def on(bench, make_sheet, spot, started):
    """Start an outing; the phone lies in the place given."""
    def open_(person="MT", role="picker", x=50, y=50):
        place = spot(x, y)
        hand = started(bench.open(make_sheet(), at=place), person, role)
        hand.place = place
        return hand
    return open_


def counted(hand, kind):
    return hand.phone.outing.noted.of(kind)


def noted(hand, kind):
    return [one for one in hand.phone.journal.records() if one["kind"] == kind]


def shown(hand):
    return [one.text for one in hand.root.walk(restrict=True) if getattr(one, "text", "")]


def line(hand, seq):
    """Give the words of a row of the history that is up, and whether it is struck through."""
    row = next(one for one in hand.root.screen.shown().rows if one.key.name == f"line {seq}")
    told = f"{hand.root.look.tell(row.key.text)} {hand.root.look.tell(row.key.sub)}"
    return told.strip(), row.struck


def end(hand):
    hand.presses("more", "day", "end")
    if hand.root.name == "finish":
        hand.press("end")


def type_in(hand, text, *, seconds=0.1):
    """Touch the box and type, some time between the letters."""
    box = next(one for one in hand.root.walk() if hasattr(one, "insert_text"))
    touch = hand.touch(box.center_x, box.center_y)
    hand.wait(0.1)
    touch.touch_up()
    hand.wait(0.1)
    assert box.focus
    for letter in text:
        hand.window.dispatch("on_textinput", letter)
        hand.wait(seconds)
    return box


def lay_and_save(hand):
    hand.presses("at_plot", "value 60", "value 80", "value 90", "value 70", "none")
    hand.wait(0.8)  # SAVE is deaf for a while
    hand.press("save")


def test_yesterdays_quadrat_is_mended_and_keeps_its_place_time_and_person(on, bench, started):
    hand = on("MT", "surveyor", 70, 60)
    lay_and_save(hand)
    (first,) = noted(hand, "quadrat")
    end(hand)
    bench.stop()
    bench.clock.advance(timedelta(hours=20))

    place = hand.place
    place.go(20, 20)
    hand = started(bench.open(None, at=place), "AR", "surveyor")
    hand.presses("more", "day", "history")
    assert hand.names()[:2] == ["day 2026-02-11", "day 2026-02-10"]
    hand.presses("day 2026-02-10", f"line {first['seq']}", "again", "change", "value 20")
    hand.wait(0.8)
    hand.press("save")

    assert hand.root.name == "history"
    assert hand.root.given[-1] == "B1"
    (stands,) = counted(hand, "quadrat")
    mend = noted(hand, "quadrat")[-1]
    assert stands.seq == mend["seq"] > first["seq"]
    assert (stands.record["rush_pct"], first["rush_pct"]) == (20, 0)
    assert (stands.at, stands.where, stands.whose) == (
        instant(first["at"]), where_of(first), "MT")
    same = ("plot", "when", "cover_pct", "depth_mm", "scrub_pct", "side_m", "cover_step_pct")
    assert [mend.get(name) for name in same] == [first.get(name) for name in same]
    # It says itself who mended it and when.
    assert mend["person"] == "AR"
    assert mend["instead_of"] == f"{first['device']}:{first['seq']}"
    assert instant(mend["at"]) - instant(first["at"]) > timedelta(hours=19)
    assert mend.get("where") is None


def test_a_quadrat_mended_twice_stands_once_with_the_last_values(on, bench):
    hand = on("MT", "surveyor", 70, 60)
    lay_and_save(hand)
    (first,) = noted(hand, "quadrat")
    hand.presses("more", "day", "history", "day 2026-02-10", f"line {first['seq']}", "again",
                 "change", "value 20")
    hand.wait(0.8)
    hand.presses("save", "day 2026-02-10")
    second = noted(hand, "quadrat")[-1]
    assert line(hand, first["seq"]) == ("13:00  plot 031 mended", True)
    assert line(hand, second["seq"])[1] is False
    # CHANGE leads back over rush and scrub to the depths, which are then all pressed over.
    hand.presses(f"line {second['seq']}", "again", "change", "change", "change",
                 "value 80", "value 90", "value 120")
    hand.wait(0.8)
    hand.press("save")
    (stands,) = counted(hand, "quadrat")
    assert stands.record["depth_mm"] == [80, 90, 120]
    assert stands.record["instead_of"] == f"{first['device']}:{first['seq']}"
    assert stands.at == instant(first["at"])
    hand.presses("day 2026-02-10", f"line {second['seq']}")
    assert "again" not in hand.names()  # what was mended since is not mended itself


def test_a_mend_half_done_is_gone_on_with_and_none_other_begun(on, bench):
    hand = on("MT", "surveyor", 70, 60)
    lay_and_save(hand)
    (first,) = noted(hand, "quadrat")
    here = ("more", "day", "history", "day 2026-02-10", f"line {first['seq']}", "again")
    hand.presses(*here, "change")
    bench.kill(hand)
    hand = bench.open(None, at=hand.place)
    hand.press("continue")
    hand.presses(*here)
    assert hand.root.given[-1] == "B3"
    assert hand.root.name == "quadrat"
    hand.press("value 10")
    hand.wait(0.8)
    hand.press("save")
    (stands,) = counted(hand, "quadrat")
    assert stands.record["rush_pct"] == 10
    assert stands.at == instant(first["at"])


def test_a_bag_of_this_morning_is_undone_and_another_made_3(on):
    hand = on()
    for x in (50, 60, 70):
        hand.place.go(x, 50)
        hand.press("bag")
        hand.clock.advance(timedelta(minutes=20))
    one, two, three = noted(hand, "bag")
    hand.clock.advance(timedelta(hours=3))
    hand.place.go(20, 80)
    hand.presses("more", "day", "history", "day 2026-02-10")
    assert line(hand, two["seq"]) == ("13:20  1 bag", False)

    hand.presses(f"line {two['seq']}", "undo")
    assert hand.root.given[-1] == "B2"
    assert line(hand, two["seq"]) == ("13:20  1 bag undone", True)
    hand.presses(f"line {one['seq']}", "again", "value 3")
    assert hand.root.given[-1] == "B1"
    assert line(hand, one["seq"]) == ("13:00  1 bag mended", True)

    assert [(b.record["bags"], b.at, b.where) for b in counted(hand, "bag")] == [
        (3, instant(one["at"]), where_of(one)), (1, instant(three["at"]), where_of(three))]
    assert hand.phone.tally.bags_today(hand.clock.now()) == 4
    hand.presses(f"line {two['seq']}")
    assert [name for name in hand.names() if name not in ("back", "")] == []
    hand.presses("back", "back", "back", "back")
    assert hand.root.name == "picker"
    assert "4 bags" in shown(hand)


def test_a_note_typed_stands_with_its_bag(on):
    hand = on()
    hand.presses("bag", "bag")
    one, _ = noted(hand, "bag")
    hand.presses("more", "day", "history", "day 2026-02-10", f"line {one['seq']}", "note")
    type_in(hand, "wet, by the ditch: ½ sphagnum")
    hand.press("keep")
    assert hand.root.given[-1] == "B1"
    first, second = counted(hand, "bag")
    assert first.record["note"] == "wet, by the ditch: ½ sphagnum"
    assert (first.record["bags"], first.at, first.where) == (
        1, instant(one["at"]), where_of(one))
    assert second.record.get("note") is None
    assert hand.phone.tally.bags_today(hand.clock.now()) == 2
    hand.presses(f"line {first.seq}")
    assert "wet, by the ditch: ½ sphagnum" in "\n".join(shown(hand))
    hand.press("note")
    assert type_in(hand, "").text == "wet, by the ditch: ½ sphagnum"


def test_a_note_left_with_back_is_not_found_on_the_next_thing(on):
    hand = on()
    hand.presses("bag", "bag")
    one, two = noted(hand, "bag")
    hand.presses("more", "day", "history", "day 2026-02-10", f"line {one['seq']}", "note")
    type_in(hand, "of the first")
    hand.presses("back", "back", f"line {two['seq']}", "note")
    box = type_in(hand, "of the second")
    assert box.text == "of the second"
    hand.press("keep")
    assert [b.record.get("note") for b in counted(hand, "bag")] == [None, "of the second"]


def test_who_types_slowly_is_not_sent_home(on):
    hand = on()
    hand.press("bag")
    (one,) = noted(hand, "bag")
    hand.presses("more", "day", "history", "day 2026-02-10", f"line {one['seq']}", "note")
    type_in(hand, "a hundred seconds...", seconds=5)
    assert hand.root.name == "history"
    hand.press("keep")
    assert counted(hand, "bag")[0].record["note"] == "a hundred seconds..."
    hand.wait(62, step=0.5)
    assert hand.root.name == "picker"


def test_history_shows_what_was_noted_before_the_last_start(on, started):
    hand = on()
    hand.press("bag")
    (bag,) = noted(hand, "bag")
    end(hand)
    hand.presses("back", "back")
    assert hand.root.name == "start"
    hand.presses("day", "history", "day 2026-02-10", f"line {bag['seq']}", "again", "value 2")
    assert [b.record["bags"] for b in counted(hand, "bag")] == [2]
    assert counted(hand, "bag")[0].whose == "MT"
