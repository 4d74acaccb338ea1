import numpy as np
import pyproj
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.errors import GeometryError
from sync.geometry.crs import projection, refuse_elsewhere, utm_epsg


def half_digit(printed):
    decimals = len(printed.partition(".")[2])
    return 0.5 * 10.0**-decimals


def test_published_points_are_projected_where_their_authorities_print_them(published):
    for case in published["projected"]:
        target = projection(case["epsg"])
        if "datum" in case:  # printed on the system's own datum
            own = pyproj.Transformer.from_crs(case["datum"], case["epsg"], always_xy=True)
            e, n = own.transform(case["lon"], case["lat"])
            lat, lon = target.own_deg(e, n)
        else:
            e, n = target.to_m(case["lat"], case["lon"])
            lat, lon = target.to_deg(e, n)

        assert e == pytest.approx(float(case["e"]), abs=case["tolerance_m"])
        assert n == pytest.approx(float(case["n"]), abs=case["tolerance_m"])
        assert (lat, lon) == pytest.approx((case["lat"], case["lon"]), abs=5e-10)


def test_the_utm_zone_of_a_place_follows_the_band_rule_and_its_exceptions(published):
    for case in published["utm"]:
        epsg = utm_epsg(case["lat"], case["lon"])

        assert epsg == case["epsg"], case["source"]
        e, n = projection(epsg).to_m(case["lat"], case["lon"])
        assert e == pytest.approx(float(case["e"]), abs=half_digit(case["e"]) + 1e-6)
        assert n == pytest.approx(float(case["n"]), abs=half_digit(case["n"]) + 1e-6)


@pytest.mark.parametrize(("lat", "lon", "zone"), [
    (75.0, 8.9, 31), (75.0, 9.0, 33), (75.0, 20.9, 33), (75.0, 21.0, 35), (75.0, 33.0, 37),
    (75.0, 42.0, 38), (75.0, -0.1, 30), (63.9, 3.0, 32), (64.0, 3.0, 31), (56.0, 2.9, 31),
    (10.0, 180.0, 1), (10.0, -180.0, 1),
])
def test_borders_of_the_odd_zones_lie_where_the_rule_puts_them(lat, lon, zone):
    assert utm_epsg(lat, lon) == 32600 + zone


@given(st.floats(-80, 84), st.floats(-180, 180, exclude_max=True))
def test_every_utm_zone_is_known_and_near_its_place(lat, lon):
    zone = utm_epsg(lat, lon) % 100
    off = (lon - (6 * zone - 183) + 180) % 360 - 180

    assert 1 <= zone <= 60
    assert abs(off) <= 9.0


@pytest.mark.parametrize(("lat", "lon"), [(85.0, 0.0), (-81.0, 0.0), (float("nan"), 0.0)])
def test_a_place_beyond_utm_is_refused_with_its_value(lat, lon):
    with pytest.raises(GeometryError, match=f"lat={lat!r}"):
        utm_epsg(lat, lon)


@pytest.mark.parametrize(("epsg", "why"), [
    (4326, "degrees"), (4167, "degrees"), (3857, "web-mercator"), (3785, "web-mercator"),
    (900913, "web-mercator"), (102100, "web-mercator"), (2263, "US survey foot"),
    (999999, "no such code"), (4978, "no flat map"), (7415, "no flat map"),
    (2053, "axes"), (3031, "axes"),
])
def test_a_system_that_cannot_carry_areas_is_refused_with_what_to_take_instead(epsg, why):
    with pytest.raises(GeometryError, match=rf"epsg={epsg}: .*{why}.*take the UTM zone"):
        projection(epsg)


@pytest.mark.parametrize(("epsg", "lat", "lon", "why"), [
    (32633, -42.9, 169.7, "is not in"), (3395, -42.9, 169.7, "1.363 m of ground"),
    (2193, 51.5, 0.0, "is not in"), (27700, -42.9, 169.7, "is not in"),
    (32631, 60.0, 9.1, "is not in")])
def test_another_places_system_is_refused(epsg, lat, lon, why):
    # New Zealand and Britain lie so far round that each grid's scale looks right in the other
    with pytest.raises(GeometryError, match=why):
        refuse_elsewhere(projection(epsg), lat, lon)


def test_the_systems_of_the_place_itself_are_taken():
    refuse_elsewhere(projection(2193), -42.86, 169.69)
    refuse_elsewhere(projection(32759), -42.86, 169.69)
    refuse_elsewhere(projection(3994), -41.0, 172.0)


@given(st.floats(-47, -34.5), st.floats(166.5, 178.5))
def test_to_metres_and_back_is_the_same_place(lat, lon):
    nztm = projection(2193)
    e, n = nztm.to_m(lat, lon)

    assert nztm.to_deg(e, n) == pytest.approx((lat, lon), abs=1e-9)


def test_arrays_are_transformed_as_single_places_are(nztm):
    lat, lon = np.array([-42.86, -42.87]), np.array([169.69, 169.70])
    e, n = nztm.to_m(lat, lon)

    assert [(e[i], n[i]) for i in (0, 1)] == [
        nztm.to_m(float(lat[i]), float(lon[i])) for i in (0, 1)]
    assert nztm.to_m(np.array([]), np.array([]))[0].size == 0
