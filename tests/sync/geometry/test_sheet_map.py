import json

import numpy as np
import pytest

from fieldapp.ground.sheet import GroundMap
from sync.block import Grid
from sync.geometry.crs import projection
from sync.geometry.sheet_map import apply, fit_map

PLACES = [(2193, -42.86, 169.69), (2193, -46.5, 168.3), (32633, 45.77, 14.35), (32632, 60.0, 5.0),
          (32719, -53.0, -70.5), (32738, -1.0, 45.0), (28992, 52.8, 6.9), (32601, 52.0, -179.99)]


def four_km(target, lat, lon):
    e, n = target.to_m(lat, lon)
    grid = Grid(round(e, -2) - 2500.0, round(n, -2) - 2400.0, 100.0)
    return grid, (e - 2000.0, n - 2000.0, e + 2000.0, n + 2000.0)


@pytest.mark.parametrize(("epsg", "lat", "lon"), PLACES)
def test_the_map_is_under_half_a_millimetre_off_over_four_kilometres(epsg, lat, lon):
    target = projection(epsg)
    grid, bounds = four_km(target, lat, lon)
    sheet = fit_map(target, grid, bounds)
    rng = np.random.default_rng(7)
    e, n = rng.uniform(bounds[0], bounds[2], 500), rng.uniform(bounds[1], bounds[3], 500)
    at_lat, at_lon = target.to_deg(e, n)
    u, v = at_lat - sheet.at[0], (at_lon - sheet.at[1] + 180.0) % 360.0 - 180.0
    x, y = apply(sheet.to_m[0], u, v), apply(sheet.to_m[1], u, v)
    back_u, back_v = apply(sheet.to_deg[0], x, y), apply(sheet.to_deg[1], x, y)

    assert sheet.worst_m < 0.0005
    off_m = np.hypot(x - (e - grid.origin_e), y - (n - grid.origin_n))
    assert off_m.max() <= sheet.worst_m * 1.02
    assert np.hypot((back_u - u) * 111e3, (back_v - v) * 111e3 * np.cos(np.radians(lat))).max() < (
        0.001)


def test_its_numbers_survive_being_written_as_json():
    target = projection(2193)
    sheet = fit_map(target, *four_km(target, -42.86, 169.69))
    numbers = [list(sheet.at), *map(list, sheet.to_m), *map(list, sheet.to_deg)]

    assert [len(six) for six in numbers] == [2, 6, 6, 6, 6]
    assert json.loads(json.dumps(numbers)) == numbers


def test_it_says_how_far_off_it_is_over_ground_too_wide_for_it():
    target = projection(2193)
    e, n = target.to_m(-42.86, 169.69)
    sheet = fit_map(target, Grid(e, n, 100.0), (e - 2e4, n - 2e4, e + 2e4, n + 2e4))

    assert 0.05 < sheet.worst_m < 1.0


def test_a_straight_map_would_not_do():
    target = projection(2193)
    grid, bounds = four_km(target, -42.86, 169.69)
    sheet = fit_map(target, grid, bounds)
    lat, lon = target.to_deg(bounds[0], bounds[1])
    u, v = np.array([lat - sheet.at[0]]), np.array([lon - sheet.at[1]])
    straight = (*sheet.to_m[0][:3], 0.0, 0.0, 0.0)

    assert abs(apply(straight, u, v)[0] - (bounds[0] - grid.origin_e)) > 0.1


def test_a_block_of_a_single_point_still_has_a_map():
    target = projection(2193)
    e, n = target.to_m(-42.86, 169.69)
    sheet = fit_map(target, Grid(e, n, 100.0), (e, n, e, n))

    assert sheet.worst_m < 1e-6


def test_the_phone_finds_the_same_place_by_these_numbers():
    target = projection(2193)
    grid, bounds = four_km(target, -42.86, 169.69)
    sheet = fit_map(target, grid, bounds)
    phone = GroundMap(sheet.at, sheet.to_m, sheet.to_deg)
    e, n = bounds[0] + 321.0, bounds[3] - 12.5
    lat, lon = target.to_deg(e, n)

    assert phone.to_m(lat, lon) == pytest.approx(
        (e - grid.origin_e, n - grid.origin_n), abs=0.0005)
    assert phone.to_deg(e - grid.origin_e, n - grid.origin_n) == pytest.approx(
        (lat, lon), abs=1e-8)
