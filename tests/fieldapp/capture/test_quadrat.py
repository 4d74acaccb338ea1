"""One quadrat in the making."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fieldapp.capture.book import CaptureError
from fieldapp.capture.correct import Correct
from fieldapp.capture.outing import Outing
from fieldapp.capture.quadrat import Quadrat
from fieldapp.record import Usual

USUAL = Usual(frame_m=0.5, wet_kg_per_bag=None, probes=3)


@pytest.fixture
def sheet(make_sheet, make_plot):
    return make_sheet(plots=[make_plot("031", "B01", 150, 50),
                             make_plot("032", "B01", 160, 50, when="before_pick", again=True)])


@pytest.fixture
def outing(book, hand, sheet):
    outing = Outing(book)
    outing.start("SW", "surveyor", sheet=sheet, **hand())
    return outing


@pytest.fixture
def at_the_plot(outing, sheet, hand):
    return Quadrat.begin(outing, sheet.plots[0], **hand())


def press(quadrat, *values):
    for value in values:
        quadrat.value(value)


def test_seven_presses_make_a_quadrat(book, hand, sheet, at_the_plot):
    press(at_the_plot, 60, 80, 95, 70)
    at_the_plot.none()
    assert at_the_plot.mean_depth_mm == pytest.approx(245 / 3)
    record = at_the_plot.save(now=hand.now, press_ms=140)
    assert record == book.record(2) == {
        "device": "p3-k7f2", "seq": 2, "kind": "quadrat", "at": "2026-01-20T18:40:00.000Z",
        "person": "SW", "plot": "031", "when": "survey", "side_m": 0.5, "cover_pct": 60,
        "depth_mm": [80, 95, 70], "scrub_pct": 0, "rush_pct": 0, "ground_class": "lawn",
        "cover_step_pct": 10, "depth_step_mm": 5, "press_ms": 140,
        "where": {"lat": hand.where.lat, "lon": hand.where.lon, "age_s": 1, "acc_m": 4}}
    assert book.drafts == {}


def test_the_pads_come_one_after_the_other(at_the_plot):
    steps = [at_the_plot.step]
    for value in (60, 80, 90, 70, 10, 20):
        at_the_plot.value(value)
        steps.append(at_the_plot.step)
    assert steps == ["cover", "depth", "depth", "depth", "scrub", "rush", "check"]


def test_bare_ground_has_no_depths(at_the_plot, hand):
    press(at_the_plot, 0)
    assert at_the_plot.step == "scrub"
    at_the_plot.none()
    assert at_the_plot.save(now=hand.now)["depth_mm"] == []


def test_enough_ends_the_depths_early(at_the_plot):
    press(at_the_plot, 60, 80)
    at_the_plot.enough()
    assert at_the_plot.step == "scrub"
    with pytest.raises(CaptureError, match="only depths"):
        at_the_plot.enough()


def test_plus_five_adds_to_the_value_pressed_last(at_the_plot, hand):
    assert not at_the_plot.plus_five()
    press(at_the_plot, 60)
    assert at_the_plot.plus_five()
    press(at_the_plot, 80, 90, 70)
    assert at_the_plot.plus_five()
    press(at_the_plot, 100)
    assert not at_the_plot.plus_five()
    at_the_plot.none()
    record = at_the_plot.save(now=hand.now)
    assert (record["cover_pct"], record["depth_mm"]) == (65, [80, 90, 75])
    assert record["scrub_pct"] == 100
    assert (record["cover_step_pct"], record["depth_step_mm"]) == (5, 5)


def test_clear_takes_values_back_one_by_one(at_the_plot):
    press(at_the_plot, 60, 80, 90, 70, 10, 20)
    steps = []
    while at_the_plot.clear():
        steps.append((at_the_plot.step, list(at_the_plot.draft["depth_mm"])))
    assert steps == [("rush", [80, 90, 70]), ("scrub", [80, 90, 70]), ("depth", [80, 90]),
                     ("depth", [80]), ("depth", []), ("cover", [])]


def test_change_steps_back_and_values_stay_until_pressed_over(at_the_plot, hand):
    press(at_the_plot, 60, 80, 90, 70, 10, 20)
    for step in ("rush", "scrub", "depth", "cover", "cover"):
        at_the_plot.change()
        assert at_the_plot.step == step
    press(at_the_plot, 50)
    assert at_the_plot.step == "check"
    at_the_plot.change()
    at_the_plot.change()
    at_the_plot.change()
    press(at_the_plot, 120)
    assert (at_the_plot.step, at_the_plot.draft["depth_mm"]) == ("depth", [120])
    press(at_the_plot, 130, 140)
    record = at_the_plot.save(now=hand.now)
    assert (record["cover_pct"], record["depth_mm"], record["rush_pct"]) == (
        50, [120, 130, 140], 20)


def test_change_passes_over_the_depths_of_bare_ground(at_the_plot):
    press(at_the_plot, 0)
    at_the_plot.none()
    at_the_plot.change()
    at_the_plot.change()
    at_the_plot.change()
    assert at_the_plot.step == "cover"
    press(at_the_plot, 40)
    assert at_the_plot.step == "depth"


def test_cover_pressed_over_to_nothing_takes_the_depths_along(at_the_plot):
    press(at_the_plot, 60, 80, 90, 70)
    at_the_plot.change()
    at_the_plot.change()
    press(at_the_plot, 0)
    assert at_the_plot.draft["depth_mm"] == []


@pytest.mark.parametrize("value", [-1, 101])
def test_a_value_out_of_the_pad_is_refused_and_changes_nothing(at_the_plot, value):
    before = dict(at_the_plot.draft)
    with pytest.raises(CaptureError, match=f"cover: {value}"):
        at_the_plot.value(value)
    assert at_the_plot.draft == before


def test_what_lies_beside_the_pads_is_noted_too(at_the_plot, hand):
    at_the_plot.add(water_table_mm=-120, clip="P3-014", photo="p3-k7f2-1.jpg")
    at_the_plot.add(ground_class="hummock", note="by the drain")
    at_the_plot.add(photo=None)
    press(at_the_plot, 60, 80, 90, 70)
    at_the_plot.none()
    record = at_the_plot.save(now=hand.now)
    assert (record["water_table_mm"], record["clip"], record["ground_class"], record["note"]) == (
        -120, "P3-014", "hummock", "by the drain")
    assert "photo" not in record
    with pytest.raises(CaptureError, match="person is nothing"):
        at_the_plot.add(person="MT")


def test_when_and_again_come_from_the_sheet(outing, sheet, hand):
    quadrat = Quadrat.begin(outing, sheet.plots[1], **hand())
    press(quadrat, 0)
    quadrat.none()
    record = quadrat.save(now=hand.now)
    assert (record["when"], record["again"]) == ("before_pick", True)


def test_by_eye_there_is_no_plot(outing, hand):
    quadrat = Quadrat.begin(outing, None, ground_class="pool edge", **hand())
    press(quadrat, 0)
    quadrat.none()
    record = quadrat.save(now=hand.now)
    assert (record.get("plot"), record["when"], record["ground_class"]) == (
        None, "survey", "pool edge")


def test_the_place_is_frozen_where_the_frame_was_laid_and_ages(at_the_plot, hand):
    laid = hand.where
    hand.go(180.0, 90.0)
    hand.wait(minutes=2)
    press(at_the_plot, 0)
    at_the_plot.none()
    where = at_the_plot.save(now=hand.now)["where"]
    assert (where["lat"], where["lon"], where["age_s"]) == (laid.lat, laid.lon, 121)


def test_a_killed_app_goes_on_with_the_same_quadrat(book, hand, outing, at_the_plot):
    press(at_the_plot, 60, 80)
    again = Quadrat.resume(Outing.reopen(book, sheet=outing.sheet))
    assert (again.plot, again.step, again.draft) == ("031", "depth", at_the_plot.draft)
    press(again, 90, 70)
    again.none()
    again.save(now=hand.now)
    assert Quadrat.resume(outing) is None


def test_one_quadrat_is_half_noted_at_a_time(outing, sheet, hand, at_the_plot):
    with pytest.raises(CaptureError, match="half noted"):
        Quadrat.begin(outing, sheet.plots[1], **hand())
    at_the_plot.throw()
    Quadrat.begin(outing, sheet.plots[1], **hand())


def test_a_press_that_is_not_on_disk_has_not_happened(book, at_the_plot):
    book.broken = True
    with pytest.raises(OSError, match="no room"):
        at_the_plot.value(60)
    assert at_the_plot.step == "cover"


def test_a_failed_save_keeps_the_draft(book, hand, at_the_plot):
    press(at_the_plot, 0)
    at_the_plot.none()
    book.broken = True
    with pytest.raises(OSError, match="no room"):
        at_the_plot.save(now=hand.now)
    book.broken = False
    assert book.draft("quadrat") is not None
    at_the_plot.save(now=hand.now)
    assert book.last_seq() == 2


def test_an_unfinished_quadrat_is_not_saved(book, hand, at_the_plot):
    press(at_the_plot, 60)
    with pytest.raises(CaptureError, match="depth is not noted yet"):
        at_the_plot.save(now=hand.now)
    assert book.last_seq() == 1


def test_odd_values_are_asked_about_and_usual_ones_are_not(hand, at_the_plot):
    press(at_the_plot, 60, 80, 90, 70)
    at_the_plot.none()
    assert at_the_plot.questions(now=hand.now, usual=USUAL) == ()
    for _ in range(3):
        at_the_plot.change()
    press(at_the_plot, 80, 400, 70)
    asked = [problem.field for problem in at_the_plot.questions(now=hand.now, usual=USUAL)]
    assert asked == ["depth_mm", "depth_mm"]


def test_the_same_values_as_the_quadrat_before_are_asked_about(hand, outing, sheet, at_the_plot):
    press(at_the_plot, 60, 80, 90, 70)
    at_the_plot.none()
    at_the_plot.save(now=hand.now)
    twin = Quadrat.begin(outing, sheet.plots[1], **hand())
    press(twin, 60, 80, 90, 70)
    assert twin.questions(now=hand.now, usual=USUAL) == ()
    twin.none()
    [asked] = twin.questions(now=hand.now, usual=USUAL)
    assert (asked.field, asked.value) == ("plot", "031")


def test_a_clip_s_label_is_put_on_a_saved_quadrat_by_a_mend(book, hand, outing, at_the_plot):
    press(at_the_plot, 60, 80, 90, 70)
    at_the_plot.none()
    at_the_plot.save(now=hand.now)
    Correct(outing).change(2, clip="P3-014", **hand())
    record = book.record(3)
    assert (record["clip"], record["instead_of"], record["depth_mm"]) == (
        "P3-014", "p3-k7f2:2", [80, 90, 70])


KEYS = st.lists(st.one_of(
    st.tuples(st.just("value"), st.sampled_from([0, 5, 10, 60, 100, 240, 360])),
    st.tuples(st.sampled_from(["plus_five", "enough", "none", "clear", "change"]))), max_size=40)


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(KEYS)
def test_any_presses_end_in_a_record_the_rules_take(make_book, hand, make_sheet, keys):
    outing = Outing(make_book())
    outing.start("SW", "surveyor", sheet=make_sheet(), **hand())
    quadrat = Quadrat.begin(outing, None, **hand())
    for name, *value in keys:
        try:
            getattr(quadrat, name)(*value)
        except CaptureError:
            continue
        assert Quadrat.resume(outing).draft == quadrat.draft
    if quadrat.step == "check":
        record = quadrat.save(now=hand.now)
        assert record["cover_pct"] > 0 or record["depth_mm"] == []
        assert len(record["depth_mm"]) <= 3
