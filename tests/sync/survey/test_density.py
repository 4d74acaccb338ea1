import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.errors import SurveyError
from sync.settings import Tunables
from sync.survey.clips import Clip
from sync.survey.density import density_of_classes, density_prior, of_class

PRIOR = density_prior(Tunables())
CLIPS = st.lists(
    st.builds(Clip, st.sampled_from(["a", "b", "c"]), st.floats(50.0, 5000.0),
              st.floats(20.0, 200.0), st.sampled_from([None, "c1", "c2", "c3", "c4", "c5"])),
    max_size=20)


def clips_of(published, *, a=0, b=0):
    given = published["density"]
    of_a = zip(given["a_y"][:a], given["a_z"], strict=False)
    of_b = zip(given["b_y"][:b], given["b_z"], strict=False)
    return [Clip("A", y, z) for y, z in of_a] + [Clip("B", y, z) for y, z in of_b]


@pytest.mark.parametrize(
    ("case", "a", "b", "classes"),
    [("none", 0, 0, ["A"]), ("first_two", 2, 0, ["A"]), ("five", 5, 0, ["A"]),
     ("five_and_none", 5, 0, ["A", "B"]), ("five_and_two", 5, 2, ["A", "B"])])
def test_density_agrees_with_the_reference_run(published, agrees, case, a, b, classes):
    printed = published["density"][case]
    got = density_of_classes(clips_of(published, a=a, b=b), classes, prior=PRIOR)

    assert agrees(got.sigma2_assumed, printed["assumed"])
    assert agrees(got.squares, printed["squares"])
    assert agrees(got.sigma2, printed["sigma2"])
    raw = [ratio for ratio in got.raw if ratio is not None]
    assert all(map(agrees, raw, printed.get("raw", [])))
    assert len(raw) == len(printed.get("raw", []))
    assert all(map(agrees, got.mean_kg_m3, printed["mean"]))
    assert all(map(agrees, np.sqrt(np.diag(got.covariance)), printed["sd"]))
    if "covariance" in printed:
        assert agrees(got.covariance[0, 1], printed["covariance"])
    assert got.clips == (a, b)[:len(classes)]


def test_without_a_clip_the_layer_is_taken_as_a_hundred():
    assert density_of_classes([], ["A"], prior=PRIOR).z_mean == 100.0
    assert density_of_classes([], ["A"], prior=PRIOR).raw == (None,)


def test_what_no_quadrat_removes_agrees_with_the_reference_run(published, agrees):
    got = density_of_classes(clips_of(published, a=5), ["A"], prior=PRIOR)
    one = of_class(got, "A")

    assert agrees(got.clip_cv2[0], published["crop"]["clip_cv2"])
    assert agrees(one.variance / one.mean_kg_m3**2, published["crop"]["density_cv2"])
    assert agrees(one.unaveraged, published["crop"]["unaveraged"])
    assert one.between_cv2 == pytest.approx(0.5 * got.clip_cv2[0])
    assert one.clips == 5


def test_repeated_clips_in_five_cells_change_what_lies_between_cells():
    rng = np.random.default_rng(3)
    clips = [
        Clip("A", 1200.0 * (1.0 + 0.3 * level + 0.01 * rng.standard_normal()), 100.0, f"c{level}")
        for level in range(6) for _ in range(2)]

    told_apart = density_of_classes(clips, ["A"], prior=PRIOR)
    unknown = density_of_classes(
        [dataclasses.replace(clip, cell=None) for clip in clips], ["A"], prior=PRIOR)

    assert unknown.between == 0.5
    assert told_apart.between == pytest.approx((4 * 0.5 + 5 * 1.0) / 9, abs=1e-3)
    assert np.array_equal(told_apart.mean_kg_m3, unknown.mean_kg_m3)


def test_a_clip_of_an_unknown_class_or_without_volume_is_refused():
    with pytest.raises(SurveyError, match="ground_class='C'"):
        density_of_classes([Clip("C", 1000.0, 100.0)], ["A", "B"], prior=PRIOR)
    with pytest.raises(SurveyError, match=r"volume_l_m2=0\.0"):
        density_of_classes([Clip("A", 1000.0, 0.0)], ["A"], prior=PRIOR)
    with pytest.raises(SurveyError, match="'C'"):
        of_class(density_of_classes([], ["A"], prior=PRIOR), "C")


def test_the_arrays_cannot_be_written_to():
    got = density_of_classes([], ["A"], prior=PRIOR)

    with pytest.raises(ValueError, match="read-only"):
        got.mean_kg_m3[0] = 1.0


# Seventy real cores


def core_clips(cores):
    """Each core as a plug of its upper 70 mm; g/L is kg/m³ and 70 mm is 70 L/m²."""
    return [Clip(core["Topo"], float(core["SubsDens"]) * 70.0, 70.0) for core in cores]


def densities(clips):
    return np.array([clip.mass_g_m2 / clip.volume_l_m2 for clip in clips])


def test_the_real_cores_have_their_published_spread(published, cores):
    printed = published["mite_cores"]
    values = densities(core_clips(cores))
    seen = {
        "mean": values.mean(), "sd": values.std(ddof=1), "cv": values.std(ddof=1) / values.mean(),
        "min": values.min(), "q1": np.quantile(values, 0.25), "median": np.median(values),
        "q3": np.quantile(values, 0.75), "max": values.max()}

    assert len(values) == printed["count"]
    assert {name: pytest.approx(float(printed[name]), rel=1e-7) for name in seen} == seen


def test_the_water_of_the_real_cores_has_its_published_spread(published, cores):
    printed = published["mite_cores"]["water"]
    water = np.array([float(core["WatrCont"]) for core in cores])
    seen = {
        "mean": water.mean(), "sd": water.std(ddof=1), "cv": water.std(ddof=1) / water.mean(),
        "min": water.min(), "q1": np.quantile(water, 0.25), "median": np.median(water),
        "q3": np.quantile(water, 0.75), "max": water.max(),
        "correlation": np.corrcoef(water, densities(core_clips(cores)))[0, 1]}

    assert {name: pytest.approx(float(printed[name]), rel=1e-7) for name in seen} == seen


@pytest.mark.parametrize("topo", ["Blanket", "Hummock"])
def test_the_real_cores_differ_by_what_they_grew_on(published, cores, topo):
    printed = published["mite_cores"][topo]
    values = densities([clip for clip in core_clips(cores) if clip.ground_class == topo])

    assert len(values) == printed["count"]
    assert values.mean() == pytest.approx(float(printed["mean"]), rel=1e-9)
    assert values.std(ddof=1) == pytest.approx(float(printed["sd"]), rel=1e-9)


def of_topo(cores, topo):
    return [clip for clip in core_clips(cores) if clip.ground_class == topo]


def plain_ratio(clips):
    return (np.sum([clip.mass_g_m2 for clip in clips])
            / np.sum([clip.volume_l_m2 for clip in clips]))


@pytest.mark.parametrize("topo", ["Blanket", "Hummock"])
def test_density_of_real_cores_lies_between_the_prior_and_their_plain_ratio(
        published, cores, topo):
    clips = of_topo(cores, topo)
    got = density_of_classes(clips, [topo], prior=PRIOR)

    assert got.raw[0] == pytest.approx(plain_ratio(clips), rel=1e-12)
    assert got.raw[0] == pytest.approx(float(published["mite_cores"][topo]["mean"]), rel=1e-9)
    assert PRIOR.level_kg_m3 < got.mean_kg_m3[0] < got.raw[0]
    assert got.clips == (published["mite_cores"][topo]["count"],)


@pytest.mark.parametrize("classes", [("Blanket", "Hummock"), ("Lawn", "Hummock", "Blanket")])
def test_two_kinds_of_real_ground_draw_each_other_closer(cores, classes):
    """The lighter class is drawn up by the heavier, even beyond its own ratio."""
    got = density_of_classes(core_clips(cores), classes, prior=PRIOR)
    blanket, hummock = of_class(got, "Blanket"), of_class(got, "Hummock")
    ratios = [plain_ratio(of_topo(cores, topo)) for topo in ("Blanket", "Hummock")]

    assert [got.raw[classes.index(topo)] for topo in ("Blanket", "Hummock")] == pytest.approx(
        ratios, rel=1e-12)
    assert PRIOR.level_kg_m3 < hummock.mean_kg_m3 < blanket.mean_kg_m3 < ratios[0]
    assert blanket.mean_kg_m3 - hummock.mean_kg_m3 < ratios[0] - ratios[1]
    if "Lawn" in classes:
        assert PRIOR.level_kg_m3 < of_class(got, "Lawn").mean_kg_m3 < blanket.mean_kg_m3


def test_cores_of_another_layer_outweigh_the_prior_and_leave_it_honest(cores):
    """All volumes are 70, so Σ(y − ρz)²/z is 70 times the squares about the class means."""
    clips = core_clips(cores)
    got = density_of_classes(clips, ["Blanket", "Hummock"], prior=PRIOR)
    squares = sum(
        70.0 * np.sum((of_one - of_one.mean()) ** 2)
        for of_one in (densities([c for c in clips if c.ground_class == topo])
                       for topo in ("Blanket", "Hummock")))

    assert got.squares == pytest.approx(squares)
    assert got.sigma2 == pytest.approx((4 * 0.3**2 * 144 * 70 + squares) / (4 + 70 - 2))
    assert math.sqrt(got.clip_cv2[0]) == pytest.approx(0.28, abs=0.01)
    assert all(np.sqrt(np.diag(got.covariance)) / got.mean_kg_m3 < 0.08)


# What always holds


def by_precisions(clips, classes, sigma2):
    """The same posterior by adding precisions, which the program does not do."""
    prior = (0.6 * 12.0) ** 2 + (0.2 * 12.0) ** 2 * np.eye(len(classes))
    volume = np.array([sum(c.volume_l_m2 for c in clips if c.ground_class == h) for h in classes])
    mass = np.array([sum(c.mass_g_m2 for c in clips if c.ground_class == h) for h in classes])
    covariance = np.linalg.inv(np.linalg.inv(prior) + np.diag(volume / sigma2))
    return covariance @ (np.linalg.solve(prior, np.full(len(classes), 12.0)) + mass / sigma2)


@given(CLIPS)
def test_adding_precisions_gives_the_same_density(clips):
    got = density_of_classes(clips, ["a", "b", "c"], prior=PRIOR)

    assert got.mean_kg_m3 == pytest.approx(by_precisions(clips, "abc", got.sigma2), rel=1e-9)


@given(CLIPS)
def test_every_density_lies_among_the_prior_and_the_raw_ratios(clips):
    got = density_of_classes(clips, ["a", "b", "c"], prior=PRIOR)
    known = [12.0, *(ratio for ratio in got.raw if ratio is not None)]

    assert all(min(known) - 1e-9 <= one <= max(known) + 1e-9 for one in got.mean_kg_m3)


@given(CLIPS)
def test_a_class_without_clips_is_known_worse_than_one_with(clips):
    got = density_of_classes(clips, ["a", "b", "c", "d"], prior=PRIOR)
    variances = np.diag(got.covariance)

    assert np.linalg.eigvalsh(got.covariance).min() > 0.0
    assert all(
        variances[3] > variance for variance, count in zip(variances, got.clips, strict=True)
        if count)
    assert np.all(variances <= (0.6**2 + 0.2**2) * 144 * (1 + 1e-12))


@given(CLIPS, st.permutations(["a", "b", "c"]), st.randoms(use_true_random=False))
def test_the_order_of_classes_and_clips_does_not_matter(clips, classes, random):
    shuffled = list(clips)
    random.shuffle(shuffled)
    one = density_of_classes(clips, ["a", "b", "c"], prior=PRIOR)
    other = density_of_classes(shuffled, classes, prior=PRIOR)

    rows = ["abc".index(name) for name in classes]
    assert other.mean_kg_m3 == pytest.approx(one.mean_kg_m3[rows], rel=1e-9)
    assert other.covariance == pytest.approx(one.covariance[np.ix_(rows, rows)], rel=1e-9)
    assert other.unaveraged == pytest.approx(one.unaveraged[rows], rel=1e-9)
    assert other.between == pytest.approx(one.between, rel=1e-6, abs=1e-9)


@given(CLIPS, st.floats(0.1, 10.0))
def test_heavier_moss_and_a_heavier_prior_scale_density(clips, factor):
    heavier = [dataclasses.replace(c, mass_g_m2=factor * c.mass_g_m2) for c in clips]
    prior = dataclasses.replace(PRIOR, level_kg_m3=factor * 12.0)
    one = density_of_classes(clips, ["a", "b", "c"], prior=PRIOR)
    other = density_of_classes(heavier, ["a", "b", "c"], prior=prior)

    assert other.mean_kg_m3 == pytest.approx(factor * one.mean_kg_m3, rel=1e-9)
    assert other.covariance == pytest.approx(factor**2 * one.covariance, rel=1e-9)
    assert other.unaveraged == pytest.approx(one.unaveraged, rel=1e-6)
