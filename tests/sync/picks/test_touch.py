import pytest

from sync.picks.kilos import count_kg
from sync.picks.touch import share_by_weight, touches


def test_the_printed_pick_touches_until_its_next_day(kappa, printed, agrees):
    case = printed["touch"]
    verdicts = []
    for bags, swept, by_area, by_weight in zip(
        case["bags"], case["swept_m2"], case["by_area_pct"], case["by_weight_pct"], strict=True
    ):
        kg, _ = count_kg(bags, kappa)
        weight_share = share_by_weight(kg, case["pickable_at_mark_kg"])

        assert weight_share is not None
        assert agrees(100 * swept / case["open_m2"], by_area)
        assert agrees(100 * weight_share, by_weight)
        verdicts.append(
            touches(
                kg,
                case["pickable_at_mark_kg"],
                area_share=swept / case["open_m2"],
                touch_pct=10.0,
            )
        )

    assert agrees(count_kg(case["bags"][0], kappa)[0], case["kg"])
    assert verdicts == [True, False]


@pytest.mark.parametrize(
    ("kg", "pickable", "area", "touch"),
    [
        (99.0, 1000.0, 0.05, True),
        (100.0, 1000.0, 0.05, False),
        (10.0, 1000.0, 0.10, False),
        (99.0, 1000.0, None, True),
        (100.0, 1000.0, None, False),
        (5000.0, None, 0.05, True),
        (1.0, None, 0.10, False),
    ],
)
def test_a_tenth_by_area_or_by_weight_is_a_pick(kg, pickable, area, touch):
    assert touches(kg, pickable, area_share=area, touch_pct=10.0) is touch


def test_what_cannot_be_judged_is_a_pick():
    assert not touches(1.0, None, area_share=None, touch_pct=10.0)
    assert not touches(None, 1000.0, area_share=0.01, touch_pct=10.0)


def test_ground_with_nothing_to_pick_has_no_share_by_weight():
    assert share_by_weight(10.0, 0.0) is None
