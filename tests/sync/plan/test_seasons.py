"""Plans of a small block: rest, forecasts, caps, neighbours, and what is told where none fits."""

import dataclasses
from datetime import date

import pytest

from sync.block import Feature, Permit
from sync.crop.ahead import allowed, grown, picked
from sync.crop.today import ahead_of
from sync.errors import SettingsError
from sync.plan.outlook import outlooks
from sync.plan.seasons import neighbours, plan_seasons
from sync.plan.spans import caps_of, spans_from
from sync.plan.wishes import Wishes
from sync.register.build import Register
from sync.settings import DAYS_PER_YEAR

ON = date(2026, 2, 20)
SURVEYED = ("A01", "A02", "A03", "B01", "B02", "C01")


def permit(**changes: object) -> Permit:
    return dataclasses.replace(
        Permit("X-1", (), date(2022, 9, 1), None, (9, 1), 3000.0, "kg_dry", None, None, None,
               None, None), **changes)


@pytest.fixture(name="book")
def a_book(mire):
    """Give a book of six surveyed cells, or an empty one."""
    return lambda cells=SURVEYED: _book(mire, cells)


@pytest.fixture
def registered(mire):
    """Build a register of a book, the surveyed one unless told."""
    def build(*, made=None, on: date = ON, **changes: object) -> Register:
        return mire.register(made or _book(mire, SURVEYED), on, mire.mire(**changes))
    return build


def _book(mire, cells):
    made = mire.Book()
    for cell in cells:
        for _ in range(3):
            made.quadrat(date(2025, 6, 20), cell)
    return made


def test_without_rules_every_ready_cell_is_picked_now(registered):
    found = registered()
    plan = plan_seasons(found, Wishes(5))

    assert plan.status == "optimal"
    assert [pick.cell for pick in plan.picks] == sorted(SURVEYED)
    assert {pick.season for pick in plan.picks} == {2025}
    for pick in plan.picks:
        assert pick.kg == found.cells[pick.cell].left_kg
        assert not pick.measure_first
    assert set(plan.idle) == {"A01", "A02", "A03", "B01", "B02", "B03", "C01", "C02",
                              "C03"} - set(SURVEYED)


def test_after_a_pick_a_cell_rests_and_is_measured_first(registered):
    plan = plan_seasons(registered(), Wishes(11))
    of_a01 = [pick for pick in plan.picks if pick.cell == "A01"]

    assert [pick.season for pick in of_a01] == [2025, 2030, 2035]
    assert [pick.measure_first for pick in of_a01] == [False, True, True]
    assert of_a01[1].day == date(2031, 2, 20)


def test_the_next_pick_is_that_of_the_walk(registered):
    found = registered()
    plan = plan_seasons(found, Wishes(6))
    first, second = (pick for pick in plan.picks if pick.cell == "A01")
    cell = found.crop.cells["A01"]
    assert cell.walked is not None
    left = picked(ahead_of(cell, cell.walked), first.kg, floor=0.02)
    years = (second.day - first.day).days / DAYS_PER_YEAR

    assert second.kg == pytest.approx(allowed(grown(left, years)).may_take_kg)


def test_the_cap_of_a_permit_year_holds_the_seasons_that_count_for_it(registered):
    found = registered(permits=(permit(),))
    plan = plan_seasons(found, Wishes(4))

    for season in plan.seasons:
        assert 0.0 < season.planned.kg <= 3000.0
        assert season.planned.low_kg < season.planned.kg < season.planned.high_kg
    assert [cap.first.year for season in plan.seasons for cap, _ in season.caps] == [
        2025, 2026, 2027, 2028]


def test_two_seasons_may_count_for_one_permit_year(registered):
    found = registered(permits=(permit(year_start=(1, 1)),))
    caps, untold = caps_of(found, spans_from(ON, (7, 1), 3, least_days=28))

    assert [(cap.first, cap.periods) for cap in caps] == [
        (date(2026, 1, 1), (0, 1)), (date(2027, 1, 1), (2,))]
    assert untold == ()


def test_what_is_picked_of_a_permit_year_comes_off_its_cap(book, registered):
    made = book()
    made.bags(date(2025, 11, 3), "C03", 100)
    found = registered(permits=(permit(),), made=made)
    plan = plan_seasons(found, Wishes(2))
    (cap, kg), = plan.seasons[0].caps

    assert cap.kg == pytest.approx(3000.0 - 700.0)
    assert kg == pytest.approx(plan.seasons[0].planned.kg)
    assert kg <= cap.kg
    assert plan.seasons[0].already_kg == pytest.approx(700.0)


def test_a_cap_in_wet_kg_is_left_out_and_told(registered):
    found = registered(permits=(permit(cap_unit="kg_wet"),))

    assert plan_seasons(found, Wishes(2)).untold_caps == ("X-1",)


def test_a_season_without_a_permit_in_its_middle_is_not_planned(registered):
    found = registered(permits=(permit(until=date(2027, 8, 31)),))
    plan = plan_seasons(found, Wishes(4, even_pct=50.0))

    assert plan.without_permit == (2027, 2028)
    assert {pick.season for pick in plan.picks} <= {2025, 2026}
    assert plan.picks


def test_neighbours_are_not_picked_in_one_season(registered):
    plan = plan_seasons(registered(), Wishes(5, no_neighbours=True))
    pairs = neighbours(dict.fromkeys(SURVEYED))
    by_season = {(pick.season, pick.cell) for pick in plan.picks}

    assert ("A01", "A02") in pairs
    assert ("A01", "B02") not in pairs
    assert all(not {(season, a), (season, b)} <= by_season
               for a, b in pairs for season in range(2025, 2030))
    assert {pick.cell for pick in plan.picks} == set(SURVEYED)


def test_seasons_are_even_within_what_is_asked(registered):
    plan = plan_seasons(registered(), Wishes(3, even_pct=10.0))
    kg = [season.planned.kg for season in plan.seasons]
    mean = sum(kg) / 3

    assert mean > 0.0
    assert all(abs(one - mean) <= 0.1 * mean + 1e-6 for one in kg)


def test_seasons_of_nothing_do_not_pass_for_even_ones(registered):
    plan = plan_seasons(registered(), Wishes(7, even_pct=0.0))

    assert plan.status == "infeasible"
    assert any(one.startswith("A plan could be made if seasons might be farther from their mean")
               for one in plan.clash)


def test_a_cell_is_moved_by_hand(registered):
    plan = plan_seasons(registered(), Wishes(4, fixed=(("A01", 2027),), never=("B02",)))

    assert [pick.season for pick in plan.picks if pick.cell == "A01"] == [2027]
    assert plan.idle["B02"] == "never to be picked, as asked"


def test_a_cell_that_rests_is_told_with_its_rest(book, registered):
    made = book()
    made.bags(date(2025, 11, 3), "A01", 100)
    made.finished(date(2025, 11, 3), "A01")
    found = registered(made=made)
    plan = plan_seasons(found, Wishes(8, fixed=(("A01", 2027),)))

    assert plan.status == "infeasible"
    assert plan.picks == ()
    assert plan.clash == (
        ("A01 cannot be picked in 2027; rests until 2030-11-03, and measured first; "
         "it can in 2030, 2031, 2032"),)


def test_a_clash_of_cap_and_wish_names_both_and_by_how_much(registered):
    found = registered(permits=(permit(),))
    plan = plan_seasons(found, Wishes(1, at_least_t=4.0))

    assert plan.status == "infeasible"
    assert len(plan.clash) == 2
    assert plan.clash[0].startswith(
        "A plan could be made if the cap of permit X-1 were higher (by ")
    assert plan.clash[1].startswith(
        "A plan could be made if less were asked of a season (less by ")


def test_two_fixed_neighbours_clash_with_the_neighbour_rule(registered):
    plan = plan_seasons(registered(), Wishes(
        3, no_neighbours=True, fixed=(("A01", 2026), ("A02", 2026))))

    assert "A plan could be made without fix A01=2026" in plan.clash
    assert ("A plan could be made if neighbours might be picked in one season "
            "(A01 and A02 in 2026)") in plan.clash


def test_cells_nobody_measured_count_only_when_asked_and_from_the_second_season(registered):
    found = registered()
    without, with_them = (plan_seasons(found, Wishes(3, with_unsurveyed=w)) for w in (0, 1))
    news = [pick for pick in with_them.picks if pick.unsurveyed]

    assert sorted(without.could_open_kg) == ["B03", "C02", "C03"]
    assert all(kg > 0.0 for kg in without.could_open_kg.values())
    assert {pick.cell for pick in news} == {"B03", "C02", "C03"}
    assert {(pick.season, pick.measure_first) for pick in news} == {(2026, True)}


def test_closed_ground_opens_when_its_closing_ends(mire, registered):
    closed = Feature(mire.polygon(0, 0, 100, 100), {"why": "nests"}, None, date(2026, 9, 30))
    found = registered(closures=(closed,))
    known = outlooks(found, spans_from(ON, (7, 1), 3, least_days=28), with_unsurveyed=False)

    assert min(known["A01"].firsts) == 1
    assert known["A01"].firsts[1].day == date(2026, 10, 1)
    assert known["A01"].firsts[1].kg > 0.0


def test_next_to_nothing_of_a_season_is_passed_over():
    spans = spans_from(date(2026, 6, 10), (7, 1), 2, least_days=28)

    assert [(one.season, one.first) for one in spans] == [
        (2026, date(2026, 7, 1)), (2027, date(2027, 7, 1))]


def test_all_odd_wishes_are_refused_at_once(registered):
    with pytest.raises(SettingsError) as refused:
        plan_seasons(registered(), Wishes(3, even_pct=-1.0, fixed=(("Z99", 2026),),
                                          never=("Y01",), least_kg=-5.0))

    assert refused.value.mistakes == (
        "even=-1: from 0 to under 100 %", "least-kg=-5: kg, 0 or more",
        "fix=Z99=2026: no such cell on this block", "never=Y01: no such cell on this block")


def test_a_season_beyond_the_plan_is_refused(registered):
    with pytest.raises(SettingsError, match="the plan's seasons are 2025 to 2027"):
        plan_seasons(registered(), Wishes(3, fixed=(("A01", 2031),)))


def test_the_order_of_records_moves_nothing(book, registered):
    made = book()
    turned = book(())
    turned.kept = list(reversed(made.kept))

    assert plan_seasons(registered(made=made), Wishes(4)).picks == plan_seasons(
        registered(made=turned), Wishes(4)).picks


def test_a_block_nobody_measured_has_a_plan_of_nothing(book, registered):
    plan = plan_seasons(registered(made=book(())), Wishes(3))

    assert plan.status == "optimal"
    assert plan.picks == ()
