"""How figures are written: units always there, marks those of the language."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldapp.words import Words

BLOCK = ZoneInfo("Pacific/Auckland")
EN, ES = Words("en", BLOCK), Words("es", BLOCK)


@pytest.mark.parametrize(("value", "digits", "english", "spanish"), [
    (20.5, 1, "20.5", "20,5"), (12345.6, 1, "12345.6", "12345,6"), (-300, 0, "−300", "−300"),
    (-0.4, 0, "0", "0"), (-0.04, 1, "0.0", "0,0"), (7, 0, "7", "7"), (-10, 0, "−10", "−10")])
def test_numbers(value, digits, english, spanish):
    assert (EN.number(value, digits), ES.number(value, digits)) == (english, spanish)


@pytest.mark.parametrize(("distance_m", "english", "spanish"), [
    (0.3, "0 m", "0 m"), (4, "4 m", "4 m"), (620.4, "620 m", "620 m"), (999.4, "999 m", "999 m"),
    (999.6, "1.0 km", "1,0 km"), (1000, "1.0 km", "1,0 km"), (1240, "1.2 km", "1,2 km"),
    (31870, "31.9 km", "31,9 km")])
def test_distances(distance_m, english, spanish):
    assert (EN.metres(distance_m), ES.metres(distance_m)) == (english, spanish)


def test_days_have_their_months_in_the_language():
    assert (EN.day(date(2028, 3, 14)), ES.day(date(2028, 3, 14))) == ("14 Mar 2028", "14 mar 2028")
    assert (EN.short_day(date(2026, 1, 5)), ES.short_day(date(2026, 1, 5))) == ("5 Jan", "5 ene")


def test_each_month_has_a_name_of_its_own():
    for words in (EN, ES):
        assert len({words.short_day(date(2026, month, 1)) for month in range(1, 13)}) == 12


def test_an_instant_is_told_by_the_clock_and_day_of_the_block():
    evening = datetime(2026, 11, 24, 18, 40, tzinfo=UTC)
    assert EN.clock(evening) == "07:40"
    assert EN.short_day(evening) == "25 Nov"
    assert EN.day(evening) == "25 Nov 2026"


@pytest.mark.parametrize(("seconds", "told"), [
    (0, "0 s"), (12.9, "12 s"), (59.9, "59 s"), (60, "1 min"), (130, "2 min"), (3600, "1 h"),
    (11520, "3 h 12 min"), (-11520, "3 h 12 min"), (22200, "6 h 10 min"),
    (47 * 3600, "47 h"), (48 * 3600, "2 days"), (100 * 3600, "4 days")])
def test_spans(seconds, told):
    assert EN.span(seconds) == told


def test_long_spans_are_told_in_days_of_the_language():
    assert ES.span(4.5 * 86400) == "4 días"


def test_winds_of_the_compass():
    winds = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
    assert [EN.wind(one) for one in winds] == list(winds)
    assert [ES.wind(one) for one in winds] == ["N", "NE", "E", "SE", "S", "SO", "O", "NO"]


@pytest.mark.parametrize(("bearing_deg", "told"), [
    (0, "0°"), (46.8, "47°"), (359.4, "359°"), (359.6, "0°"), (-1, "359°")])
def test_bearings(bearing_deg, told):
    assert EN.degrees(bearing_deg) == told


def test_places_are_written_to_be_read_out():
    assert EN.position(-46.12345, 168.543211) == ("S 46.12345", "E 168.54321")
    assert ES.position(-41.5, -73.000004) == ("S 41,50000", "O 73,00000")
    assert ES.position(41.5, 73.1) == ("N 41,50000", "E 73,10000")


def test_masses_and_shares_have_their_units():
    assert (EN.kg(61.5, 1), ES.kg(61.5, 1), EN.kg(290)) == ("61.5 kg", "61,5 kg", "290 kg")
    assert (EN.pct(60), ES.pct(60)) == ("60 %", "60 %")


@given(st.integers(0, 2000))
def test_a_number_of_bags_can_be_read_back(halves):
    told = EN.bags(halves / 2)
    assert float(told.replace("½", "") or 0) + (0.5 if "½" in told else 0.0) == halves / 2


@given(st.floats(-1e9, 1e9), st.integers(0, 5))
def test_a_number_can_be_read_back_to_half_its_last_digit(value, digits):
    for words in (EN, ES):
        told = words.number(value, digits).replace("−", "-").replace(",", ".")
        assert float(told) == pytest.approx(value, abs=0.5 * 10 ** -digits, rel=1e-12)


@given(st.floats(0, 48 * 3600 - 1))
def test_a_span_is_told_short_by_less_than_its_least_unit(seconds):
    units = {"s": 1, "min": 60, "h": 3600}
    parts = EN.span(seconds).split()
    told = sum(int(number) * units[unit] for number, unit in zip(parts[::2], parts[1::2],
                                                                 strict=True))
    assert 0 <= seconds - told < (1 if seconds < 60 else 60)
