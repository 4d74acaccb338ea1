import pytest

from sync.errors import SurveyError
from sync.survey.clips import Clip, frame, plug


def a_plug(**changes):
    given = {"area_m2": 0.0625, "from_mm": 0, "to_mm": 100, "dry_g": 71.25, "dried": "oven",
             "shed_moisture_pct": 12.0}
    return plug("hummock", **given | changes)


def a_frame(published, **changes):
    given = {
        "area_m2": 0.25, "from_mm": 0, "to_mm": published["clip"]["frame"]["to_mm"], "dry_g": 185,
        "dried": "shed", "shed_moisture_pct": 12.0,
        "cover_pct": published["quadrat"]["cover_pct"],
        "depth_mm": published["quadrat"]["depth_mm"]}
    return frame("hummock", **given | changes)


def density(clip):
    return clip.mass_g_m2 / clip.volume_l_m2


def test_a_plug_dried_in_the_oven_is_brought_to_shed_dry(published, agrees):
    given = published["clip"]["plug"]
    clip = a_plug(area_m2=given["side_m"] ** 2, dry_g=given["oven_g"])

    assert agrees(clip.mass_g_m2, given["mass"])
    assert agrees(clip.volume_l_m2, given["volume"])
    assert agrees(density(clip), given["density"])
    assert agrees(density(a_plug(dried="shed")), given["density_oven"])


def test_a_frame_is_divided_by_the_layer_that_was_cut(published, agrees):
    given = published["clip"]["frame"]
    clip = a_frame(published, area_m2=given["side_m"] ** 2, dry_g=given["shed_g"])

    assert agrees(clip.mass_g_m2, given["mass"])
    assert agrees(clip.volume_l_m2, given["volume"])
    assert agrees(density(clip), given["density"])


def test_a_frame_cut_to_the_ground_is_divided_by_all_strand(published, agrees):
    clip = a_frame(published, to_mm=None)

    assert agrees(clip.volume_l_m2, published["quadrat"]["volume"])
    assert agrees(density(clip), published["clip"]["frame"]["density_wrong_layer"])


def test_a_layer_that_starts_below_the_surface_leaves_out_what_is_above(published):
    clip = a_frame(published, from_mm=50, to_mm=None)

    assert clip.volume_l_m2 == pytest.approx(float(published["quadrat"]["pickable"]))


def test_a_clip_remembers_its_class_and_cell():
    assert a_plug(cell="C07").cell == "C07"
    assert a_plug().cell is None
    assert a_plug().ground_class == "hummock"


@pytest.mark.parametrize("changes", [{"from_mm": 100}, {"from_mm": 120}])
def test_a_plug_of_no_layer_is_refused(changes):
    with pytest.raises(SurveyError, match="holds no moss"):
        a_plug(**changes)


@pytest.mark.parametrize(
    "changes", [{"depth_mm": []}, {"depth_mm": [0, 0]}, {"cover_pct": 0}, {"from_mm": 200}])
def test_a_frame_without_moss_in_the_layer_is_refused(published, changes):
    with pytest.raises(SurveyError, match="holds no moss"):
        a_frame(published, **changes)


def test_a_density_that_no_moss_has_is_refused_with_its_value():
    with pytest.raises(SurveyError, match=r"129\.545"):
        a_plug(dry_g=712.5)
    with pytest.raises(SurveyError, match=r"0\.1295"):
        a_plug(dry_g=0.7125)
    with pytest.raises(SurveyError, match="clip of 0 kg/m3"):
        a_plug(dry_g=0.0)


def test_both_limits_of_density_are_still_taken():
    assert density(a_plug(dry_g=500.0, dried="shed")) == 80.0
    assert density(a_plug(dry_g=6.25, dried="shed")) == 1.0


def test_no_area_is_refused():
    with pytest.raises(SurveyError, match="area_m2=0"):
        a_plug(area_m2=0.0)


def core_as_plug(core):
    # A core of 5 cm across and 7 cm deep.
    area_m2, litres = 0.0019635, 0.0019635 * 70
    return plug(core["Topo"], area_m2=area_m2, from_mm=0, to_mm=70, dried="shed",
                shed_moisture_pct=12.0, dry_g=float(core["SubsDens"]) * litres)


def test_the_real_cores_come_out_at_their_own_density_and_only_the_densest_is_refused(cores):
    by_density = sorted(cores, key=lambda core: float(core["SubsDens"]))

    for core in by_density[:-1]:
        assert density(core_as_plug(core)) == pytest.approx(float(core["SubsDens"]))
    with pytest.raises(SurveyError, match=r"clip of 80\.59 kg/m3"):
        core_as_plug(by_density[-1])


def test_a_clip_may_be_made_by_hand():
    assert Clip("hummock", 1200.0, 100.0) == Clip("hummock", 1200.0, 100.0, None)
