import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.crop.allow import left_after_rest_share
from sync.crop.long_run import block_may_take_kg, take_at_mark_kg, yearly_kg
from sync.crop.walk import Growth

RULES = {
    "area_m2": 10000.0,
    "growth": Growth(0.46, 0.08**2, 0.8),
    "rest_years": 5.0,
    "keep": 0.30,
    "max_share": None,
    "max_kg_m2": None,
}


def test_a_block_gives_the_printed_kg_a_year(printed, agrees):
    figures = printed["long_run"]
    takes = []
    for mark, q, kept, regrowth, take in figures["cells"]:
        takes.append(take_at_mark_kg(mark, q, **RULES))

        assert agrees(takes[-1], take)
        assert agrees(take_at_mark_kg(mark, 1.0, **(RULES | {"keep": 1 - 0.7 * q})), kept)
        assert agrees(take_at_mark_kg(mark, 1.0, **(RULES | {"keep": 0.0})), regrowth)

    assert agrees(yearly_kg(takes, rest_years=5.0), figures["yearly"])


def test_a_permit_limits_the_long_run_too():
    assert take_at_mark_kg(6000.0, 0.6, **(RULES | {"max_share": 0.3})) == pytest.approx(1800.0)
    assert take_at_mark_kg(6000.0, 0.6, **(RULES | {"max_kg_m2": 0.12})) == pytest.approx(1200.0)


def test_ground_that_does_not_grow_gives_nothing_in_the_long_run():
    still = RULES | {"growth": Growth(0.0, 0.0, 0.8)}

    assert take_at_mark_kg(6000.0, 0.6, **still) == pytest.approx(0.0, abs=1e-6)
    assert left_after_rest_share(0.0, 5.0, 0.8) == pytest.approx(0.8)


def test_no_rest_is_no_long_run():
    with pytest.raises(ValueError, match="rest_years=0"):
        yearly_kg([100.0], rest_years=0.0)


def test_the_permits_cap_holds_the_block_to_what_is_left_of_it(printed, agrees):
    figures = printed["long_run"]
    cap, picked = figures["cap_kg"], figures["picked_kg"]

    assert agrees(
        block_may_take_kg(figures["left_kg"], cap_kg=cap, picked_kg=picked), figures["now"]
    )
    assert block_may_take_kg(figures["left_kg"], cap_kg=None, picked_kg=picked) == 2156.75
    assert block_may_take_kg(figures["left_kg"], cap_kg=cap, picked_kg=6100.0) == 0.0


@given(st.lists(st.floats(0, 5000)), st.none() | st.floats(0, 50000), st.floats(0, 50000))
def test_a_block_never_gives_more_than_its_cells(left, cap, picked):
    may = block_may_take_kg(left, cap_kg=cap, picked_kg=picked)

    assert 0.0 <= may <= sum(left)
