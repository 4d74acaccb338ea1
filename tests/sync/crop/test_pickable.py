import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.crop.pickable import Measured, pickable_kg

KG = st.floats(0, 20000)
SHARES = st.floats(0, 1)


def test_under_its_mark_a_cell_lacks_moss_above_the_living_layer(printed, agrees):
    today = printed["walk"]["today"]
    q = today["pickable_share"]
    crop = float(today["kg"])

    assert agrees(pickable_kg(crop, 5704.0, q), today["pickable"])
    assert agrees(q * crop, today["share_of_crop"])


def test_at_its_mark_or_over_it_the_share_is_that_of_the_mark():
    assert pickable_kg(5704.0, 5704.0, 0.5) == 2852.0
    assert pickable_kg(6000.0, 5704.0, 0.5) == 3000.0


def test_a_cell_picked_to_the_living_layer_has_nothing_to_pick():
    assert pickable_kg(2000.0, 5000.0, 0.5) == 0.0


def test_a_survey_since_the_pick_is_believed():
    measured = Measured(3000.0, 0.3)

    assert pickable_kg(3000.0, 5000.0, 0.5, measured=measured) == pytest.approx(900.0)
    assert pickable_kg(4000.0, 5000.0, 0.5, measured=measured) == pytest.approx(1700.0)
    assert pickable_kg(5000.0, 5000.0, 0.5, measured=measured) == pytest.approx(2500.0)
    assert pickable_kg(1500.0, 5000.0, 0.5, measured=measured) == pytest.approx(450.0)


def test_a_survey_with_a_larger_share_than_the_mark_has_the_marks():
    assert pickable_kg(3000.0, 5000.0, 0.5, measured=Measured(3000.0, 0.9)) == 1500.0


def test_bare_ground_has_nothing_to_pick():
    assert pickable_kg(0.0, 0.0, 0.4) == 0.0
    assert pickable_kg(0.0, 10.0, 0.4, measured=Measured(0.0, 0.4)) == 0.0


@given(KG, KG, SHARES, st.none() | st.builds(Measured, KG, SHARES))
def test_what_can_be_picked_is_part_of_what_stands(crop, mark, share, measured):
    kg = pickable_kg(crop, mark, share, measured=measured)

    assert 0.0 <= kg <= crop * (1 + 1e-9)


@given(KG, KG, KG, SHARES, st.none() | st.builds(Measured, KG, SHARES))
def test_more_crop_is_never_less_to_pick(one, other, mark, share, measured):
    small, large = sorted((one, other))
    less = pickable_kg(small, mark, share, measured=measured)

    assert less <= pickable_kg(large, mark, share, measured=measured) * (1 + 1e-9) + 1e-9
