import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.errors import SurveyError
from sync.survey.water import is_drying, relative_changes_mm


def test_the_printed_cell_dries_against_its_block(models, agrees):
    case = models["drying"]
    changes = {"A01": -20.0, "B04": case["change_mm"], "B05": case["median_mm"], "C01": -30.0,
               "C02": 10.0}
    relative = relative_changes_mm(changes)

    assert list(relative) == list(changes)
    assert agrees(relative["B04"], case["relative_mm"])
    assert is_drying(relative["B04"], case["level_mm"], least_fall_mm=case["least_fall_mm"],
                     dry_level_mm=case["dry_level_mm"])
    assert not is_drying(relative["B05"], case["level_mm"], least_fall_mm=case["least_fall_mm"],
                         dry_level_mm=case["dry_level_mm"])


@pytest.mark.parametrize(
    ("relative", "level", "dries"),
    [(-50.0, -250.0, True), (-49.0, -400.0, False), (-80.0, -249.0, False), (50.0, -400.0, False)])
def test_a_cell_dries_that_fell_far_and_stands_low(relative, level, dries):
    assert is_drying(relative, level, least_fall_mm=50.0, dry_level_mm=-250.0) is dries


@given(st.dictionaries(st.sampled_from("ABCDEFG"), st.integers(-400, 400), min_size=1),
       st.integers(-300, 300))
def test_a_dry_summer_for_all_says_nothing(changes, summer):
    drier = {cell: change + summer for cell, change in changes.items()}

    assert relative_changes_mm(drier) == relative_changes_mm(changes)


def test_no_second_reading_is_no_change():
    with pytest.raises(SurveyError):
        relative_changes_mm({})
