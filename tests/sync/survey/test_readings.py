"""Which quadrat counts on a plot, and which quadrats make a survey."""

from datetime import UTC, date, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from sync.block import Plot
from sync.intake.seen import QuadratSeen
from sync.survey.readings import Reading, readings_of, surveys_of

PLOTS = (
    Plot("1", "B02", 0, 0, True, "survey", False, False, False),
    Plot("2", "B02", 0, 0, True, "survey", False, False, False),
    Plot("9", "B02", 0, 0, False, "survey", False, False, False),
)


def seen(number, plot, day, *, person="SW", bare=False, again=False, cell=None, when="survey"):
    at = datetime.combine(day, datetime.min.time(), UTC) + timedelta(minutes=number)
    return QuadratSeen(
        name=f"p1-aaaa:{number}", at=at, day=day, person=person, plot=plot, cell=cell, where=None,
        when=when, again=again, bare=bare, cover_pct=0.0 if bare else 50.0,
        depth_mm=() if bare else (80, 80, 80), scrub_pct=None, water_table_mm=None, clip=None,
        order=(at, "p1-aaaa", number),
    )


def read(*quadrats):
    found, nowhere = readings_of(quadrats, PLOTS, lambda q: None, survey_days=120)
    return [r.name for r in found], found, nowhere


DAY = date(2025, 6, 20)


def test_the_same_persons_last_quadrat_on_a_plot_counts():
    names, _, _ = read(seen(1, "1", DAY), seen(2, "1", DAY + timedelta(days=3)))
    assert names == ["p1-aaaa:2"]


def test_another_persons_quadrat_is_a_second_reading_of_the_first_reader():
    names, found, _ = read(seen(1, "1", DAY), seen(2, "1", DAY, person="SL"), seen(3, "1", DAY))
    assert names == ["p1-aaaa:3"]
    assert [one.name for one in found[0].again] == ["p1-aaaa:2"]


def test_a_quadrat_asked_for_as_second_reading_never_becomes_the_first():
    names, _, _ = read(seen(1, "1", DAY, person="SL", again=True),
                       seen(2, "1", DAY + timedelta(days=1)))
    assert names == ["p1-aaaa:2"]


def test_a_quadrat_outweighs_a_skip_whichever_came_last():
    assert read(seen(1, "1", DAY), seen(2, "1", DAY, bare=True))[0] == ["p1-aaaa:1"]
    assert read(seen(1, "1", DAY, bare=True), seen(2, "1", DAY))[0] == ["p1-aaaa:2"]


def test_a_year_later_the_same_plot_is_another_reading():
    names, _, _ = read(seen(1, "1", DAY), seen(2, "1", DAY + timedelta(days=365)))
    assert names == ["p1-aaaa:1", "p1-aaaa:2"]


def test_a_chosen_plot_and_a_typed_cell_are_by_eye_and_a_lost_one_is_named():
    _, found, nowhere = read(seen(1, "9", DAY), seen(2, None, DAY, cell="C03"),
                             seen(3, None, DAY))
    assert [(r.cell, r.drawn) for r in found] == [("B02", False), ("C03", False)]
    assert nowhere == ("p1-aaaa:3",)


def after(days):
    return DAY + timedelta(days=days)


def test_the_time_of_a_survey_is_measured_from_its_first_reading_of_the_plot():
    names, _, _ = read(seen(1, "1", DAY), seen(2, "1", after(120)), seen(3, "1", after(121)))
    assert names == ["p1-aaaa:2", "p1-aaaa:3"]


def test_a_picking_day_parts_two_readings_of_a_plot():
    quadrats = [seen(1, "1", DAY), seen(2, "1", after(9)), seen(3, "1", after(10))]
    found, _ = readings_of(quadrats, PLOTS, lambda q: None, survey_days=120,
                           picking_days={"B02": [after(9)], "C03": [after(1)]})
    # The second is of before that day's bags.
    assert [r.name for r in found] == ["p1-aaaa:2", "p1-aaaa:3"]


def test_what_is_noted_after_a_pick_replaces_no_survey_of_that_plot():
    names, _, _ = read(seen(1, "1", DAY), seen(2, "1", DAY, when="after_pick"))
    assert names == ["p1-aaaa:1", "p1-aaaa:2"]


def test_by_eye_quadrats_of_one_place_and_day_all_count():
    names, _, _ = read(seen(1, None, DAY, cell="B02"), seen(2, None, DAY, cell="B02"))
    assert names == ["p1-aaaa:1", "p1-aaaa:2"]


def test_a_plot_that_is_none_is_of_the_place_where_it_was_read():
    found, nowhere = readings_of([seen(1, "77", DAY)], PLOTS, lambda q: "C01", survey_days=120)
    assert [(r.cell, r.drawn) for r in found] == [("C01", False)]
    assert nowhere == ()


def test_a_typed_cell_does_not_move_a_plot():
    _, found, _ = read(seen(1, "1", DAY, cell="C03"))
    assert [(r.cell, r.drawn) for r in found] == [("B02", True)]


def reading(day, *, drawn=True, when="survey", number=1):
    return Reading(f"p1-aaaa:{number}", "B02", day, "1" if drawn else None, drawn, when, False,
                   50.0, (80, 80, 80), None, None, None, "SW")


def test_a_survey_is_what_lies_within_120_days_before_its_latest():
    days = [DAY, DAY + timedelta(days=120), DAY + timedelta(days=121)]
    found = surveys_of([reading(d, number=i) for i, d in enumerate(days, 1)], [], survey_days=120)
    assert [[r.day for r in s.readings] for s in found] == [[days[0]], days[1:]]


def test_a_picking_day_parts_two_surveys():
    days = [DAY, DAY + timedelta(days=20)]
    found = surveys_of([reading(d, number=i) for i, d in enumerate(days, 1)],
                       [DAY + timedelta(days=10)], survey_days=120)
    assert [s.day for s in found] == days


def test_a_quadrat_on_a_picking_day_is_of_before_that_days_bags():
    days = [DAY, DAY + timedelta(days=5)]
    found = surveys_of([reading(d, number=i) for i, d in enumerate(days, 1)], [days[1]],
                       survey_days=120)
    assert [len(s.readings) for s in found] == [2]


def test_after_a_pick_nothing_is_surveyed_and_by_eye_counts_only_alone():
    assert surveys_of([reading(DAY, when="after_pick")], [], survey_days=120) == ()
    (eye,) = surveys_of([reading(DAY, drawn=False)], [], survey_days=120)
    assert eye.by_eye
    (both,) = surveys_of([reading(DAY), reading(DAY, drawn=False, number=2)], [], survey_days=120)
    assert [r.name for r in both.readings] == ["p1-aaaa:1"]


@given(st.lists(st.integers(0, 900), min_size=1, max_size=12), st.lists(st.integers(0, 900)))
def test_every_reading_is_in_just_one_survey_and_each_is_short_enough(offsets, picked):
    readings = [reading(DAY + timedelta(days=o), number=i) for i, o in enumerate(offsets, 1)]
    days = sorted({DAY + timedelta(days=p) for p in picked})
    surveys = surveys_of(readings, days, survey_days=120)
    names = [r.name for s in surveys for r in s.readings]
    assert sorted(names) == sorted(r.name for r in readings)
    for survey in surveys:
        first = min(r.day for r in survey.readings)
        assert (survey.day - first).days <= 120
        assert not [d for d in days if first <= d < survey.day]
