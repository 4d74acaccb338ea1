"""From records to a block's crop: densities, classes and totals in plain figures."""

import math
from datetime import date

import pytest

from sync.block import Feature

DAY = date(2024, 1, 10)
ON = date(2024, 3, 1)
PLUG = {"cut": "plug", "area_m2": 0.0625, "from_mm": 0, "to_mm": 100, "dried": "shed"}


def two_classes(made):
    """Column A is mound, the rest lawn."""
    return made.mire(classes=(
        Feature(made.polygon(0, 0, 100, 300), {"ground_class": "mound"}),
        Feature(made.polygon(100, 0, 300, 300), {"ground_class": "lawn"}),
    ))


@pytest.fixture
def book(made):
    book = made.Book()
    for cell in ("B02", "C03"):
        book.quadrat(DAY, cell, 60, (90, 110))
    return book


def test_clips_move_the_density_as_the_prior_lets_them(made, book):
    for i, grams in enumerate((75.0, 100.0)):
        book.note("clip", DAY, clip=f"X-{i}", dry_g=grams, where=made.where(150, 150), **PLUG)
    found = made.register(book, ON).crop
    # y = 1200, 1600 g/m² over z = 100 each: ρ_raw = 14; σ² = (4·3.6²·100 + 2·(2·100)²/100)/5.
    sigma2 = (4 * 3.6**2 * 100 + 2 * 200**2 / 100) / 5
    prior = 1 / ((0.6 * 12) ** 2 + (0.2 * 12) ** 2)
    own = 200 / sigma2
    rho = (12 * prior + 14 * own) / (prior + own)
    assert found.densities.mean_kg_m3[0] == pytest.approx(rho)
    assert found.densities.covariance[0, 0] == pytest.approx(1 / (prior + own))
    area = found.ground.cells["B02"].open_m2
    assert found.cells["B02"].walked.stand.crop_kg == pytest.approx(area * rho * 60 / 1000)


def test_a_clip_of_after_the_day_is_not_known_though_it_was_weighed(made, book):
    book.note("clip", date(2024, 3, 2), clip="X-1", dry_g=300.0, where=made.where(150, 150),
              **PLUG)
    assert made.register(book, ON).crop.clips == ()
    assert len(made.register(book, date(2024, 3, 2)).crop.clips) == 1


def test_what_is_weighed_later_of_a_clip_cut_before_is_known(made, book):
    said = {k: v for k, v in PLUG.items() if k != "dried"}
    book.note("clip", DAY, clip="X-1", where=made.where(150, 150), **said)
    assert made.register(book, ON).waiting["X-1"] == "dry_g, dried not written yet"
    book.note("clip", date(2024, 4, 1), clip="X-1", dry_g=75.0, dried="shed")
    found = made.register(book, ON)
    assert found.waiting == {}
    assert len(found.crop.clips) == 1


def test_a_label_with_two_values_waits_until_one_is_voided(made, book):
    book.note("clip", DAY, clip="X-1", dry_g=75.0, where=made.where(150, 150), **PLUG)
    other = book.note("clip", DAY, clip="X-1", dry_g=76.0)
    found = made.register(book, ON)
    assert found.crop.clips == ()
    assert "dry_g" in found.waiting["X-1"]
    book.note("void", ON, of=other)
    assert len(made.register(book, ON).crop.clips) == 1


def test_2026_11_25_a_quadrat_read_again_loses_no_clip(made):
    p1 = made.Book("p1-aaaa")
    said = {"plot": "B02-1", "side_m": 0.5}
    p1.quadrat(DAY, "B02", 60, (100, 100), clip="X-1", **said)
    p1.note("clip", DAY, clip="X-1", cut="frame", area_m2=0.25, dry_g=180.0, dried="shed")
    before = made.register(p1, ON).crop
    p1.quadrat(date(2024, 2, 20), "B02", 10, (50, 50), **{**said, "when": "before_pick"})
    found = made.register(p1, ON)
    assert found.waiting == {}
    assert found.crop.densities.mean_kg_m3[0] == pytest.approx(before.densities.mean_kg_m3[0])
    (clip,) = found.crop.clips
    # Weighed against the cover and the probes of the quadrat it was cut from.
    assert clip.clip.volume_l_m2 == pytest.approx(60.0)


def test_2026_11_25_a_clip_cut_from_a_second_reading_is_of_that_reading(made):
    p1 = made.Book("p1-aaaa")
    said = {"plot": "B02-1", "side_m": 0.5}
    p1.quadrat(DAY, "B02", 60, (100, 100), **said)
    p1.note("quadrat", DAY, "RK", when="survey", again=True, cover_pct=50, depth_mm=[80, 80],
            clip="X-1", **said)
    p1.note("clip", DAY, clip="X-1", cut="frame", area_m2=0.25, dry_g=100.0, dried="shed")
    crop = made.register(p1, ON).crop
    (clip,) = crop.clips
    factor = crop.observers.factor_of("RK")
    assert (clip.cell, clip.clip.volume_l_m2) == ("B02", pytest.approx(40.0 * factor))
    assert factor > 1.0  # who reads less than the other is taken to read low


def test_a_class_without_a_drawn_quadrat_has_no_figure_and_is_counted_as_ground(made, book):
    book.quadrat(DAY, "A01", 90, (200,), drawn=False)
    found = made.register(book, ON, two_classes(made))
    ground = found.crop.ground.cells
    assert found.crop.classes["mound"].prediction is None
    assert [found.crop.cells[name].walked for name in ("A01", "A02", "A03")] == [None] * 3
    assert found.total.not_estimated_m2 == pytest.approx(
        sum(ground[name].open_m2 for name in ("A01", "A02", "A03")))
    lawn = [one.open_m2 for name, one in ground.items() if name[0] != "A"]
    assert found.total.kg == pytest.approx(sum(lawn) * 12 * 60 / 1000)
    assert found.total.surveyed_m2 == pytest.approx(
        ground["B02"].open_m2 + ground["C03"].open_m2)


def test_quadrats_of_one_class_lend_nothing_to_another(made, book):
    before = made.register(book, ON, two_classes(made)).crop.cells["B02"].walked.stand
    book.quadrat(DAY, "A01", 5, (30,))
    found = made.register(book, ON, two_classes(made)).crop
    assert found.cells["B02"].walked.stand == before
    # One surveyed cell: σ_v² = (0.6x̄)², s_w² = (0.6x̄)², so V_μ is their sum; 4 df.
    mound = found.classes["mound"].prediction
    assert mound.mean_l_m2 == pytest.approx(1.5)
    assert mound.mean_variance == pytest.approx(2 * (0.6 * 1.5) ** 2)
    assert mound.df == 4


def test_clips_of_one_class_lend_to_another_what_the_block_shares(made, book):
    book.note("clip", DAY, clip="X-1", dry_g=100.0, where=made.where(150, 150), **PLUG)
    found = made.register(book, ON, two_classes(made)).crop.densities
    lawn, mound = (found.classes.index(name) for name in ("lawn", "mound"))
    # One clip of lawn: y = 1600, z = 100, σ² = (0.3·12)²·100.
    shared, own = (0.6 * 12) ** 2, (0.2 * 12) ** 2
    spread = shared + own + 3.6**2 * 100 / 100
    assert found.mean_kg_m3[lawn] == pytest.approx(12 + (shared + own) / spread * 4)
    assert found.mean_kg_m3[mound] == pytest.approx(12 + shared / spread * 4)
    assert found.covariance[mound, mound] == pytest.approx(shared + own - shared**2 / spread)
    assert found.clips == (1, 0)


def test_by_eye_quadrats_never_enter_the_mean_of_the_class(made, book):
    before = made.register(book, ON).crop.classes["all"].prediction
    book.quadrat(DAY, "A01", 100, (300,), drawn=False)
    book.quadrat(DAY, "B02", 100, (300,), drawn=False)
    found = made.register(book, ON).crop
    after = found.classes["all"].prediction
    assert (after.mean_l_m2, after.within_variance, after.between_variance) == (
        before.mean_l_m2, before.within_variance, before.between_variance)
    assert found.cells["A01"].walked.stand.crop_kg > found.cells["A02"].walked.stand.crop_kg
    drawn = [r.reading.drawn for r in found.cells["B02"].readings]
    assert sorted(drawn) == [False, True]


def test_the_total_is_never_the_sum_of_the_cells_variances(made, book):
    found = made.register(book, ON)
    stands = [one.walked.stand for one in found.crop.cells.values()]
    assert found.total.kg == pytest.approx(math.fsum(s.crop_kg for s in stands))
    known = found.crop.classes["all"].prediction
    areas = {name: one.open_m2 / 1000 for name, one in found.crop.ground.cells.items()}
    index = zip(known.cells, known.index_l_m2, strict=True)
    volumes = {name: areas[name] * x for name, x in index}
    a_m_a = sum(areas[p] * areas[q] * known.error[i, j]
                for i, p in enumerate(known.cells) for j, q in enumerate(known.cells))
    c_rho = (0.6 * 12) ** 2 + (0.2 * 12) ** 2
    expected = (sum(volumes.values()) ** 2 * c_rho + (144 + c_rho) * a_m_a
                + 0.045 * sum((12 * v) ** 2 for v in volumes.values())
                + 0.0144 * (12 * sum(volumes.values())) ** 2)
    assert found.total.variance == pytest.approx(expected, rel=1e-9)
    assert found.total.variance > 1.5 * sum(s.crop_var for s in stands)


def test_kg_picked_since_the_survey_add_their_own_error_to_the_total(made, book):
    before = made.register(book, ON).total
    book.bags(ON, "B02", 100)
    after = made.register(book, ON).total
    picked = 100**2 * (0.35 * 7) ** 2 + 100 * (0.5 * 7) ** 2
    assert after.kg == pytest.approx(before.kg - 700)
    assert after.variance == pytest.approx(
        before.variance * (after.kg / before.kg) ** 2 + picked)


def test_2026_11_25_bags_put_on_a_pile_after_the_day_move_no_figure_of_the_day(made, book):
    book.bags(date(2024, 2, 1), "B02", 10, pile="P1-001")
    lots = {"batch": "D-1", "stage": "dried", "bags": 10, "dry_kg": 90.0, "from": ["P1-001"]}
    book.note("batch", date(2024, 2, 20), "O", **lots)
    other = {"batch": "D-2", "stage": "dried", "bags": 20, "dry_kg": 100.0, "from": ["P1-002"]}
    book.bags(date(2024, 2, 2), "C03", 20, pile="P1-002")
    book.note("batch", date(2024, 2, 20), "O", **other)
    before = made.register(book, ON).crop.cells["B02"].picks
    assert before[0].made.whole.kg == pytest.approx(90.0)
    book.bags(date(2024, 3, 2), "B02", 10, pile="P1-001")
    assert made.register(book, ON).crop.cells["B02"].picks == before
