"""Plots read twice: pairs, the block's median, and what a dry summer does not say."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.survey.condition import (
    between,
    median_change,
    rewalked,
    scrub_of,
    water_changes,
    water_of,
)
from sync.survey.readings import Reading

WINTER, LATER = date(2023, 7, 1), date(2025, 7, 1)


def reading(cell, plot, day, *, scrub=None, water=None):
    name = f"{plot}-{day.isoformat()}"
    return Reading(name, cell, day, plot, True, "survey", False, 50.0, (80,), scrub, water, None,
                   "SW")


def twice(cell, was, now, plot="1", start=WINTER, end=LATER):
    return [reading(cell, f"{cell}-{plot}", start, water=was),
            reading(cell, f"{cell}-{plot}", end, water=now)]


def wells(changes):
    return {cell: twice(cell, -100.0, -100.0 + change) for cell, change in changes.items()}


def test_only_a_plot_read_in_two_surveys_is_a_pair():
    read = [reading("A01", "1", WINTER, scrub=4), reading("A01", "2", LATER, scrub=13),
            reading("A01", None, WINTER, scrub=1), reading("A01", None, LATER, scrub=50)]
    assert rewalked(read, scrub_of, survey_days=120) == ()
    (pair,) = rewalked([*read, reading("A01", "1", LATER, scrub=9)], scrub_of, survey_days=120)
    assert (pair.plot, pair.change, pair.before_on, pair.after_on) == ("1", 5.0, WINTER, LATER)


@pytest.mark.parametrize(("days", "pairs"), [(120, 0), (121, 1)])
def test_two_readings_of_one_survey_are_no_change(days, pairs):
    read = twice("A01", -100.0, -200.0, end=WINTER + timedelta(days=days))
    assert len(rewalked(read, water_of, survey_days=120)) == pairs


def test_a_value_that_was_not_noted_is_no_zero():
    read = [reading("A01", "1", WINTER, scrub=4), reading("A01", "1", LATER)]
    assert rewalked(read, scrub_of, survey_days=120) == ()
    (pair,) = rewalked([*read, reading("A01", "1", LATER + timedelta(days=400), scrub=0)],
                       scrub_of, survey_days=120)
    assert pair.change == -4.0


def test_the_first_reading_is_set_against_the_latest():
    read = [reading("A01", "1", WINTER + timedelta(days=200 * i), water=-100.0 - 20 * i)
            for i in range(5)]
    (pair,) = rewalked(read, water_of, survey_days=120)
    assert pair.change == -80.0


def test_the_printed_drying_cell_is_worked_out_from_plots():
    # Golden G19: -95 mm where the median is -30 mm; the level is -310 mm.
    read = wells({"B01": -10.0, "B02": -20.0, "B03": -30.0, "C01": -60.0})
    read["A01"] = twice("A01", -215.0, -310.0)
    found = water_changes(read, survey_days=120, least_cells=5)["A01"]
    assert (found.change_mm, found.relative_mm, found.level_mm, found.cells) == (
        -95.0, -65.0, -310.0, 5)


def test_of_too_few_cells_there_is_no_median():
    read = wells({"A01": -200.0, "B01": 0.0, "B02": 0.0, "B03": 0.0})
    assert water_changes(read, survey_days=120, least_cells=5)["A01"].relative_mm is None
    assert water_changes(read, survey_days=120, least_cells=4)["A01"].relative_mm == -200.0


def test_a_cell_read_in_other_years_is_set_against_the_cells_of_those_years():
    read = wells({f"B0{i}": -30.0 for i in range(1, 6)})
    early = date(2020, 7, 1)
    for i in range(1, 6):
        read[f"C0{i}"] = twice(f"C0{i}", -100.0, -160.0, start=early, end=WINTER)
    read["A01"] = twice("A01", -100.0, -165.0, start=early, end=WINTER)
    found = water_changes(read, survey_days=120, least_cells=5)["A01"]
    assert found.relative_mm == -5.0
    assert found.cells == 6


def test_a_cell_of_many_plots_is_one_in_the_median():
    read = wells({"A01": 0.0, "A02": -10.0, "A03": -20.0})
    read["A03"] += [one for n in range(9) for one in twice("A03", 0.0, -20.0, plot=f"x{n}")]
    assert median_change(read, water_of, WINTER, LATER, survey_days=120) == (-10.0, 3)
    assert median_change({}, water_of, WINTER, LATER, survey_days=120) == (0.0, 0)


def test_of_each_plot_the_reading_nearest_to_the_day_counts():
    read = [reading("A01", "1", LATER + timedelta(days=shift), water=level)
            for shift, level in ((-90, -1.0), (-3, -2.0), (4, -3.0))]
    read.append(reading("A01", "1", WINTER, water=0.0))
    (pair,) = between(read, water_of, WINTER, LATER, survey_days=120)
    assert pair.after == -2.0


@given(st.dictionaries(st.sampled_from([f"A0{i}" for i in range(1, 10)]),
                       st.integers(-200, 200), min_size=5),
       st.integers(-150, 150))
def test_a_summer_that_lowers_every_well_alike_moves_nothing(changes, summer):
    plain = water_changes(wells(changes), survey_days=120, least_cells=5)
    dry = water_changes(wells({cell: one + summer for cell, one in changes.items()}),
                        survey_days=120, least_cells=5)
    for cell, one in plain.items():
        assert dry[cell].relative_mm == pytest.approx(one.relative_mm)
        assert dry[cell].change_mm == pytest.approx(one.change_mm + summer)
