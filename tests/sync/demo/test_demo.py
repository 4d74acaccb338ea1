"""The made-up block: its story comes out of the register, not out of its text."""

import json
import os
import shutil
import subprocess
import sys
from collections import defaultdict
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from statistics import fmean

import jsonschema
import numpy as np
import pytest

from fieldapp.device.journal import Journal
from fieldapp.ground import unpack_sheet
from fieldapp.record import instant
from sync.crop.long_run_range import long_run_range
from sync.demo.lifting import DRY_DAY, PILE, WET_DAY
from sync.demo.place import local
from sync.demo.seasons import SEASONS
from sync.demo.shed import FILED_ON
from sync.demo.special import EARLY_DAY, EARLY_GROUPS
from sync.demo.story import ON, make_demo
from sync.demo.watching import DRAIN_BLOCKED, DRYING, SCRUB, TRIAL
from sync.disk.dossiers import dossier_of
from sync.disk.folder import load_block
from sync.disk.journal import ShedJournal
from sync.disk.keys import load_phones
from sync.disk.load import load_inputs
from sync.disk.sheets_again import sheet_made_again
from sync.disk.taking import Options, take_files
from sync.flags.evidence.shown import shown_in
from sync.flags.raised import flags_of
from sync.intake.fixes import ms_of
from sync.picks.ledger.balance import balance_of_piles, balance_of_seasons
from sync.picks.ledger.trace import lots_told
from sync.plan.lifts.plan import plan_lifts
from sync.plan.recovery import recovery_of
from sync.plan.trial import trial_seen
from sync.plan.works import works_of
from sync.register.build import build
from sync.register.followed import follow_bags
from sync.report.document import register_document, register_json
from sync.report.flag_case import case_text, folio_of
from sync.report.land import land_page
from sync.report.lifts.standing import hazards_marked, piles_waiting
from sync.report.lifts.told import basis_lines
from sync.report.permit import returns_json, returns_of
from sync.report.trials import trial_verdict
from sync.shed.rebuild import Rebuilder

BEFORE_PAPER = datetime(2025, 4, 1, tzinfo=UTC)


def read(folder, on=ON, known_by=None):
    register = build(load_inputs(folder, known_by=known_by), on=on)
    flags = flags_of(register)
    return register, {f.name: f for f in flags}, register_document(register, flags)


#: Makes blocks in a process of its own, with another order of sets than any other has.
ELSEWHERE = """
import sys
from pathlib import Path
from statistics import fmean
from sync.demo.story import make_demo
for seed in sys.argv[2:]:
    make_demo(Path(sys.argv[1]) / seed, seed=int(seed), tell=lambda _: None)
"""


@pytest.fixture(scope="module")
def elsewhere(tmp_path_factory):
    """Make the same block, and another one, beside the tests; gives their folders once made."""
    there = tmp_path_factory.mktemp("elsewhere")
    running = subprocess.Popen(
        [sys.executable, "-c", ELSEWHERE, str(there), "417", "2"],
        env={**os.environ, "PYTHONHASHSEED": "4"}, cwd=Path(__file__).parents[3],
    )
    yield lambda seed: _made(running, there / str(seed))
    running.kill()
    running.wait()


def _made(running, folder):
    assert running.wait(timeout=300) == 0
    return folder


@pytest.fixture(scope="module")
def demo(elsewhere, tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo") / "block"
    made = make_demo(folder, seed=417, tell=lambda _: None)
    assert made.on == ON
    return folder


@pytest.fixture(scope="module")
def told(demo):
    return read(demo)


def empty_copy(folder, other):
    """Copy a block folder as it was before any record came: maps, plots, people and keys."""
    other.mkdir()
    for path in folder.iterdir():
        drawn = {"plots.json", "trials.json", "keys"}
        if path.suffix in {".toml", ".geojson"} or path.name in drawn:
            (shutil.copytree if path.is_dir() else shutil.copy)(path, other / path.name)
    return other


def write_down_again(folder, other):
    """What the owner wrote down at the shed came in no file."""
    with ShedJournal(folder) as journal:
        own = [one.record for one in journal.held() if one.record["device"] == "shed"]
    with ShedJournal(other) as journal:
        journal.write_down([{key: value for key, value in record.items()
                             if key not in {"device", "seq"}} for record in own],
                           arrived=datetime(2026, 2, 1, tzinfo=UTC))


def journals(folder):
    for path in sorted((folder / "demo" / "phones").glob("*.sqlite")):
        with Journal.open(path, device=path.stem) as journal:
            yield path.stem, list(journal.records())


def row(document, cell):
    return next(one for one in document["cells"] if one["cell"] == cell)


def test_the_early_pick_is_found_sure_with_the_bags_of_the_story(told):
    _, flags, document = told
    early = flags["early_pick:C08:2025"]
    expected = sum(bags * chance for _, bags, chance in EARLY_GROUPS)
    assert early.how_sure == "sure"
    assert early.probability > 0.999
    assert early.figures["bags"] == pytest.approx(expected, abs=0.02)
    assert early.figures["picked_from"] == date(2026, 1, 22)
    assert early.figures["rest_ends"] == date(2028, 12, 1)
    assert early.figures["days_early"] == 1044
    assert row(document, "C08")["rest_ends"] == "2028-12-01"
    assert len(early.records) == 16


def test_each_group_of_the_early_pick_has_the_chance_of_the_story(told):
    register, flags, _ = told
    records = set(flags["early_pick:C08:2025"].records)
    groups = defaultdict(list)
    for one in register.known.placed:
        if one.bag.name in records:
            groups[one.bag.device[:2], one.group].append(one)
    found = sorted(groups.values(), key=lambda group: min(one.bag.at for one in group))
    assert [(g[0].bag.device[:2], len(g)) for g in found] == [g[:2] for g in EARLY_GROUPS]
    for group, (_, _, chance) in zip(found, EARLY_GROUPS, strict=True):
        assert {one.how for one in group} <= {"track", "fix"}
        for shares in ([one.flagged for one in group], [one.chances for one in group]):
            assert fmean(one["C08"] for one in shares) == pytest.approx(chance, abs=0.015)
            assert all(one["C08"] + one.get("C09", 0.0) == pytest.approx(1.0) for one in shares)
    assert {one.bag.picker for g in found for one in g} == {"JA", "LP"}


def test_the_dispute_is_answered_the_phones_showed_the_rest(demo, told):
    register, flags, document = told
    flag = flags["early_pick:C08:2025"]
    case = dossier_of(demo, register, document, flag, now=local(ON, 12))
    assert [(one.device[:2], one.person, one.bags) for one in case.case.carried] == [
        ("p3", "JA", 7.0), ("p5", "F", 9.0)]
    for one in case.case.carried:
        assert one.made_at.astimezone(case.zone).date() == date(2026, 1, 9)
        assert one.is_stale
        shown = shown_in(case.sheets[one.made_at].sheet, one, "C08")
        assert (shown.state, shown.rest_ends) == ("resting", date(2028, 12, 1))
        assert shown.bands["resting"] > 0
    pick = case.case.last_pick
    assert (pick.first, pick.last) == (date(2023, 11, 27), date(2023, 12, 1))
    said = " ".join(case_text(folio_of(case)).split())
    assert "So the phone did know that C08 was resting." in said
    assert "is 1,044 days before its rest ends, 1 Dec 2028" in said


def test_the_sheets_of_the_story_show_the_ground_as_the_phones_had_it(demo, told):
    """A sheet made again is the one that lies on the phone, but for what is that phone's own."""
    key = next(one.key for one in load_phones(demo) if one.phone == "p3")
    given = unpack_sheet((demo / "demo" / "p3.sheet.zip").read_bytes(), key=key)
    again = sheet_made_again(demo, given.made_at, now=local(ON, 12)).sheet
    assert again.cells == given.cells
    assert again.closures == given.closures
    assert again.permits == given.permits


def test_the_page_for_the_council_has_the_story_s_figures(told):
    register, _, document = told
    run = long_run_range(register.crop)
    assert run.low_kg < run.slow_kg < run.kg == pytest.approx(register.long_run_kg)
    assert run.kg < run.high_kg < 1.25 * run.kg  # what must stay binds, however fast it grows
    page = land_page(register, document, [])
    assert "C08 on 22 Jan 2026" in page
    assert "the owner has not ruled yet" in page
    assert "of what the permit allows" not in page  # without a price nothing is earned
    assert "for what the permit allows" in page


@pytest.mark.parametrize(("day", "kg", "sd_kg", "sling", "lifts"), [
    (DRY_DAY, 88, 9, 6, 8), (WET_DAY, 112, 13, 5, 10)])
def test_after_three_wet_days_the_same_pile_takes_ten_lifts(demo, day, kg, sd_kg, sling, lifts):
    register, _, _ = read(demo, on=day)
    plan = plan_lifts(register, piles_waiting(register), hazards_marked(register))
    (pile,) = [one for one in plan.piles if one.pile.label == PILE]
    assert (pile.pile.bags, pile.wet.day, pile.wet.own) == (46, day, True)
    assert (round(pile.wet.kg), round(pile.wet.sd_kg)) == (kg, sd_kg)
    assert (pile.sling, pile.lifts, plan.limit_kg) == (sling, lifts, 620)
    assert f"Wet bag {kg} ± {sd_kg} kg, by 10 weighings" in " ".join(basis_lines(plan))


def test_no_other_cell_is_called_picked_early(told):
    _, flags, _ = told
    assert [n for n in flags if n.startswith("early_pick")] == ["early_pick:C08:2025"]


def test_the_cell_they_were_sent_to_is_only_touched_and_stays_ready(told):
    register, _, document = told
    assert row(document, "C09")["state"] == "ready"
    assert row(document, "C09")["last_picked"] is None
    assert [p.touch for p in register.crop.cells["C09"].picks] == [True]


def test_the_lost_file_is_missed_until_the_paper_count_stands_for_it(demo, told):
    _, flags, document = told
    assert not [n for n in flags if n.startswith("missing_records")]
    assert row(document, "K04")["complete"] is True
    _, before, then = read(demo, on=date(2025, 3, 31), known_by=BEFORE_PAPER)
    (name,) = [n for n in before if n.startswith("missing_records")]
    assert name.startswith("missing_records:p2-")
    (hole,) = before[name].figures["holes"]
    assert hole["paper_bags"] is None
    assert 7.0 < hole["bags"] < 13.0
    assert row(then, "K04")["complete"] is False


def test_the_wrong_clock_is_mended_and_said(told):
    register, flags, document = told
    (name,) = [n for n in flags if n.startswith("clock_wrong")]
    assert name.startswith("clock_wrong:p4-")
    assert flags[name].figures["lag_s"] == -5_270_400
    bags = [p.bag for p in register.known.placed
            if p.bag.name in flags[name].records]
    assert sum(bag.bags for bag in bags) == 23
    assert {bag.day for bag in bags} == {date(2026, 1, 19)}
    assert row(document, "F09")["last_picked"]["from"] == "2026-01-19"


def test_the_pool_on_no_map_counts_as_bare_ground(told):
    register, _, document = told
    readings = register.crop.cells["I07"].readings
    assert [r.reading.plot for r in readings if r.reading.bare] == ["118"]
    assert row(document, "I07")["quadrats"] == 4
    mean = [r.index.volume_l_m2 for r in readings]
    assert 0.0 in mean


def test_the_weak_fix_on_the_border_goes_to_the_confirmed_cell(told):
    register, _, _ = told
    weak = [p for p in register.known.placed if p.sigma_m and p.sigma_m > 15]
    assert len(weak) == 2
    assert {p.how for p in weak} == {"confirmed"}
    assert all(p.chances == {"F08": 1.0} for p in weak)


def test_one_cell_was_picked_half_as_much_again_as_it_allowed(demo):
    _, _, before = read(demo, on=date(2024, 11, 10))
    _, _, after = read(demo, on=date(2024, 12, 31))
    allowed = row(before, "D06")["may_take_kg"]
    assert row(after, "D06")["last_picked"]["kg"]["low"] > 1.3 * allowed


def test_sprayed_ground_is_closed_until_its_hold_ends(demo, told):
    _, _, document = told
    assert row(document, "B02")["state"] == "closed"
    _, _, after = read(demo, on=date(2026, 3, 3))
    assert row(after, "B02")["state"] == "ready"


def test_every_cell_picked_in_three_seasons_rests_and_no_cell_is_left_open(told):
    _, _, document = told
    states = defaultdict(list)
    for one in document["cells"]:
        states[one["state"]].append(one["cell"])
    assert {cell for season in SEASONS for cell, _ in season} < set(states["resting"])
    assert len(states["resting"]) == 20 + 7
    assert sorted(states["closed"]) == ["B02", "F06", "G06", "H05", "H06"]
    assert "taken" not in states


def test_a_phone_writes_in_the_order_in_which_things_happen_but_for_the_wrong_clock(demo):
    back = [(device, instant(one["at"]) - instant(then["at"]))
            for device, records in journals(demo) for one, then in pairwise(records)
            if then["at"] < one["at"]]
    ((device, by),) = back
    assert device.startswith("p4-")
    assert timedelta(days=20) < by < timedelta(days=61)


def test_a_press_has_the_place_of_the_fix_at_its_instant_where_a_track_is_kept(told):
    register, _, _ = told
    tracked = defaultdict(int)
    for one in register.known.placed:
        track = register.events.tracks.get(one.bag.device)
        fixes = [] if track is None else np.flatnonzero(track.at_ms == ms_of(one.bag.at)).tolist()
        for i in fixes:
            tracked[one.bag.device[:2], one.bag.day] += 1
            assert track.lat[i] == pytest.approx(one.bag.where.lat, abs=1e-7)
            assert track.lon[i] == pytest.approx(one.bag.where.lon, abs=1e-7)
    assert tracked["p3", EARLY_DAY] + tracked["p5", EARLY_DAY] == 16
    assert {day for _, day in tracked} == {EARLY_DAY - timedelta(days=n) for n in range(3)}


def test_halves_and_slips_leave_whole_bags(demo, told):
    register, _, _ = told
    sizes = defaultdict(float)
    for one in register.known.placed:
        sizes[one.bag.bags] += one.bag.bags
    assert set(sizes) == {0.5, 1.0, 9.0}
    assert sizes[0.5] == int(sizes[0.5]) > 0
    seen = {one.bag.name for one in register.known.placed}
    pressed = {f"{device}:{one['seq']}" for device, records in journals(demo)
               for one in records if one["kind"] == "bag"}
    undone = {name for name in pressed - seen if name in register.merged.times}
    assert undone


def test_no_permit_year_goes_over_its_cap(demo):
    for year in (2023, 2024, 2025):
        _, _, document = read(demo, on=min(ON, date(year + 1, 8, 31)))
        (permit,) = document["permits"]
        assert permit["year"]["from"] == f"{year}-09-01"
        assert 5000 < permit["taken"]["high"] < permit["cap"]


def test_only_the_class_without_clips_is_called_assumed(told):
    _, flags, document = told
    assert [n for n in flags if n.startswith("density_assumed")] == ["density_assumed:edge:2025"]
    assert document["block"]["densities"]["edge"]["clips"] == 0


def test_the_permit_binds_the_block_and_every_figure_fits_the_schema(told):
    from importlib.resources import files

    _, _, document = told
    text = (files("sync.report") / "schemas" / "register.schema.json").read_text()
    jsonschema.validate(json.loads(register_json(document)), json.loads(text))
    (permit,) = document["permits"]
    assert document["block"]["may_take_t"] == pytest.approx(permit["left"] / 1000, abs=0.05)
    left = sum(one["left_kg"] or 0 for one in document["cells"])
    assert left > permit["left"]


def test_every_record_of_every_journal_that_was_handed_over_is_at_the_shed(demo, told):
    register, _, _ = told
    missing = 0
    for device, records in journals(demo):
        numbers = {record["seq"] for record in records}
        held = set(register.merged.numbers[device])
        assert held <= numbers
        missing += len(numbers - held)
    (lost,) = register.holes
    assert missing == lost.last - lost.first + 1


def test_some_files_came_twice_and_some_weeks_late(demo):
    lines = [line.split("'") for line in (demo / "intake.log").read_text().splitlines()]
    taken = [(instant(line[0].strip()), line[1]) for line in lines]
    names = [name for _, name in taken]
    assert len(names) > len(set(names))
    late = 0
    for at, name in taken:
        if name.endswith(".handover.zip"):
            device, last = name.removesuffix(".handover.zip").rsplit("-", 2)[::2]
            with Journal.open(demo / "demo" / "phones" / f"{device}.sqlite",
                              device=device) as journal:
                late += at - instant(journal.record(int(last))["at"]) > timedelta(weeks=3)
    assert late


def test_a_second_build_gives_the_same_bytes(demo, told):
    assert register_json(read(demo)[2]) == register_json(told[2])


def test_all_files_in_another_order_give_the_same_bytes_in_a_running_shed_too(
    demo, told, tmp_path
):
    other = empty_copy(demo, tmp_path / "other")
    block, _ = load_block(other)
    shelf = demo / "demo"
    taken = [line.split("'")[1] for line in (demo / "intake.log").read_text().splitlines()]
    where = {p.name: p for p in (*shelf.glob("hand-overs/*.zip"), *shelf.glob("*.csv"))}
    files = [where[name] for name in reversed(dict.fromkeys(taken))]
    late = [path for path in files if path.name.startswith("p3-")]
    assert 0 < len(late) < len(files)
    shed = Rebuilder(other, now=lambda: local(ON, 12))
    for each in ([path for path in files if path not in late], late):
        found = take_files(other, block, each, Options(), now=datetime(2026, 2, 1, tzinfo=UTC))
        assert not [one for one in found if one.refused or one.aside]
        if each is late:
            view = shed.wait(shed.ask(), most_s=300)
            shed.stop()
        else:
            write_down_again(demo, other)
            shed.start()
            assert shed.wait(1, most_s=300).document != told[2]
    assert register_json(view.document) == register_json(told[2])
    assert register_json(read(other)[2]) == register_json(told[2])


def test_the_same_seed_makes_the_same_block_in_another_process(told, elsewhere):
    assert register_json(read(elsewhere(417))[2]) == register_json(told[2])


def test_another_seed_makes_another_swamp_with_the_same_story(told, elsewhere):
    _, flags, document = read(elsewhere(2))
    assert document["block"]["standing_crop_t"] != told[2]["block"]["standing_crop_t"]
    always = {("early_pick", "C08"), ("clock_wrong", None), ("density_assumed", None),
              ("over_pick", "D06"), ("short_bags", None), ("weak_position", "C08"),
              ("stale_sheet", None),
              *(("scrub_spreading", cell) for cell in SCRUB), *(("drying", c) for c in DRYING)}
    by_chance = {("growth_assumed", None), ("odd_bag_weight", None)}
    assert always <= {(f.rule, f.cell) for f in flags.values()} <= always | by_chance
    assert flags["early_pick:C08:2025"].how_sure == "sure"
    assert row(document, "C09")["state"] == "ready"
    _, before, _ = read(elsewhere(2), on=date(2025, 3, 31), known_by=BEFORE_PAPER)
    assert "missing_records" in {f.rule for f in before.values()}


@pytest.mark.parametrize("seed", [417, 2])
def test_four_bags_stayed_on_bale_knoll_and_two_got_lost_on_the_way(demo, elsewhere, seed):
    register, flags, _ = read(demo if seed == 417 else elsewhere(seed))
    ledger = follow_bags(register)
    season = balance_of_seasons(ledger)[2023]
    assert season.tallied > 1000
    assert (season.tallied - season.lifted, season.lifted - season.arrived) == (4, 2)
    assert season.dried == season.arrived
    assert (season.on_piles, season.short_on_the_way, season.surplus) == (4, 2, 0)
    assert {pile: held.bags for pile, held in ledger.piles.items()
            if held.bags and pile[1] == 2023} == {("Bale Knoll", 2023): 4}
    found = [one for one in register.events.batches
             if one.day.month == 4 and one.stage == "weighed"]
    assert [(one.bags, one.sources) for one in found] == [(4, ("Bale Knoll",))]
    assert balance_of_piles(ledger)["Bale Knoll", 2023].short == 2
    (short,) = [one for one in flags.values() if one.rule == "short_bags"]
    assert (short.about, short.season, short.figures["short"]) == ("L23-7", 2023, 2)
    assert "label_twice" not in {one.rule for one in flags.values()}


def test_every_lot_is_led_back_to_the_cell_that_was_picked(told):
    register, _, _ = told
    lots = lots_told(follow_bags(register), register.known.placed)
    assert len([lot for lot in lots if lot.season == 2023]) == 31
    picked = {cell for season in SEASONS[:2] for cell, _ in season}
    for lot in lots:
        (cell, share), *_ = lot.shares.cells.items()
        assert cell in picked
        assert share > 0.95
        assert lot.shares.unknown == 0.0
        assert list(lot.days) == ["tallied", "lifted", "arrived", "dried"]
        assert lot.pure_pct is not None
        assert 10 < lot.moist_pct < 14


def test_the_surveyor_who_reads_high_is_found_out_by_dots(told):
    found, _, _ = told
    observers = found.crop.observers
    row = observers.people.index("SL")
    assert observers.pairs[row] == 14
    assert 0.88 < observers.factor_of("SL") < 0.97
    assert observers.factor_of("SW") == 1.0
    assert observers.covariance[row, row] < 0.06**2 < 0.12**2


def test_fifteen_cells_picked_and_measured_again_teach_the_growth(told):
    found, flags, _ = told
    learned = found.crop.learned
    assert len(learned.regrown) == 15
    assert learned.growth.variance < learned.prior.variance
    assert "growth_assumed:block:2025" in flags  # honest: two more winters


def test_each_class_has_a_second_opinion_by_its_sample(told):
    _, _, document = told
    by_class = {row["ground_class"]: row for row in document["classes"]}
    assert by_class["edge"]["estimator"] == "density"
    for name in ("lawn", "mound", "rushy"):
        assert by_class[name]["estimator"] == "ratio"
        assert by_class[name]["standing_crop_t_ha"]["low"] > 0


def test_the_corner_along_the_drain_dries_and_nothing_else_does(told):
    register, flags, _ = told
    drying = {f.cell: f.figures for f in flags.values() if f.rule == "drying"}
    assert sorted(drying) == sorted(DRYING)
    assert fmean(one["level_mm"] for one in drying.values()) == pytest.approx(-290, abs=20)
    assert fmean(one["relative_mm"] for one in drying.values()) == pytest.approx(-118, abs=20)
    (work,) = [one for one in works_of(register) if one.seen.what == "drain_blocked"]
    assert (work.seen.day, work.cells) == (DRAIN_BLOCKED, DRYING)


def test_scrub_spreads_in_teatree_neck_and_nowhere_else(told):
    _, flags, _ = told
    found = {f.cell: f.figures for f in flags.values() if f.rule == "scrub_spreading"}
    assert sorted(found) == ["A02", "B01", "B02", "C02"] == sorted(SCRUB)
    whole = found["B02"]  # touches all of them
    assert whole["plots"] == 8
    assert whole["change_pct"] == pytest.approx(9.0)
    assert whole["low_pct"] == pytest.approx(5.6, abs=0.05)


def test_six_pairs_say_that_rolling_is_likely_real(told):
    register, _, _ = told
    seen = trial_seen(register, register.block.trials)
    assert seen.trial == TRIAL
    assert len(seen.pairs) == 6
    assert all(one.as_drawn for one in seen.pairs)
    found = seen.found
    assert (found.mean, found.se) == pytest.approx((11.666667, 3.480102), abs=1e-6)
    assert (found.low, found.high) == pytest.approx((4.654092, 18.679241), abs=1e-6)
    assert "likely real; six pairs" in "".join(trial_verdict(seen))


def test_what_is_watched_on_pegged_plots_sets_no_crop(told):
    register, _, _ = told
    for one in register.crop.cells.values():
        assert one.walked is None or not any(
            reading.plot and reading.plot[0] in "WT"
            for survey in one.walked.surveys for reading in survey.readings)


def test_cells_measured_again_are_told_with_their_forecasts(told):
    register, _, _ = told
    found = recovery_of(register)
    assert sum(one.teaches for one in found.cells) == 15
    assert found.ended == ()
    assert found.narrowing[0].cells


def test_the_notice_of_the_season_was_given_in_time(told):
    # By hand, between 14 August and 15 September 2025: 15; 18-22; 25-29; 1-5; 8-12, that is
    # 1 + 5 + 5 + 5 + 5 = 21 clear working days.
    _, flags, document = told
    (permit,) = document["permits"]
    assert permit["notice"] == {
        "given": "2025-08-14", "start": "2025-09-15", "clear_days": 21, "needed": 20}
    assert not [name for name in flags if name.startswith(("late_notice", "permit_cap"))]


def test_the_return_of_the_year_before_was_filed_before_the_paper_count_came(demo, told):
    """Its copy comes out again to the byte; what is known now is told beside what was filed."""
    (permit,) = told[2]["permits"]
    filed = permit["filed"]
    assert (filed["year"], filed["at"], filed["same"]) == (2024, "2025-03-28", False)
    (copy,) = (demo / "reports").glob("return-KM-0417-2024-*.json")
    inputs = load_inputs(demo, known_by=instant(filed["known_by"]))
    (made,) = returns_of(inputs, [(inputs.block.permits[0], 2024)], asked=FILED_ON)
    assert returns_json([made.document]).encode() == copy.read_bytes()
    assert filed["taken"] == made.document["taken"]["value"]
    assert made.document["notice"]["clear_days"] == 24
    assert made.document["kept"]["standing_pct"] is None

    inputs = load_inputs(demo)
    (now,) = returns_of(inputs, [(inputs.block.permits[0], 2024)], asked=ON)
    assert filed["taken_now"] == now.document["taken"]["value"]
    # The paper book's nine bags, and what the lots that were dried since weigh.
    assert now.document["bags"] - made.document["bags"] == 9
    assert abs(filed["taken_now"] - filed["taken"]) > 9 * 5
    assert now.document["kept"]["of_cells"] == 8
    assert [one["rule"] for one in now.document["flags"]] == ["over_pick"]
