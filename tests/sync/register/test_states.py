"""What state a cell is in, and what may be taken of it, as its picks open, end and rest."""

import math
from datetime import UTC, date, datetime, timedelta

import pytest

from sync.disk.load import load_inputs
from sync.flags.raised import flags_of
from sync.register.build import build

SURVEYED = datetime(2025, 6, 20, 21, tzinfo=UTC)
PICKED = datetime(2025, 11, 10, 20, tzinfo=UTC)  # 11 November at the block


@pytest.fixture
def made(small):
    block = small()
    phone = block.phone("p1")
    for i, (name, cover) in enumerate((
        ("001", 60), ("002", 70), ("003", 50), ("004", 60), ("005", 70), ("006", 80),
        ("007", 60), ("008", 50), ("009", 60), ("010", 70), ("011", 60), ("012", 60),
    )):
        phone.note("quadrat", SURVEYED + timedelta(minutes=10 * i), "SW", plot=name,
                   when="survey", side_m=0.5, cover_pct=cover, depth_mm=[90, 100, 110], where=None)
    return block, phone


def pick(phone, at, bags, *, x=150.0, y=150.0, cell="B02", finished=()):
    phone.note("outing", at, state="start", role="picker", cell=cell, where=None)
    for i in range(0, bags, 40):
        phone.bag(at + timedelta(minutes=30 + i), x, y, bags=min(40, bags - i))
    phone.note("outing", at + timedelta(hours=4), state="end", finished=list(finished), where=None)


def register(block, phone, on, **options):
    block.take({f"{len(phone.records)}.handover.zip": phone.pack()})
    return build(load_inputs(block.folder), on=on)


def test_a_cell_named_finished_rests_at_once(made):
    block, phone = made
    pick(phone, PICKED, 80, finished=["B02"])
    today = register(block, phone, date(2025, 11, 11)).cells["B02"]
    assert today.state == "resting"
    assert today.picks.last_over.rest_ends == date(2030, 11, 11)
    assert (today.may_take_kg, today.left_kg) == (0.0, 0.0)


def test_a_pick_nobody_ended_stays_open_until_nothing_could_join_it(made):
    block, phone = made
    pick(phone, PICKED, 80)
    block.take({"a.handover.zip": phone.pack()})
    inputs = load_inputs(block.folder)
    assert build(inputs, on=date(2025, 11, 20)).cells["B02"].state == "ready"
    # Any day of the season still joins; 28 days on the season's end are more than over.
    assert build(inputs, on=date(2026, 6, 30)).cells["B02"].state == "ready"
    assert build(inputs, on=date(2026, 7, 1)).cells["B02"].state == "resting"


def test_what_may_be_taken_stands_still_while_the_gang_is_in_the_cell(made):
    block, phone = made
    block.take({"a.handover.zip": phone.pack()})
    before = build(load_inputs(block.folder), on=date(2025, 11, 10)).cells["B02"]
    pick(phone, PICKED, 40)
    pick(phone, PICKED + timedelta(days=1), 40)
    after = register(block, phone, date(2025, 11, 12)).cells["B02"]
    assert after.may_take_kg == pytest.approx(before.may_take_kg, rel=1e-12)
    assert after.taken.kg == pytest.approx(80 * 7.0)
    assert after.left_kg == pytest.approx(max(0.0, before.may_take_kg - 560.0))
    assert after.allowance.sustainable_pct == pytest.approx(before.allowance.sustainable_pct)


def test_ground_whose_may_take_is_used_up_is_taken(made):
    block, phone = made
    for day in range(8):
        pick(phone, PICKED + timedelta(days=day), 40)
    today = register(block, phone, date(2025, 11, 20)).cells["B02"]
    assert today.state == "taken"
    assert today.left_kg == 0.0
    assert today.may_take_kg > 0.0
    assert today.next_on is None


def test_a_later_day_inside_the_window_opens_a_finished_pick_again_and_is_not_early(made):
    block, phone = made
    pick(phone, PICKED, 80, finished=["B02"])
    pick(phone, PICKED + timedelta(days=20), 40)
    found = register(block, phone, date(2025, 12, 1))
    assert found.cells["B02"].state == "ready"
    assert found.cells["B02"].taken.kg == pytest.approx(840.0)
    assert not [f for f in flags_of(found) if f.rule == "early_pick"]


def test_a_second_pick_in_the_rest_is_early_by_its_days(made):
    block, phone = made
    pick(phone, PICKED, 80, finished=["B02"])
    pick(phone, PICKED + timedelta(days=300), 80, finished=["B02"])
    found = register(block, phone, date(2026, 9, 30))
    (flag,) = [f for f in flags_of(found) if f.rule == "early_pick"]
    assert flag.name == "early_pick:B02:2026"
    assert flag.figures["picked_from"] == date(2026, 9, 7)
    assert flag.figures["rest_ends"] == date(2030, 11, 11)
    assert flag.figures["days_early"] == (date(2030, 11, 11) - date(2026, 9, 7)).days
    assert flag.probability == 1.0
    assert found.cells["B02"].picks.last_over.rest_ends == date(2031, 9, 7)


def test_a_touch_starts_no_rest_but_may_be_early(made):
    block, phone = made
    pick(phone, PICKED, 80, finished=["B02"])
    pick(phone, PICKED + timedelta(days=300), 2, finished=["B02"])
    found = register(block, phone, date(2026, 9, 30))
    assert [p.touch for p in found.crop.cells["B02"].picks] == [False, True]
    assert found.cells["B02"].picks.last_over.rest_ends == date(2030, 11, 11)
    assert [f.rule for f in flags_of(found) if f.cell == "B02"] == ["early_pick"]


def test_after_its_rest_a_cell_must_be_measured_before_it_is_picked_again(made):
    block, phone = made
    pick(phone, PICKED, 80, finished=["B02"])
    today = register(block, phone, date(2030, 11, 11)).cells["B02"]
    assert today.state == "unsurveyed"
    assert today.may_take_kg == 0.0
    phone.note("quadrat", datetime(2030, 11, 1, 21, tzinfo=UTC), "SW", plot="007", when="survey",
               side_m=0.5, cover_pct=60, depth_mm=[90, 100, 110], where=None)
    assert register(block, phone, date(2030, 11, 10)).cells["B02"].state == "resting"
    again = register(block, phone, date(2030, 11, 11)).cells["B02"]
    assert again.state == "ready"
    assert again.may_take_kg > 0.0


def test_an_unsurveyed_cell_shows_the_crop_of_its_class_and_may_take_nothing(made):
    block, phone = made
    found = register(block, phone, date(2025, 11, 1))
    assert found.cells["A03"].state == "unsurveyed"
    assert found.cells["A03"].may_take_kg == 0.0
    stand = found.crop.cells["A03"].walked.stand
    known = found.crop.classes["all"].prediction
    area = found.crop.ground.cells["A03"].open_m2
    # ρ0 = 12 kg/m³ without clips: crop = area · ρ · mean index.
    assert stand.crop_kg == pytest.approx(area * 12.0 * known.mean_l_m2 / 1000.0)


def test_the_index_of_a_cell_is_cover_times_mean_depth_drawn_to_the_class(made):
    block, phone = made
    found = register(block, phone, date(2025, 11, 1))
    known = found.crop.classes["all"].prediction
    i = known.cells.index("A01")
    own = (0.60 * 100.0 + 0.70 * 100.0) / 2
    weight = known.weight[i]
    assert known.index_l_m2[i] == pytest.approx(weight * own + (1 - weight) * known.mean_l_m2)


def test_a_spraying_closes_ground_through_its_last_day(made):
    block, phone = made
    phone.note("work", datetime(2025, 12, 1, 21, tzinfo=UTC), what="sprayed", cells=["B02"],
               hold_days=90, where=None)
    block.take({"a.handover.zip": phone.pack()})
    inputs = load_inputs(block.folder)
    last = date(2025, 12, 2) + timedelta(days=90)
    assert build(inputs, on=date(2025, 12, 1)).cells["B02"].state == "ready"
    assert build(inputs, on=last).cells["B02"].state == "closed"
    assert build(inputs, on=last + timedelta(days=1)).cells["B02"].state == "ready"


def test_without_a_permit_in_force_all_ground_is_closed_but_its_crop_stands(small):
    block = small(permits='[[permit]]\npermit = "X-1"\nfrom = 2025-01-01\nuntil = 2025-12-31\n')
    phone = block.phone("p1")
    phone.note("quadrat", SURVEYED, "SW", plot="007", when="survey", side_m=0.5, cover_pct=60,
               depth_mm=[90, 100, 110], where=None)
    block.take({"a.handover.zip": phone.pack()})
    inputs = load_inputs(block.folder)
    assert build(inputs, on=date(2025, 12, 31)).cells["B02"].state == "ready"
    after = build(inputs, on=date(2026, 1, 1))
    assert after.cells["B02"].state == "closed"
    assert "permit" in after.cells["B02"].why
    assert after.total.kg > 0.0
    assert after.may_take_kg == 0.0


def test_of_block_rule_and_permit_the_stricter_holds(small):
    block = small(permits='[[permit]]\npermit = "X-1"\nkeep_pct = 60\nliving_layer_mm = 20\n')
    phone = block.phone("p1")
    phone.note("quadrat", SURVEYED, "SW", plot="007", when="survey", side_m=0.5, cover_pct=60,
               depth_mm=[90, 100, 110], where=None)
    found = register(block, phone, date(2025, 11, 1))
    rule = found.crop.cells["B02"].rule
    assert rule.keep == pytest.approx(0.60)
    assert rule.living_layer_mm == 40.0


def test_a_permit_per_hectare_binds_the_cell_and_its_cap_the_block(small):
    block = small(
        permits='[[permit]]\npermit = "X-1"\nmax_kg_ha = 500\ncap = 900\ncap_unit = "kg_dry"\n')
    phone = block.phone("p1")
    for i in range(12):
        phone.note("quadrat", SURVEYED + timedelta(minutes=i), "SW", plot=f"{i + 1:03d}",
                   when="survey", side_m=0.5, cover_pct=60, depth_mm=[90, 100, 110], where=None)
    found = register(block, phone, date(2025, 11, 1))
    area = found.crop.ground.cells["B02"].open_m2
    assert found.cells["B02"].allowance.binds == "permit"
    assert found.cells["B02"].may_take_kg == pytest.approx(0.05 * area)
    assert found.may_take_kg == pytest.approx(900.0)


def test_a_pick_of_before_the_program_rests_from_its_last_day(made):
    block, phone = made
    phone.note("past_pick", datetime(2025, 6, 1, tzinfo=UTC), "O", cell="A02",
               **{"from": "2022-03-01", "to": "2022-03-09", "dry_kg": None}, where=None)
    found = register(block, phone, date(2026, 2, 20))
    assert found.cells["A02"].picks.last_over.rest_ends == date(2027, 3, 9)
    assert found.cells["A02"].picks.last_over.made.whole is None
    assert "A02" in found.incomplete


def test_kilos_follow_the_lot_that_the_pile_went_into(made):
    block, phone = made
    phone.note("outing", PICKED, state="start", role="picker", cell="B02", where=None)
    for minutes in (30, 60):
        phone.bag(PICKED + timedelta(minutes=minutes), 150, 150, bags=40, pile="P1-001")
    phone.note("outing", PICKED + timedelta(hours=2), state="end", finished=["B02"], where=None)
    phone.note("batch", PICKED + timedelta(days=40), "O", batch="D-1", stage="dried", bags=80,
               dry_kg=504.0, where=None, **{"from": ["P1-001"]})
    found = register(block, phone, date(2026, 2, 20))
    whole = found.cells["B02"].picks.last_over.made.whole
    assert whole.kg == pytest.approx(504.0)
    kappa = found.crop.weights.kappa[2025, "sack"]
    assert kappa.kg == pytest.approx(6.3)
    assert kappa.lots == 1


def test_a_survey_in_an_open_pick_counts_as_if_made_at_its_start(made):
    block, phone = made
    pick(phone, PICKED, 80)
    phone.note("quadrat", PICKED + timedelta(days=2), "SW", plot="007", when="survey", side_m=0.5,
               cover_pct=60, depth_mm=[100, 100, 100], where=None)
    found = register(block, phone, date(2025, 11, 14))
    today = found.cells["B02"]
    during = found.crop.cells["B02"].walked.during
    assert today.state == "ready"
    assert during.taken.kg == pytest.approx(560.0)
    crop_at_start = today.may_take_kg + today.allowance.must_stay_kg
    assert crop_at_start == pytest.approx(during.stand.crop_kg + 560.0)
    assert math.isclose(today.left_kg, max(0.0, today.may_take_kg - 560.0))


def test_bags_of_no_cell_make_that_days_pick_incomplete(made):
    block, phone = made
    phone.note("outing", PICKED, state="start", role="picker", cell="B02", where=None)
    for minutes in (30, 60):
        phone.bag(PICKED + timedelta(minutes=minutes), 150, 150, bags=40)
    phone.bag(PICKED + timedelta(minutes=90), 150, 150, bags=2, where=None)
    phone.note("outing", PICKED + timedelta(hours=2), state="end", finished=["B02"], where=None)
    found = register(block, phone, date(2025, 11, 20))
    assert found.incomplete == {"B02"}
    assert found.cells["B02"].picks.last_over.made.whole.kg == pytest.approx(560.0)


def test_2026_11_25_a_later_reading_of_a_plot_does_not_undo_an_earlier_survey(made):
    block, phone = made
    phone.note("quadrat", datetime(2025, 8, 20, 21, tzinfo=UTC), "SW", plot="007", when="survey",
               side_m=0.5, cover_pct=50, depth_mm=[80, 80, 80], where=None)
    phone.note("quadrat", datetime(2025, 8, 20, 22, tzinfo=UTC), "SW", plot="008", when="survey",
               side_m=0.5, cover_pct=50, depth_mm=[80, 80, 80], where=None)
    block.take({"a.handover.zip": phone.pack()})
    inputs = load_inputs(block.folder)
    assert build(inputs, on=date(2025, 7, 1)).cells["B02"].state == "ready"
    assert len(build(inputs, on=date(2025, 9, 1)).crop.cells["B02"].readings) == 2


def test_2026_11_25_a_plot_read_again_before_the_pick_counts_once(made):
    block, phone = made
    phone.note("quadrat", SURVEYED + timedelta(days=1), "SW", plot="007", when="before_pick",
               side_m=0.5, cover_pct=50, depth_mm=[80, 80, 80], where=None)
    found = register(block, phone, date(2025, 7, 1))
    assert [r.reading.plot for r in found.crop.cells["B02"].readings] == ["008", "007"]


def test_2026_11_25_an_open_pick_of_unknown_kg_leaves_less(made):
    block, phone = made
    phone.note("past_pick", datetime(2026, 1, 12, tzinfo=UTC), "O", cell="B02",
               **{"from": "2026-01-10", "to": None, "dry_kg": None}, where=None)
    today = register(block, phone, date(2026, 2, 20)).cells["B02"]
    assert today.taken.kg > 0.0
    assert today.left_kg < today.may_take_kg


def test_2026_11_25_a_new_rule_holds_from_the_first_day_of_a_pick(made):
    block, phone = made
    pick(phone, PICKED, 10)
    path = block.folder / "block.toml"
    path.write_text(path.read_text() + "\n[[rules]]\nfrom = 2025-11-11\nkeep_pct = 90\n")
    found = register(block, phone, date(2025, 11, 12))
    assert found.cells["B02"].at_start.rule.keep == pytest.approx(0.9)


def test_2026_11_25_a_cap_of_one_permit_holds_over_all_its_cells(small):
    block = small(permits=(
        '[[permit]]\npermit = "X-1"\ncap = 900\ncap_unit = "kg_dry"\n'
        '[[permit]]\npermit = "X-2"\nparcels = ["x"]\n'))
    phone = block.phone("p1")
    for i in range(12):
        phone.note("quadrat", SURVEYED + timedelta(minutes=i), "SW", plot=f"{i + 1:03d}",
                   when="survey", side_m=0.5, cover_pct=60, depth_mm=[90, 100, 110], where=None)
    assert register(block, phone, date(2025, 11, 1)).may_take_kg == pytest.approx(900.0)


def test_2026_11_25_records_of_far_days_and_broken_outlines_stop_no_register(made):
    block, phone = made
    phone.records[0]["at"] = "0001-01-05T00:00:00.000Z"
    phone.note("work", SURVEYED, what="sprayed", outline={}, hold_days=90, where=None)
    phone.note("check_in", datetime(9990, 1, 1, tzinfo=UTC), state="fine", where=None)
    phone.records[-1]["seq"] += 1
    pick(phone, PICKED, 10)
    for record in phone.records[-3:]:
        record["seq"] += 1
    found = register(block, phone, date(2025, 11, 20))
    assert found.cells["B02"].state == "ready"
    assert found.holes


def test_2026_11_25_a_look_by_eye_opens_no_cell_that_was_drawn_before(made):
    block, phone = made
    pick(phone, PICKED, 80, finished=["B02"])
    phone.note("quadrat", datetime(2030, 11, 20, 21, tzinfo=UTC), "SW", plot=None, when="survey",
               side_m=0.5, cover_pct=60, depth_mm=[90, 100, 110],
               where={"lat": block.lonlat(150, 150)[1], "lon": block.lonlat(150, 150)[0],
                      "acc_m": 4, "age_s": 1})
    assert register(block, phone, date(2030, 12, 1)).cells["B02"].state == "unsurveyed"


def test_2026_11_25_counted_bags_share_the_error_of_the_mean_bag_beside_a_lot(made):
    block, phone = made
    phone.note("outing", PICKED, state="start", role="picker", cell="B02", where=None)
    for minutes, pile in ((30, "P1-001"), (60, "P1-001"), (90, None)):
        phone.bag(PICKED + timedelta(minutes=minutes), 150, 150, bags=40, pile=pile)
    phone.note("outing", PICKED + timedelta(hours=3), state="end", finished=["B02"], where=None)
    phone.note("batch", PICKED + timedelta(days=40), "O", batch="D-1", stage="dried", bags=60,
               dry_kg=360.0, where=None, **{"from": ["P1-001"]})
    found = register(block, phone, date(2026, 2, 20))
    whole = found.cells["B02"].picks.last_over.made.whole
    kappa = found.crop.weights.kappa[2025, "sack"]
    # 60 of the pile's 80 bags went into the lot; 20 and the 40 without a pile are counted.
    assert whole.kg == pytest.approx(360.0 + 60 * 6.0)
    assert whole.bags == pytest.approx(120.0)
    assert whole.variance == pytest.approx(
        60**2 * kappa.variance + 60 * kappa.bag_variance, rel=1e-6)
