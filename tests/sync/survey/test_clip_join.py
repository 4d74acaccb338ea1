"""Clips meet their quadrats; what is not whole yet waits and says why."""

from datetime import date

import pytest

from sync.intake.seen import ClipSeen
from sync.survey.clip_join import join_clips
from sync.survey.readings import Reading

DAY = date(2025, 6, 20)


def clip(label="P1-001", *, twice=(), day=DAY, **fields):
    return ClipSeen(label, ("p1-aaaa:5", "shed:1"), day, None, fields, tuple(twice))


def quadrat(label="P1-001", cell="B02"):
    return Reading("p1-aaaa:4", cell, DAY, "1", True, "survey", False, 80.0,
                   (120, 90, 150, 60, 30), None, None, label, "SW")


def join(*clips, readings=(), cell_at=lambda _: None):
    return join_clips(clips, readings, cell_at, {"B02": "lawn", "C03": "mound"},
                      shed_moisture_pct=12.0, label_days=183)


PLUG = {"cut": "plug", "area_m2": 0.0625, "from_mm": 0, "to_mm": 100, "dry_g": 71.25,
        "dried": "oven"}


def test_a_plug_takes_class_cell_and_day_from_its_quadrat():
    (one,), waiting = join(clip(**PLUG), readings=[quadrat()])
    assert waiting == {}
    assert (one.cell, one.day, one.clip.ground_class) == ("B02", DAY, "lawn")
    # Worked by hand: 71.25 g / 0.88 / 0.0625 m², over 100 mm.
    assert one.clip.mass_g_m2 == pytest.approx(1295.454545)
    assert one.clip.volume_l_m2 == pytest.approx(100.0)
    assert one.names == ("p1-aaaa:5", "shed:1", "p1-aaaa:4")


def test_a_whole_frame_is_weighed_against_its_own_cover_and_probes():
    (one,), _ = join(
        clip(cut="frame", area_m2=0.25, to_mm=80, dry_g=185, dried="shed"), readings=[quadrat()])
    # Worked by hand: 185 g / 0.25 m²; 0.8 · mean(80, 80, 80, 60, 30).
    assert one.clip.mass_g_m2 == pytest.approx(740.0)
    assert one.clip.volume_l_m2 == pytest.approx(52.8)


@pytest.mark.parametrize(("fields", "word"), [
    ({k: v for k, v in PLUG.items() if k != "dry_g"}, "dry_g"),
    ({k: v for k, v in PLUG.items() if k != "to_mm"}, "to_mm"),
    ({**PLUG, "from_mm": 100}, "volume"),
])
def test_a_clip_that_is_not_whole_waits_and_says_what_is_missing(fields, word):
    found, waiting = join(clip(**fields), readings=[quadrat()])
    assert found == ()
    assert word in waiting["P1-001"]


def test_a_field_with_two_values_makes_a_clip_wait():
    found, waiting = join(clip(twice=["dry_g"], **PLUG), readings=[quadrat()])
    assert found == ()
    assert "dry_g" in waiting["P1-001"]


def test_a_plug_without_a_quadrat_is_of_its_own_place_and_a_frame_cannot_be():
    (one,), _ = join(clip(**PLUG), cell_at=lambda _: "C03")
    assert one.clip.ground_class == "mound"
    found, waiting = join(clip(cut="frame", area_m2=0.25, dry_g=185, dried="shed"),
                          cell_at=lambda _: "C03")
    assert found == ()
    assert "quadrat" in waiting["P1-001"]


def test_a_clip_of_no_known_cell_waits():
    assert join(clip(**PLUG))[1]["P1-001"].startswith("no cell")


def test_a_label_used_again_half_a_year_later_is_of_another_quadrat():
    late = DAY.replace(year=2026)
    found, waiting = join(clip(day=late, **PLUG), readings=[quadrat()])
    assert found == ()
    assert "P1-001" in waiting
    (one,), _ = join(clip(day=DAY.replace(month=12), **PLUG), readings=[quadrat()])
    assert one.day == DAY


def test_the_quadrat_of_a_clip_outweighs_where_the_clip_was_noted():
    (one,), _ = join(clip(**PLUG), readings=[quadrat(cell="C03")], cell_at=lambda _: "B02")
    assert (one.cell, one.clip.ground_class) == ("C03", "mound")


def test_clips_come_by_day_and_label():
    found, _ = join(clip("B", **PLUG), clip("A", **PLUG), clip("C", day=date(2025, 6, 1), **PLUG),
                    cell_at=lambda _: "C03")
    assert [one.label for one in found] == ["C", "A", "B"]


def test_a_clip_dried_in_the_shed_is_weighed_as_it_is():
    (one,), _ = join(clip(**{**PLUG, "dried": "shed"}), readings=[quadrat()])
    assert one.clip.mass_g_m2 == pytest.approx(71.25 / 0.0625)
