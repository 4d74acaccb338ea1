"""The walk of one cell: what each step does to crop and mark, by the formulas in plain figures."""

import math
from datetime import date

import pytest

from sync.crop.walk import grow

SURVEYED = date(2024, 1, 10)
PICKED = date(2024, 2, 9)


@pytest.fixture
def book(made):
    book = made.Book()
    book.quadrat(SURVEYED, "B02", 60, (90, 110))
    book.quadrat(SURVEYED, "A01", 60, (90, 110))
    return book


def walked(made, book, on, name="B02"):
    found = made.register(book, on)
    return found.crop.cells[name].walked, found.crop.ground.cells[name].open_m2


def test_a_rested_cell_is_at_its_mark_with_the_error_of_its_survey(made, book):
    now, area = walked(made, book, SURVEYED)
    kg = area * 12 * 60 / 1000
    # Two cells of one quadrat each, alike: together they are not believed to differ less than is
    # assumed, and half of that is within cells, half between.
    s_w2 = s_v2 = 36.0**2
    gamma, w = s_v2 / (s_v2 + s_w2), 1 / (s_v2 + s_w2)
    g3 = s_w2**2 * w**3 * 2 / (2 * w**2) * (1 / 5) ** 2  # REML of two cells weighs 1/5
    m = s_v2 * (1 - gamma) + 2 * g3 + (1 / (2 * w)) * (1 - gamma) ** 2
    rho = 0.6**2 + 0.2**2
    # The one reader, whom nobody checked: ± 12 %.
    cv2 = m / 3600 + rho + m / 3600 * rho + 0.045 + 0.0144
    assert now.stand.crop_kg == now.stand.mark_kg == pytest.approx(kg)
    assert now.stand.crop_var == now.stand.cov == pytest.approx(cv2 * kg**2)
    assert now.share == pytest.approx(0.6)
    assert now.pickable_kg == pytest.approx(0.6 * kg)
    assert not now.forecast


def test_before_its_first_survey_a_cell_has_the_mark_of_its_class_and_no_growth(made, book):
    late, area = walked(made, book, date(2030, 1, 1), "C03")
    assert late.stand.crop_kg == late.stand.mark_kg == pytest.approx(area * 12 * 60 / 1000)
    assert late.surveys == ()
    assert not late.forecast


def test_a_known_pick_of_a_cell_nobody_measured_comes_off_its_class_mark(made, book):
    book.bags(PICKED, "C03", 200)
    now, area = walked(made, book, PICKED, "C03")
    assert now.stand.mark_kg == pytest.approx(area * 12 * 60 / 1000)
    assert now.stand.crop_kg == pytest.approx(now.stand.mark_kg - 1400)


def test_a_pick_is_taken_on_its_mean_day_and_the_rest_grows_on(made, book):
    book.bags(PICKED, "B02", 100)
    book.bags(date(2024, 2, 19), "B02", 300)
    now, area = walked(made, book, date(2025, 2, 16))
    mark = area * 12 * 60 / 1000
    # Three quarters of the kg ten days on: 16.5 February; 365.5 - 1 days of growth at 0.4.
    years = (date(2025, 2, 16) - date(2024, 2, 9)).days - 7.5
    b = 0.8 * (mark - 2800) / mark
    odds = b / (1 - b) * math.exp(0.4 * years / 365.25)
    assert now.stand.crop_kg == pytest.approx(mark / 0.8 * odds / (1 + odds))
    assert now.forecast


def test_growth_stops_at_the_mark(made, book):
    book.bags(PICKED, "B02", 100)
    now, _ = walked(made, book, date(2034, 1, 1))
    assert now.stand.crop_kg == now.stand.mark_kg


def test_taking_more_than_stood_leaves_the_floor_and_is_told(made, book):
    now, _ = walked(made, book, SURVEYED)
    book.bags(PICKED, "B02", 7 + now.stand.crop_kg // 7)
    after, _ = walked(made, book, PICKED)
    assert after.stand.crop_kg == pytest.approx(0.02 * after.stand.mark_kg)
    assert after.more_than_stood == (PICKED,)
    assert after.pickable_kg == 0.0


def test_a_survey_at_rest_forgets_what_was_taken_before_it_and_one_in_the_rest_does_not(
    made, book
):
    book.bags(PICKED, "B02", 200)
    book.finished(PICKED, "B02")
    book.quadrat(date(2026, 1, 1), "B02", 40, (80,))
    assert [k.kg for k in walked(made, book, date(2026, 1, 1))[0].since_survey] == [1400.0]
    book.quadrat(date(2029, 3, 1), "B02", 60, (100,))
    assert walked(made, book, date(2029, 3, 1))[0].since_survey == ()


def test_the_kg_of_a_surveys_day_come_after_the_survey(made, book):
    book.bags(PICKED, "B02", 200)
    book.quadrat(PICKED, "B02", 60, (90, 110))
    now, _ = walked(made, book, PICKED)
    assert [step.what for step in now.steps] == ["survey", "pick"]
    assert now.stand.crop_kg == pytest.approx(now.stand.mark_kg - 1400)
    assert now.measured is None


def test_a_pick_is_cut_at_a_survey_that_falls_into_it(made, book):
    book.bags(PICKED, "B02", 100)
    book.quadrat(date(2024, 2, 12), "B02", 60, (90, 110))
    book.bags(date(2024, 2, 15), "B02", 50)
    now, _ = walked(made, book, date(2024, 2, 15))
    assert [(s.what, s.kg) for s in now.steps[1:]] == [
        ("pick", 700.0), ("survey while resting", None), ("pick", 350.0)]
    assert now.taken[PICKED].kg == pytest.approx(1050.0)
    kappa_var, bag_var = (0.35 * 7) ** 2, (0.5 * 7) ** 2
    assert now.taken[PICKED].variance == pytest.approx(150**2 * kappa_var + 150 * bag_var)


def test_a_survey_in_the_rest_is_weighed_against_the_forecast_and_makes_no_mark(made, book):
    book.bags(PICKED, "B02", 300)
    book.finished(PICKED, "B02")
    on = date(2026, 1, 1)
    picked, area = walked(made, book, PICKED)
    book.quadrat(on, "B02", 10, (60,))
    growth = made.register(book, on).crop.cells["B02"].growth
    after, _ = walked(made, book, on)
    forecast = grow(picked.stand, (on - PICKED).days / 365.25, growth)
    assert growth.rate < 0.4  # so little came back that the block's own rate is doubted
    assert after.stand.mark_kg == picked.stand.mark_kg
    measured = area * 12 * 6 / 1000
    psi = (area * 12 / 1000) ** 2 * 36.0**2
    w = forecast.crop_var / (forecast.crop_var + psi)
    assert after.stand.crop_kg == pytest.approx(
        (1 - w) * forecast.crop_kg + w * measured)
    # Nothing of 60 mm under 10 % cover counts more than its own third above the living layer.
    assert after.measured.share == pytest.approx(20 / 60)
    assert after.pickable_kg == pytest.approx(after.stand.crop_kg * min(after.share, 20 / 60))


def test_a_poor_cell_has_half_the_mark_of_its_class_at_least(made):
    book = made.Book()
    for _ in range(4):
        book.quadrat(SURVEYED, "B02", 10, (50,))
    for cell in ("A01", "A02", "C01", "C02"):
        for _ in range(4):
            book.quadrat(SURVEYED, cell, 90, (100, 120))
    found = made.register(book, SURVEYED).crop
    mine, mean = found.cells["B02"].walked, found.classes["all"].prediction
    area = found.ground.cells["B02"].open_m2
    class_mark = area * 12 * mean.mean_l_m2 / 1000
    assert mine.stand.mark_kg == pytest.approx(0.5 * class_mark)
    assert mine.stand.crop_kg < mine.stand.mark_kg
    rho = 0.6**2 + 0.2**2
    of_index = (mean.between_variance + mean.mean_variance) / mean.mean_l_m2**2
    cv2 = of_index + rho + of_index * rho + 0.045 + 0.0144
    assert mine.stand.mark_var == pytest.approx(cv2 * class_mark**2 / 4)
    assert mine.stand.cov == pytest.approx(
        mine.stand.crop_kg * mine.stand.mark_kg * (rho + 0.045 + 0.0144))


def test_stray_bags_come_off_the_crop_but_make_no_forecast(made, book):
    book.note("bag", PICKED, bags=0.5, where=made.where(100, 150, 5.0))
    for name in ("A02", "B02"):
        found = made.register(book, PICKED).crop.cells[name]
        assert found.picks == ()
        assert found.takings.stray[PICKED].kg == pytest.approx(1.75, rel=1e-6)
        assert not found.walked.forecast
        assert found.walked.stand.crop_kg == pytest.approx(found.walked.stand.mark_kg - 1.75)
