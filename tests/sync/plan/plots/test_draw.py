"""The draw: the same seed gives the same; places inside, ids on and on, pegs walked again."""

import dataclasses
from datetime import date

import numpy as np
import pytest
import shapely

from sync.block import Feature
from sync.errors import SurveyError

ON = date(2027, 6, 1)


def told(drawn):
    return [(p.name, p.cell, p.at, p.spare, p.chance) for p in drawn.plots]


def test_the_same_seed_draws_the_same_and_another_another(draw):
    assert told(draw(ON, plots=())) == told(draw(ON, plots=()))
    assert told(draw(ON, plots=())) != told(draw(ON, seed=8, plots=()))


def test_plots_lie_inside_their_cell_off_its_border_and_off_closed_ground(draw, mire):
    pool = Feature(mire.polygon(150, 150, 250, 250), {"why": "pool"})
    drawn = draw(ON, 2, 2, plots=(), closures=[pool])
    shut = shapely.box(mire.E0 + 150, mire.N0 + 150, mire.E0 + 250, mire.N0 + 250)
    squares = {c.cell: c.ground for c in drawn.frame.cells}
    for plot in drawn.plots:
        place = shapely.Point(plot.at)
        assert squares[plot.cell].covers(place)
        assert place.distance(shut) >= 1.0 - 1e-3
    for walk in drawn.walks:
        way = [drawn.gate]
        for bends, plot in zip(walk.bends, walk.plots, strict=False):
            way += [*bends, plot.at]
        way += [*walk.bends[-1], drawn.gate]
        assert not shapely.LineString(way).intersects(shut.buffer(-1e-3))
        assert walk.length_m == pytest.approx(shapely.LineString(way).length)


def test_each_cell_has_its_quadrats_a_spare_and_its_chance(draw):
    drawn = draw(ON, 2, 1, plots=())
    for cell in drawn.cells:
        mine = [p for p in drawn.plots if p.cell == cell.cell]
        assert sum(p.spare for p in mine) == 1
        assert sum(not p.spare for p in mine) == drawn.effort.quadrats[cell.ground_class]
        assert {p.chance for p in mine} == {drawn.effort.chances[cell.cell]}
    walked = [p.name for walk in drawn.walks for p in walk.plots]
    assert sorted(walked) == sorted(p.name for p in drawn.plots if not p.spare)


def test_ids_go_on_after_every_plot_of_the_file_and_of_any_record(draw, mire):
    plots = [dataclasses.replace(p, name=f"{40 + i}")
             for i, p in enumerate(mire.plots_of("A01", 2))]
    drawn = draw(ON, plots=plots, then=lambda book: book.note(
        "skip", date(2024, 6, 1), "SW", plot="77", why="unsafe"))
    new = [p.name for p in drawn.plots if not p.old]
    assert new == [f"{78 + i:03d}" for i in range(len(new))]


def test_a_peg_is_walked_again_and_a_plot_never_read_is_used_up(draw, mire):
    pegged, unread, read = (
        dataclasses.replace(p, name=str(i)) for i, p in enumerate(mire.plots_of("A01", 3), 1))
    chosen = dataclasses.replace(unread, name="4", drawn=False)
    drawn = draw(ON, 2, 2, plots=[pegged, unread, read, chosen], then=lambda book: (
        book.note("quadrat", date(2023, 6, 15), "SW", plot="1", when="survey", side_m=0.5,
                  cover_pct=50, depth_mm=[80, 90, 70]),
        book.note("quadrat", date(2023, 6, 15), "SW", plot="3", when="survey", side_m=0.5,
                  cover_pct=50, depth_mm=[80, 90, 70]),
        book.note("mark", date(2023, 6, 15), "SW", what="peg", name="peg 1",
                  where=mire.where(50, 50))))
    mine = {p.name: p for p in drawn.plots if p.cell == "A01" and not p.spare}
    assert mine["1"].old
    assert mine["1"].pegged
    assert mine["2"].old
    assert not mine["2"].pegged
    assert not {"3", "4"} & set(mine)
    assert len(mine) == drawn.effort.quadrats["lawn"]


def test_plots_of_a_draw_that_is_replaced_are_not_used_up(draw):
    unread = draw(ON, 2, 2)
    assert any(p.old for p in unread.plots)
    names = [p.name for p in unread.register.block.plots]
    assert not any(p.old for p in draw(ON, 2, 2, withdrawn=names).plots)


def test_more_days_buy_more_and_time_left_over_goes_to_quadrats(draw):
    short = draw(ON, plots=(), survey_day_h=1.0)
    whole = draw(ON, plots=(), survey_day_h=2.75)
    long_ = draw(ON, 3, 1, plots=())
    assert len(short.cells) < len(whole.cells) == 9
    assert sum(not p.spare for p in long_.plots) > sum(not p.spare for p in whole.plots)
    assert all(w.minutes < 1.2 * 60.0 for w in short.walks)


def test_each_cell_is_drawn_as_often_as_its_chance_says(draw):
    # How many fit is found by trials, so it may differ by one from seed to seed.
    drawn = [draw(ON, plots=(), survey_day_h=1.2, seed=seed) for seed in range(150)]
    often: dict[str, float] = {}
    expected: dict[str, float] = {}
    spread: dict[str, float] = {}
    for one in drawn:
        for cell, chance in one.effort.chances.items():
            often[cell] = often.get(cell, 0) + any(c.cell == cell for c in one.cells)
            expected[cell] = expected.get(cell, 0.0) + chance
            spread[cell] = spread.get(cell, 0.0) + chance * (1.0 - chance)
    assert sum(one.effort.chances == drawn[0].effort.chances for one in drawn) > 100
    for cell in often:
        assert abs(often[cell] - expected[cell]) < 4.0 * np.sqrt(spread[cell]) + 1e-9, cell


def test_without_a_gate_walks_begin_and_end_at_a_plot(draw):
    drawn = draw(ON, plots=(), gate=False)
    assert drawn.gate is None
    walk = drawn.walks[0]
    assert walk.length_m == pytest.approx(
        shapely.LineString([p.at for p in walk.plots]).length, rel=1e-9)


def test_nothing_to_draw_is_refused_with_what_to_do(draw, mire):
    shut = Feature(mire.polygon(-10, -10, 310, 310), {"why": "fire ban"})
    with pytest.raises(SurveyError, match="no cell of Test Mire has open ground"):
        draw(ON, closures=[shut])
    with pytest.raises(SurveyError, match="survey_day_h"):
        draw(ON, survey_day_h=0.25)
