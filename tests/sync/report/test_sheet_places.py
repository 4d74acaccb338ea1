"""Piles, marks, pegs and plots of a ground sheet."""

from datetime import UTC, date, datetime

import pytest

from sync.report.piles import waiting_bags
from sync.report.sheet_places import sheet_marks, sheet_pegs
from sync.report.sheet_plots import sheet_plots

AT = datetime(2026, 2, 15, 0, tzinfo=UTC)


@pytest.fixture
def with_batches(made):
    """The season with some batches noted at the shed, each (label, stage, fields)."""
    def build(*batches, on=made.ON):
        phones = made.season()
        for label, stage, fields in batches:
            phones[2].note("batch", AT, "O", batch=label, stage=stage, **fields)
        return made.small_register(phones, on=on)

    return build


def test_bags_wait_where_they_were_tallied_until_somebody_lifts_them(register):
    assert waiting_bags(register) == {
        ("P2-001", 2024): 60, ("P2-002", 2025): 5, ("P2-003", 2025): 20}


@pytest.mark.parametrize(("batches", "left"), [
    ([("L-1", "lifted", {"bags": 6, "from": ["P2-003"]})], {"P2-002": 5, "P2-003": 14}),
    ([("L-1", "lifted", {"bags": 6, "from": ["P2-003"]}),
      ("L-2", "lifted", {"bags": 6, "from": ["P2-003"]})], {"P2-002": 5, "P2-003": 8}),
    ([("L-1", "lifted", {"from": ["P2-003"]})], {"P2-002": 5}),
    ([("L-1", "lifted", {"bags": 8, "from": ["P2-003", "P2-002"]})], {"P2-003": 17}),
    ([("L-1", "lifted", {"bags": 6, "from": ["P2-003"]}),
      ("L-1", "arrived", {"bags": 6}), ("L-1", "dried", {"bags": 6, "dry_kg": 40.0})],
     {"P2-002": 5, "P2-003": 14}),
    ([("L-1", "dried", {"bags": 20, "dry_kg": 130.0, "from": ["P2-003"]})], {"P2-002": 5}),
    ([("P2-003", "lifted", {"bags": 20})], {"P2-002": 5}),
    ([("L-1", "weighed", {"bags": 6, "wet_kg": 500.0, "from": ["P2-003"]})],
     {"P2-002": 5, "P2-003": 20}),
    ([("L-1", "lifted", {"bags": 40, "from": ["P2-003"]})], {"P2-002": 5}),
    ([("L-1", "lifted", {"bags": 6, "from": ["P2-999"]})], {"P2-002": 5, "P2-003": 20}),
])
def test_a_batch_takes_its_bags_off_its_piles_once(with_batches, batches, left):
    found = waiting_bags(with_batches(*batches))
    assert {label: bags for (label, season), bags in found.items() if season == 2025} == left


def test_a_batch_speaks_of_the_season_before_where_its_own_has_no_such_label(with_batches):
    register = with_batches(("L-1", "lifted", {"bags": 56, "from": ["P2-001"]}))
    assert waiting_bags(register)["P2-001", 2024] == 4


def test_bags_tallied_or_lifted_after_the_day_play_no_part(with_batches):
    batch = ("L-1", "lifted", {"from": ["P2-002"]})
    assert waiting_bags(with_batches(batch, on=date(2026, 2, 1))) == {
        ("P2-001", 2024): 60, ("P2-002", 2025): 5}


def test_a_pile_two_seasons_old_is_not_waited_for(made):
    assert waiting_bags(made.small_register(on=date(2026, 7, 1))) == {
        ("P2-002", 2025): 5, ("P2-003", 2025): 20}


def test_marks_are_piles_with_bags_and_what_else_was_marked(register):
    assert sheet_marks(register) == [
        {"what": "pile", "name": "P2-001", "at": [105, 200], "bags": 60},
        {"what": "pile", "name": "P2-002", "at": [110, 90], "bags": 5},
        {"what": "hazard", "name": "hazard 1", "at": [210, 110], "bags": None},
    ]


def test_an_empty_pile_and_a_mark_without_a_place_are_left_out(made):
    phones = made.season()
    phones[1].note("mark", AT, what="pile", name="P2-009", where=made.where(10, 10))
    phones[1].note("mark", AT, what="weed", name="weed 1", where=None)
    assert len(sheet_marks(made.small_register(phones))) == 3


def test_the_last_mark_of_a_thing_holds_and_next_season_s_is_another_thing(made):
    phones = made.season()
    phones[1].note("mark", AT, what="hazard", name="hazard 1", where=made.where(215, 120))
    later = datetime(2026, 7, 2, tzinfo=UTC)
    phones[1].note("mark", later, what="hazard", name="hazard 1", where=made.where(20, 20))

    def hazards(on):
        return [one["at"] for one in sheet_marks(made.small_register(phones, on=on))
                if one["what"] == "hazard"]

    assert hazards(made.ON) == [[215, 120]]
    assert hazards(date(2026, 7, 3)) == [[215, 120], [20, 20]]


def test_pegs_are_those_of_pegged_plots_and_those_marked(made, register):
    assert sheet_pegs(register) == [{"name": "002", "at": [70, 60]}]

    phones = made.season()
    phones[1].note("mark", AT, what="peg", name="002", where=made.where(72, 61))
    phones[1].note("mark", AT, what="peg", name="well", where=made.where(5, 5))
    assert sheet_pegs(made.small_register(phones)) == [
        {"name": "002", "at": [72, 61]}, {"name": "well", "at": [5, 5]}]
    assert len(sheet_marks(made.small_register(phones))) == 3


def plots_of(made, *notes, plots=None):
    phones = made.season()
    for kind, person, fields in notes:
        phones[0].note(kind, AT, person, **fields)
    register = made.small_register(phones, plots=made.PLOTS if plots is None else plots)
    return [(one["plot"], one["spare"]) for one in sheet_plots(register)]


QUADRAT = {"when": "survey", "side_m": 0.5, "cover_pct": 60, "depth_mm": [80, 85, 90]}


def test_plots_that_were_read_or_found_bare_are_done(made, register):
    assert plots_of(made) == [("012", False), ("013", True)]
    assert sheet_plots(register)[0] == {
        "plot": "012", "cell": "C03", "at": [220, 260], "when": "survey", "spare": False,
        "again": False, "ground_class": "mound",
    }
    assert plots_of(made, ("skip", "SW", {"plot": "012", "why": "scrub"})) == []


@pytest.mark.parametrize("why", ["unsafe", "flooded_today", "other"])
def test_a_plot_that_could_not_be_seen_calls_its_spare(made, why):
    assert plots_of(made, ("skip", "SW", {"plot": "012", "why": why})) == [("013", False)]


def test_a_spare_that_was_read_stands_in_for_good(made):
    skip = ("skip", "SW", {"plot": "012", "why": "unsafe"})
    assert plots_of(made, skip, ("quadrat", "SW", {"plot": "013", **QUADRAT})) == []


def test_without_a_spare_left_the_plot_is_asked_for_again(made):
    skips = [("skip", "SW", {"plot": name, "why": "flooded_today"}) for name in ("012", "013")]
    assert plots_of(made, *skips) == [("012", False)]


def test_a_quadrat_outweighs_a_skip(made):
    skip = ("skip", "SW", {"plot": "012", "why": "unsafe"})
    assert plots_of(made, skip, ("quadrat", "SW", {"plot": "012", **QUADRAT})) == []


def test_a_plot_asked_for_twice_waits_for_a_second_person(made):
    plots = tuple(
        made.dataclasses.replace(one, again=one.name == "001") for one in made.PLOTS)
    assert ("001", False) in plots_of(made, plots=plots)

    at = datetime(2024, 6, 21, 2, tzinfo=UTC)
    phones = made.season()
    phones[1].note("quadrat", at, "MT", plot="001", again=True, **QUADRAT)
    register = made.small_register(phones, plots=plots)
    assert "001" not in [one["plot"] for one in sheet_plots(register)]


def test_a_plot_outside_the_block_of_the_day_is_not_walked_to(made):
    plots = (*made.PLOTS, made.plot("099", "K09", 1050, 850))
    assert plots_of(made, plots=plots) == [("012", False), ("013", True)]
