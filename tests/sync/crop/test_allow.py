import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.crop.allow import allowance, bags_left, left_after_rest_share, left_kg
from sync.crop.walk import Growth, Stand, start
from sync.settings import Z_THREE_IN_FOUR

KG_PER_BAG = 811.0 / 120.0
RULES = {
    "area_m2": 10000.0,
    "growth": Growth(0.46, 0.08**2, 0.8),
    "rest_years": 5.0,
    "keep": 0.3,
    "max_share": None,
    "max_kg_m2": None,
    "z": Z_THREE_IN_FOUR,
}
CELLS = st.builds(
    lambda crop, cv, mark, mark_cv, tie: Stand(
        crop, mark, (cv * crop) ** 2, (mark_cv * mark) ** 2, tie * cv * crop * mark_cv * mark
    ),
    st.floats(0, 20000),
    st.floats(0, 1),
    st.floats(0, 20000),
    st.floats(0, 1),
    st.floats(-1, 1),
)
WHOLE_RULES = st.fixed_dictionaries(
    {
        "area_m2": st.floats(1, 10000),
        "growth": st.builds(Growth, st.floats(0, 2), st.floats(0, 1), st.floats(0.5, 0.95)),
        "rest_years": st.floats(0.1, 85),
        "keep": st.floats(0, 1),
        "max_share": st.none() | st.floats(0, 1),
        "max_kg_m2": st.none() | st.floats(0, 2),
        "z": st.just(Z_THREE_IN_FOUR),
    }
)


def _case(case):
    (crop, cv), (mark, mark_cv) = case["crop"], case["mark"]
    stand = Stand(crop, mark, (cv * crop) ** 2, (mark_cv * mark) ** 2, case["cov"])
    rate, rate_sd = case["rate"]
    rules = RULES | {
        "area_m2": case["area_m2"],
        "growth": Growth(rate, rate_sd**2, 0.8),
        "max_share": case.get("max_share"),
        "max_kg_m2": case.get("max_kg_m2"),
    }
    return allowance(stand, case["pickable_kg"], **rules)


def test_the_share_to_leave_is_the_printed(printed, agrees):
    for rate, years, share in printed["after_rest"]["cases"]:
        assert agrees(left_after_rest_share(rate, years, 0.8), share)


def test_without_growth_all_must_be_left_and_after_ages_nothing():
    assert left_after_rest_share(0.0, 5.0, 0.8) == pytest.approx(0.8)
    assert left_after_rest_share(50.0, 85.0, 0.8) == 0.0


@given(st.floats(0.01, 2), st.floats(0.1, 20), st.floats(0.5, 0.95))
def test_what_is_left_grows_back_to_the_mark_in_the_rest(rate, years, comeback):
    e = left_after_rest_share(rate, years, comeback)

    assert e / (e + (1 - e) * math.exp(-rate * years)) == pytest.approx(comeback)


def test_each_rule_binds_where_it_is_printed_to(printed, agrees):
    cases = printed["allow"]
    for case in cases:
        found = _case(case)

        assert agrees(found.counted_on_kg, case["counted_on"]), case["name"]
        assert agrees(found.regrowth_kg, case["regrowth"]), case["name"]
        assert agrees(found.kept_kg, case["kept"]), case["name"]
        assert found.binds == case["binds"], case["name"]
        assert agrees(found.sustainable_pct, case["pct"]), case["name"]
        assert agrees(found.may_take_kg, case["may_take"]), case["name"]
        assert agrees(found.must_stay_kg, case["must_stay"]), case["name"]
        if "permit" in case:
            assert agrees(found.permit_kg, case["permit"]), case["name"]
        else:
            assert found.permit_kg is None
    assert {case["binds"] for case in cases} == {
        "regrowth", "living_layer", "share_kept", "permit"
    }


def test_what_is_left_is_told_in_whole_bags(printed, agrees):
    (case,) = (case for case in printed["allow"] if "taken_kg" in case)
    left = left_kg(_case(case).may_take_kg, case["taken_kg"])

    assert agrees(left, case["left"])
    assert bags_left(left, KG_PER_BAG) == case["left_bags"]


def test_bags_left_are_not_lost_to_rounding():
    assert bags_left(0.3, 0.1) == 3  # 0.3/0.1 is 2.9999999999999996
    assert bags_left(6.69, 6.7) == 0
    with pytest.raises(ValueError, match="kg_per_bag=0"):
        bags_left(10.0, 0.0)


def test_more_taken_than_allowed_leaves_nothing():
    assert left_kg(100.0, 130.0) == 0.0


def test_where_nothing_stands_nothing_may_be_taken():
    for crop_var in (0.0, 100.0):
        found = allowance(Stand(0.0, 5000.0, crop_var, 1e5, 0.0), 0.0, **RULES)

        assert found.may_take_kg == found.must_stay_kg == found.counted_on_kg == 0.0
        assert found.sustainable_pct == 0.0
        assert found.permit_kg is None
    bare = allowance(start(0.0, cv=0.6), 0.0, **(RULES | {"max_kg_m2": 0.2}))
    assert bare.permit_kg == 0.0
    assert bare.may_take_kg == 0.0


def test_at_its_mark_nothing_comes_back_without_growth():
    found = allowance(
        start(6000.0, cv=0.25), 3900.0, **(RULES | {"growth": Growth(0.0, 0.0, 0.8)})
    )

    assert found.regrowth_kg == pytest.approx(0.0, abs=1e-6)
    assert found.may_take_kg == pytest.approx(0.0, abs=1e-6)
    assert found.binds == "regrowth"


def test_a_variance_that_rounds_below_nothing_counts_as_none():
    e = left_after_rest_share(0.46, 5.0, 0.8)
    tight = Stand(6000.0, 6000.0 / (e / 0.8), 1e6, 1e6 / (e / 0.8) ** 2, 1e6 / (e / 0.8) * 1.001)
    found = allowance(tight, 3000.0, **(RULES | {"growth": Growth(0.46, 0.0, 0.8)}))

    assert found.regrowth_kg == pytest.approx(0.0, abs=1e-6)


def test_of_equal_answers_the_first_binds():
    stand = start(6000.0, cv=0.0)
    kept = 0.7 * 3000.0
    equal = RULES | {"growth": Growth(9.0, 0.0, 0.8), "max_kg_m2": kept / 10000.0}

    assert allowance(stand, 3000.0, **equal).binds == "living_layer"
    zero = RULES | {"growth": Growth(0.0, 0.0, 0.8), "keep": 1.0, "max_share": 0.0}
    nothing = allowance(Stand(6000.0, 6000.0, 0.0, 0.0, 0.0), 3000.0, **zero)
    assert nothing.regrowth_kg == nothing.kept_kg == nothing.permit_kg == 0.0
    assert nothing.binds == "regrowth"


def test_of_two_permit_limits_the_stricter_holds():
    stand = start(6000.0, cv=0.0)
    found = allowance(stand, 3000.0, **(RULES | {"max_share": 0.2, "max_kg_m2": 0.05}))

    assert found.permit_kg == pytest.approx(500.0)


@pytest.mark.parametrize(
    ("rule", "value"),
    [
        ("growth", Growth(0.4, 0.0, 1.0)),
        ("rest_years", 0.0),
        ("keep", 1.01),
        ("keep", -0.1),
        ("keep", math.nan),
    ],
)
def test_rules_that_cannot_be_are_refused(rule, value):
    with pytest.raises(ValueError, match=rule if rule != "growth" else "comeback"):
        allowance(start(6000.0, cv=0.2), 3000.0, **(RULES | {rule: value}))


@given(CELLS, st.floats(0, 1), WHOLE_RULES)
def test_may_take_is_part_of_the_crop_and_the_rest_stays(stand, q, rules):
    found = allowance(stand, q * stand.crop_kg, **rules)

    assert 0.0 <= found.may_take_kg <= stand.crop_kg
    assert found.must_stay_kg + found.may_take_kg == pytest.approx(stand.crop_kg)
    assert found.sustainable_pct / 100 * stand.crop_kg == pytest.approx(found.may_take_kg)
    assert 0.0 <= found.sustainable_pct <= 100.0
    assert found.counted_on_kg <= stand.crop_kg
    answers = [found.regrowth_kg, found.kept_kg, found.permit_kg]
    assert found.may_take_kg == max(0.0, min(a for a in answers if a is not None))


@given(CELLS, st.floats(0, 1), WHOLE_RULES, st.floats(0, 1), st.floats(0, 1))
def test_keeping_more_never_lets_more_be_taken(stand, q, rules, one, other):
    less, more = sorted((one, other))
    with_less = allowance(stand, q * stand.crop_kg, **(rules | {"keep": less}))
    with_more = allowance(stand, q * stand.crop_kg, **(rules | {"keep": more}))

    assert with_more.may_take_kg <= with_less.may_take_kg


@given(st.floats(0, 5000), st.floats(0, 8000))
def test_left_and_taken_make_up_may_take_until_it_is_used_up(may, taken):
    left = left_kg(may, taken)

    assert left >= 0.0
    assert left + min(taken, may) == pytest.approx(may)


@pytest.mark.parametrize(
    ("rate", "rate_sd", "cv", "mark"),
    [
        (0.40, 0.20, 0.28, "same"),
        (0.46, 0.08, 0.28, "same"),
        (0.46, 0.08, 0.25, "other"),
        (0.60, 0.15, 0.20, "other"),
        (0.46, 0.08, 0.28, "known"),
        (0.40, 0.15, 0.20, "known"),
    ],
)
def test_three_cells_in_four_come_back_in_time(rate, rate_sd, cv, mark):
    rng = np.random.default_rng(20240710)
    draws = 50_000
    spread = math.sqrt(math.log1p(cv**2))
    logs = rng.normal(-spread * spread / 2, spread, (2, draws))
    crop = 6000.0 * np.exp(logs[0])
    marks = {"same": crop, "other": 6000.0 * np.exp(logs[1]), "known": np.full(draws, 6000.0)}
    variance = (cv * 6000.0) ** 2
    stand = Stand(
        6000.0,
        6000.0,
        variance,
        0.0 if mark == "known" else variance,
        variance if mark == "same" else 0.0,
    )
    found = allowance(
        stand, 6000.0, **(RULES | {"growth": Growth(rate, rate_sd**2, 0.8), "keep": 0.0})
    )
    assert found.regrowth_kg > 0.0

    full = marks[mark] / 0.8
    left = np.maximum(crop - found.regrowth_kg, 1e-6) / full
    rates = np.maximum(rng.normal(rate, rate_sd, draws), 0.0)
    # Over full a crop neither grows nor shrinks; the logistic holds below it.
    share = np.minimum(left, 1.0)
    grown = share / (share + (1.0 - share) * np.exp(-rates * 5.0))
    back = float(np.mean(np.maximum(left, grown) >= 0.8))
    assert 0.70 <= back <= 0.80
