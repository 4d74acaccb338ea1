"""The colours can be told apart: every figure of the palette's table, computed anew."""

import dataclasses
from decimal import Decimal
from itertools import combinations
from typing import get_args

import pytest

from fieldapp.ground import Band
from fieldapp.ui.palette import BRIGHT, DUSK, Palette, contrast, contrast_in_sun, luminance, rgba

BLACK, WHITE = "#000000", "#FFFFFF"
#: Two colours, their ratio as printed, and what is left of it at 10 000 and 30 000 lx.
TABLE = [
    (BRIGHT.ink, BRIGHT.paper, "21.0", "4.1", "2.0"),
    (BRIGHT.bag_ink, BRIGHT.bag, "21.0", "4.1", "2.0"),
    (BRIGHT.soft, BRIGHT.paper, "10.4", "3.6", "1.9"),
    (BRIGHT.fills["ready"].ink, "#8CE99A", "14.2", "3.1", "1.7"),
    (BRIGHT.fills["resting"].ink, "#56B4E9", "9.1", "2.3", "1.4"),
    (BRIGHT.fills["unsurveyed"].ink, "#FFFFFF", "21.0", "4.1", "2.0"),
    (BRIGHT.fills["closed"].ink, "#000000", "21.0", "4.1", "2.0"),
    (BRIGHT.fills["outside"].ink, "#F0E442", "15.9", "3.3", "1.8"),
    (BRIGHT.look_ink, "#F0E442", "15.9", "3.3", "1.8"),
    (BRIGHT.fills["cannot_tell"].ink, "#BFBFBF", "11.4", "2.6", "1.5"),
    (BRIGHT.trouble_ink, "#A30000", "8.2", "3.3", "1.9"),
    (BRIGHT.trouble, BRIGHT.paper, "8.2", "3.3", "1.9"),
    (BRIGHT.me, BRIGHT.fills["ready"].fill, "6.1", None, None),
    (BRIGHT.me, BRIGHT.fills["resting"].fill, "3.9", None, None),
    (DUSK.ink, DUSK.paper, "21.0", None, None),
    (DUSK.soft, DUSK.paper, "13.5", None, None),
    (DUSK.trouble, DUSK.paper, "9.2", None, None),
    (DUSK.fills["ready"].ink, DUSK.fills["ready"].fill, "14.2", None, None),
    (DUSK.fills["resting"].ink, DUSK.fills["resting"].fill, "9.1", None, None),
    (DUSK.fills["outside"].ink, DUSK.fills["outside"].fill, "15.9", None, None),
    (BRIGHT.fills["ready"].fill, BRIGHT.fills["outside"].fill, "1.1", None, None),
    (BRIGHT.fills["ready"].fill, BRIGHT.fills["resting"].fill, "1.6", None, None),
    ("#009E73", BLACK, "6.1", None, None),
]
LIGHTS = pytest.mark.parametrize("palette", [BRIGHT, DUSK], ids=["bright", "dusk"])
#: White on red: what a lighter red would gain in ratio it would lose in alarm.
LESS_THAN_NINE = {(BRIGHT.trouble, BRIGHT.trouble_ink), (BRIGHT.paper, BRIGHT.trouble)}


def as_printed(figure):
    """A printed figure, to half a unit of its last digit."""
    places = -Decimal(figure).as_tuple().exponent
    return pytest.approx(float(figure), abs=0.5 * 10**-places + 1e-12)


@pytest.mark.parametrize(("a", "b", "ratio", "overcast", "bright"), TABLE)
def test_every_ratio_of_the_table_comes_out_as_printed(a, b, ratio, overcast, bright):
    assert contrast(a, b) == contrast(b, a) == as_printed(ratio)
    if overcast is not None:
        assert contrast_in_sun(a, b, 10_000) == as_printed(overcast)
        assert contrast_in_sun(b, a, 30_000) == as_printed(bright)


def test_direct_sun_leaves_little_even_of_black_on_white():
    assert contrast_in_sun(BLACK, WHITE, 100_000) == as_printed("1.3")
    assert contrast_in_sun(BLACK, WHITE, 100_000, white_cd_m2=1000) == as_printed("1.6")


def test_luminance_runs_from_black_to_white_and_weighs_green_most():
    assert luminance(BLACK) == 0
    assert luminance(WHITE) == pytest.approx(1)
    assert luminance("#0000FF") < luminance("#FF0000") < luminance("#00FF00")
    # sRGB's straight foot: 10 of 255 is below 0.04045.
    assert luminance("#0A0A0A") == pytest.approx(10 / 255 / 12.92)


def text_pairs(palette: Palette):
    """Every ground and what may be read on it, by the names of the palette's fields."""
    names = {field.name for field in dataclasses.fields(palette)}
    yield from ((palette.paper, getattr(palette, name)) for name in ("ink", "soft", "trouble"))
    for name in sorted(names):
        if f"{name}_ink" in names:
            yield getattr(palette, name), getattr(palette, f"{name}_ink")
    yield from ((look.fill, look.ink) for look in palette.fills.values())


@LIGHTS
def test_all_text_reads_at_nine_to_one_but_for_white_on_red(palette):
    pairs = list(text_pairs(palette))

    assert len(pairs) == 3 + 4 + len(get_args(Band))
    for ground, ink in pairs:
        least = 7 if (ground, ink) in LESS_THAN_NINE else 9
        assert contrast(ground, ink) >= least, (ground, ink)


@LIGHTS
def test_my_disc_is_ringed_so_that_it_stands_out_from_any_ground(palette):
    for look in palette.fills.values():
        rings = (palette.me, palette.me_ring, palette.me_edge)
        assert max(contrast(look.fill, colour) for colour in rings) >= 7
    assert contrast(palette.me, palette.me_ring) >= 7
    assert contrast(palette.me_ring, palette.me_edge) >= 7


@LIGHTS
def test_states_that_share_a_fill_differ_in_pattern(palette):
    states = ("closed", "resting", "unsurveyed", "taken", "ready")
    for one, other in combinations(states, 2):
        a, b = palette.fills[one], palette.fills[other]
        assert a.pattern != b.pattern
    assert [state for state in states if palette.fills[state].pattern == "none"] == ["ready"]


def test_only_ready_ground_is_a_solid_field_by_dusk():
    solid = [band for band, look in DUSK.fills.items() if look.fill != DUSK.paper]

    assert solid == ["ready"]


def test_a_colour_is_given_to_the_canvas_in_shares():
    assert rgba("#FF8000") == (1.0, pytest.approx(0.50196, abs=1e-5), 0.0, 1.0)
    assert rgba("#000000", 0.25) == (0, 0, 0, 0.25)
