import json
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldapp.record import encode_track, stamp
from sync.intake.check import Held, check_line
from sync.intake.events import events_of
from sync.intake.fixes import ms_of
from sync.intake.merge import merge

ZONE = "Pacific/Auckland"
T0 = datetime(2026, 1, 20, 18, 0, tzinfo=UTC)
DAY = date(2026, 1, 21)
HERE = {"lat": -42.8571, "lon": 169.6941, "age_s": 1}
P3 = "p3-k7f2"
QUADRAT = {"when": "survey", "side_m": 0.5, "cover_pct": 60, "depth_mm": [80, 95, 70]}


def a(seq, kind, *, device=P3, **fields):
    return {"device": device, "seq": seq, "kind": kind, "person": "MT", "where": HERE,
            "at": stamp(T0 + timedelta(minutes=seq)), **fields}


def shed(seq, kind, **fields):
    return a(seq, kind, **{"device": "shed", "person": "O", "where": None, **fields})


def held(record):
    found = check_line(json.dumps(record).encode(), file="f", number=1, sealed=True)
    assert isinstance(found, Held), found
    return found


def events(*records, season_start=(7, 1)):
    merged = merge([held(one) for one in records], zone=ZONE, clock_off_s=120.0)
    return events_of(merged.by_kind, season_start=season_start)


def test_every_event_names_the_record_that_says_it():
    found = events(
        a(1, "outing", state="start", role="picker"), a(2, "bag", bags=1.5),
        a(3, "quadrat", **QUADRAT), a(4, "skip", plot="031", why="pool"),
        a(5, "clip", clip="P3-1", cut="plug"), a(6, "mark", what="pile", name="P3-2"),
        shed(1, "batch", batch="B1", stage="dried", bags=40, dry_kg=270),
        shed(2, "past_pick", cell="C07", **{"from": "2019-10-01"}),
        shed(3, "work", what="sprayed", cells=["C07"], hold_days=28),
        shed(4, "ruling", flag="x", says="agreed", seen="a" * 64))
    assert [one.name for one in found.outings] == [f"{P3}:1"]
    assert [one.name for one in found.bags] == [f"{P3}:2"]
    assert [one.name for one in found.quadrats] == [f"{P3}:3", f"{P3}:4"]
    assert [one.names for one in found.clips] == [(f"{P3}:5",)]
    assert [one.name for one in found.marks] == [f"{P3}:6"]
    assert [one.name for one in found.lots] == ["shed:1"]
    assert [one.name for one in found.past_picks] == ["shed:2"]
    assert [one.name for one in found.sprayings] == ["shed:3"]
    assert [one.name for one in found.rulings] == ["shed:4"]


@pytest.mark.parametrize("why", ["pool", "scrub"])
def test_a_pool_or_scrub_is_a_quadrat_without_moss(why):
    (seen,) = events(a(1, "skip", plot="031", why=why)).quadrats
    assert (seen.bare, seen.cover_pct, seen.depth_mm, seen.plot) == (True, 0.0, (), "031")


@pytest.mark.parametrize("why", ["flooded_today", "unsafe", "other"])
def test_what_was_not_seen_is_no_quadrat(why):
    assert events(a(1, "skip", plot="031", why=why)).quadrats == ()


def test_2026_11_25_bare_plots_stand_among_the_quadrats_in_time_order():
    found = events(a(1, "quadrat", plot="030", **QUADRAT), a(2, "skip", plot="031", why="pool"),
                   a(3, "quadrat", plot="032", **QUADRAT))
    assert [one.plot for one in found.quadrats] == ["030", "031", "032"]


def test_a_mended_quadrat_keeps_the_first_ones_person_and_day():
    mend = shed(1, "quadrat", instead_of=f"{P3}:1", at="2026-02-20T00:00:00.000Z",
                **{**QUADRAT, "cover_pct": 70})
    (seen,) = events(a(1, "quadrat", **QUADRAT), mend).quadrats
    assert (seen.name, seen.cover_pct, seen.person, seen.day) == ("shed:1", 70.0, "MT", DAY)


def test_a_clip_is_cut_in_the_field_and_weighed_weeks_later():
    cut = a(1, "clip", clip="P3-1", cut="plug", area_m2=0.0625, from_mm=0, to_mm=100)
    weighed = shed(1, "clip", clip="P3-1", dry_g=71.25, dried="oven",
                   at=stamp(T0 + timedelta(days=21)))
    (clip,) = events(weighed, cut).clips
    assert clip.fields == {"cut": "plug", "area_m2": 0.0625, "from_mm": 0, "to_mm": 100,
                           "dry_g": 71.25, "dried": "oven"}
    assert (clip.day, clip.names, clip.twice) == (DAY, (f"{P3}:1", "shed:1"), ())
    assert clip.where is not None


def test_a_clip_field_with_two_values_is_told_and_the_same_value_twice_is_not():
    clips = [a(1, "clip", clip="P3-1", area_m2=0.0625), shed(1, "clip", clip="P3-1", dry_g=71),
             shed(2, "clip", clip="P3-1", dry_g=71.0), shed(3, "clip", clip="P3-1", dry_g=73)]
    assert events(*clips[:3]).clips[0].twice == ()
    assert events(*clips).clips[0].twice == ("dry_g",)


def test_a_clip_weighed_anew_by_a_mend_has_one_value():
    clips = [shed(1, "clip", clip="P3-1", dry_g=71),
             shed(2, "clip", clip="P3-1", dry_g=73, instead_of="shed:1")]
    (clip,) = events(*clips).clips
    assert (clip.fields["dry_g"], clip.twice) == (73, ())


@pytest.mark.parametrize(("days", "clips"), [(183, 1), (184, 2)])
def test_a_label_written_again_in_another_season_is_another_clip(days, clips):
    again = a(2, "clip", clip="P3-1", dry_g=71, at=stamp(T0 + timedelta(days=days)))
    assert len(events(a(1, "clip", clip="P3-1", cut="plug"), again).clips) == clips


def test_bags_are_those_of_whoever_carries_the_phone_unless_it_says_otherwise():
    mine, other = events(a(1, "bag", bags=1), a(2, "bag", bags=1, **{"for": "DW"})).bags
    assert (mine.picker, mine.own) == ("MT", True)
    assert (other.picker, other.own) == ("DW", False)


def outing(seq, state, **fields):
    return a(seq, "outing", state=state, **({"role": "picker"} if state == "start" else {}),
             **fields)


def confirmed(*records):
    return {bag.seq: bag.confirmed for bag in events(*records).bags}


def test_a_confirmed_cell_holds_from_start_to_end():
    records = [a(1, "bag", bags=1), outing(2, "start", cell="C07"), a(3, "bag", bags=1),
               outing(4, "pause"), a(5, "bag", bags=1), outing(6, "resume"), a(7, "bag", bags=1),
               outing(8, "resume", cell="C08"), a(9, "bag", bags=1), outing(10, "end"),
               a(11, "bag", bags=1), outing(12, "start"), a(13, "bag", bags=1)]
    assert confirmed(*records) == {
        1: None, 3: "C07", 5: "C07", 7: "C07", 9: "C08", 11: None, 13: None}


def test_a_start_without_an_end_before_it_confirms_anew():
    records = [outing(1, "start", cell="C07"), outing(2, "start"), a(3, "bag", bags=1)]
    assert confirmed(*records) == {3: None}


def test_a_cell_confirmed_on_one_phone_says_nothing_of_another():
    other = a(2, "bag", bags=1, device="p1-a2b3")
    assert confirmed(outing(1, "start", cell="C07"), other) == {2: None}


def test_a_mended_bag_keeps_the_cell_confirmed_when_it_was_first_noted():
    records = [outing(1, "start", cell="C07"), a(2, "bag", bags=1), outing(3, "end"),
               shed(1, "bag", bags=2, instead_of=f"{P3}:2")]
    (bag,) = events(*records).bags
    assert (bag.name, bag.bags, bag.device, bag.confirmed) == ("shed:1", 2.0, P3, "C07")


def test_a_mended_start_confirms_from_where_the_first_one_stood():
    records = [outing(1, "start", cell="C07"), a(2, "bag", bags=1),
               outing(3, "start", cell="C08", instead_of=f"{P3}:1")]
    assert confirmed(*records) == {2: "C08"}


def test_a_paper_count_names_its_hole():
    (bag,) = events(shed(1, "bag", bags=9, cell="K04", covers=["p2-c3d4", 3, 5])).bags
    assert (bag.cell, bag.covers, bag.confirmed) == ("K04", ("p2-c3d4", 3, 5), None)


@pytest.mark.parametrize("fields", [
    {"stage": "weighed", "bags": 40, "wet_kg": 1000}, {"stage": "dried", "bags": 40},
    {"stage": "dried", "dry_kg": 270}, {"stage": "dried", "bags": 40, "dry_kg": 0}])
def test_a_batch_is_a_lot_only_when_dried_counted_and_weighed(fields):
    assert events(shed(1, "batch", batch="B1", **fields)).lots == ()


def test_what_a_batch_was_made_of_adds_up_over_its_stages():
    found = events(
        shed(1, "batch", batch="B1", stage="weighed", **{"from": ["P3-2", "P3-1"]}),
        shed(2, "batch", batch="B1", stage="dried", bags=40, dry_kg=270, **{"from": ["P3-3"]}))
    day = found.lots[0].day
    assert found.batch_sources == {"B1": ((day, "P3-1"), (day, "P3-2"), (day, "P3-3"))}
    assert found.lots[0].sources == ("P3-3",)


def past(**fields):
    (pick,) = events(shed(1, "past_pick", cell="C07", **fields)).past_picks
    return pick


def test_a_past_pick_without_a_last_day_lasts_to_the_end_of_its_season():
    assert past(**{"from": "2019-10-01"}).last == date(2020, 6, 30)
    assert past(**{"from": "2019-06-30"}).last == date(2019, 6, 30)
    assert past(**{"from": "2019-07-01"}).last == date(2020, 6, 30)


def test_a_past_pick_says_all_unless_it_says_a_share():
    pick = past(**{"from": "2019-10-01", "to": "2019-10-05"})
    assert (pick.first, pick.last) == (date(2019, 10, 1), date(2019, 10, 5))
    assert (pick.share_pct, pick.dry_kg) == (100.0, None)
    nothing = past(share_pct=0, dry_kg=0, **{"from": "2019-10-01"})
    assert (nothing.share_pct, nothing.dry_kg) == (0.0, 0)


@pytest.mark.parametrize("said", [
    {"from": "0001-01-01"}, {"from": "9999-12-31"}, {"from": "2019-10-01", "to": "9999-12-31"}])
def test_2026_11_25_a_past_pick_of_a_mistyped_year_leaves_room_to_reckon_from(said):
    pick = past(**said)
    assert pick.first <= pick.last
    assert pick.first - timedelta(days=36_525)
    assert pick.last + timedelta(days=36_525)


def sprayed(hold_days, **fields):
    record = shed(1, "work", what="sprayed", cells=["C07"], hold_days=hold_days, **fields)
    (found,) = events(record).sprayings
    return found


def test_a_hold_counts_its_days_from_the_local_day_of_the_spraying():
    found = sprayed(28, at="2025-12-31T11:00:00.000Z", product="x")
    assert (found.since, found.until) == (date(2026, 1, 1), date(2026, 1, 29))
    assert sprayed(0).until == DAY


@pytest.mark.parametrize("hold_days", [2_600_000, 10**9, 10**300])
def test_2026_11_25_a_hold_of_endless_days_ends_after_any_day_asked_about(hold_days):
    until = sprayed(hold_days).until
    assert until >= date(9000, 1, 1)
    assert until + timedelta(days=36_525)


def test_a_spraying_may_have_an_outline_instead_of_cells():
    outline = {"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [1, 1], [0, 0]]]}
    record = shed(1, "work", what="sprayed", outline=outline, hold_days=3)
    (found,) = events(record).sprayings
    assert (found.cells, found.outline) == ((), outline)


def test_cells_are_finished_on_the_local_day_of_the_end_that_names_them():
    found = events(outing(1, "end", finished=["C07", "C08"]),
                   outing(2, "end", finished=["C07"], at="2026-01-22T18:00:00.000Z"),
                   outing(3, "end", finished=[]))
    assert found.finished == {"C07": (DAY, date(2026, 1, 23)), "C08": (DAY,)}


def test_an_end_mended_by_the_shed_finishes_what_the_mend_says():
    found = events(outing(1, "end", finished=["C07"]),
                   shed(1, "outing", state="end", finished=["C08"], instead_of=f"{P3}:1"))
    assert found.finished == {"C08": (DAY,)}


def track(seq, fixes, **fields):
    return a(seq, "track", **{**encode_track(fixes), **fields})


def fix(seconds, lat=-42.85, lon=169.69, acc_m=4.0):
    return (T0 + timedelta(seconds=seconds), lat, lon, acc_m)


def test_the_tracks_of_a_phone_are_one_list_in_time_order_and_a_doubled_instant_counts_once():
    records = [track(1, [fix(10), fix(20)]), track(2, [fix(20, lat=-42.0), fix(0)]),
               track(1, [fix(5)], device="p1-a2b3")]
    tracks = events(*records).tracks
    assert tracks[P3].at_ms.tolist() == [ms_of(fix(s)[0]) for s in (0, 10, 20)]
    assert tracks[P3].lat[2] == -42.85, "of one instant the earlier record's"
    assert tracks["p1-a2b3"].at_ms.tolist() == [ms_of(fix(5)[0])]


def test_the_points_of_a_track_are_mended_like_its_own_time():
    behind_s = -5_270_400.0
    behind = T0 + timedelta(seconds=behind_s)
    record = track(1, [(behind, -42.85, 169.69, 4.0)], at=stamp(behind), lag_s=behind_s)
    (mended,) = events(record).tracks.values()
    assert mended.at_ms.tolist() == [ms_of(T0)]
    assert (mended.lat[0], mended.lon[0], mended.acc_m[0]) == (-42.85, 169.69, 4.0)


def test_a_thinned_track_has_no_points():
    thinned = {"sum": "a" * 64, "spans": [], "swept_m2": {}}
    assert events(a(1, "track", thinned=thinned)).tracks == {}


def test_2026_11_25_a_track_that_says_thinned_null_is_whole():
    assert len(events(track(1, [fix(0), fix(5)], thinned=None)).tracks[P3]) == 2


def test_2026_11_25_a_fix_mended_out_of_the_calendar_is_left_out():
    points = {"t0": "0001-01-01T00:00:01.000Z", "dt_ms": [0, 10**13], "lat_e7": [1, 1],
              "lon_e7": [1, 1]}
    record = a(1, "track", lag_s=4.0e7, **points)
    assert len(events(record).tracks[P3]) == 1


@given(st.lists(st.sampled_from(["start", "pause", "resume", "end", "bag"]), max_size=12),
       st.data())
def test_the_confirmed_cell_of_a_bag_is_that_of_the_last_word_before_it(states, data):
    records, open_cell, expected = [], None, {}
    for seq, state in enumerate(states, start=1):
        if state == "bag":
            records.append(a(seq, "bag", bags=1))
            expected[seq] = open_cell
            continue
        cell = data.draw(st.sampled_from([None, "C07", "D08"])) \
            if state in ("start", "resume") else None
        records.append(outing(seq, state, **({"cell": cell} if cell else {})))
        if state in ("start", "end"):
            open_cell = cell
        elif state == "resume":
            open_cell = cell or open_cell
    assert confirmed(*records) == expected


def test_a_radius_that_is_not_known_is_none_that_can_be_compared():
    known, unknown = track(1, [fix(0)]), track(2, [fix(5)], acc_m=[255])
    (found,) = events(known, unknown).tracks.values()
    assert found.acc_m[0] == 4.0
    assert np.isnan(found.acc_m[1])


def test_steps_longer_than_a_machines_whole_number_lose_only_their_own_fixes():
    points = {"t0": "2026-01-21T20:00:00.000Z", "dt_ms": [0, 10**30, 5 - 10**30],
              "lat_e7": [-428500000, 10**25, 1 - 10**25], "lon_e7": [1696900000, 0, 0]}
    (found,) = events(a(1, "track", **points)).tracks.values()
    assert len(found) == 2
    assert found.lat.tolist() == pytest.approx([-42.85, -42.8499999])
