"""The story of the made-up block, told in order: five phones, two winters, three seasons.

Rule 1: its figures are computed; another seed makes another swamp.
Rule 2: what the shed knows came in by hand-over files and forms, some twice, one never.
"""

import dataclasses
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import numpy as np

from sync.demo.begin import CODES, begin
from sync.demo.draws import POOL_CELL, Winter, draw_plots
from sync.demo.lifting import lift_and_weigh
from sync.demo.place import local
from sync.demo.seasons import PICKED, SEASONS, pick_season
from sync.demo.shed import PAST, SPRAYED, file_report, give_notice, type_in_past
from sync.demo.special import overstep_the_line
from sync.demo.surveying import survey
from sync.demo.watching import watch
from sync.demo.world import World

ON = date(2026, 2, 20)
_FIRST_CELLS, _AGAIN_UNPICKED, _SECOND_NEW = 60, 8, 19
#: Cells with less open ground than this were not drawn, but for chance they might be. [m²]
_WORTH_A_PLOT_M2 = 1500.0
_TAKEN_AGAIN = 9


@dataclasses.dataclass(frozen=True)
class Made:
    """What was made: the day to look at, and lines that say where things are."""

    on: date
    lines: tuple[str, ...]


def make_demo(folder: Path, *, seed: int, tell: Callable[[str], None]) -> Made:
    """Make the block and tell its story.

    Parameters
    ----------
    folder : Path
        The block folder to make.
    seed : int
        Of all chance.
    tell : callable
        Told what is being done.

    Returns
    -------
    Made
        Where to look.
    """
    tell("drawing the block")
    world = begin(folder, np.random.default_rng(seed), tell, good=(*PICKED, "C09"))
    try:
        lost = _tell_story(world, seed)
    finally:
        for phone in world.phones.values():
            phone.journal.close()
    return Made(ON, _lines(world, lost))


def _tell_story(world: World, seed: int) -> Path:
    first, second = _winters(world)
    world.tell("winter 2023: surveying")
    draw_1, following = draw_plots(world, first, 1, 1)
    world.keep_plots([draw_1])
    type_in_past(world)
    world.give_sheets(local(first.first, 7), CODES)
    survey(world, first)
    give_notice(world, 2023)
    world.tell("season 2023/24: picking")
    pick_season(world, 0)
    give_notice(world, 2024)
    world.tell("season 2024/25: picking")
    lost = pick_season(world, 1)
    file_report(world)
    world.tell("winter 2025: surveying")
    draw_2, _ = draw_plots(world, second, 2, following)
    world.keep_plots([draw_1, draw_2])
    world.give_sheets(local(second.first, 7), CODES)
    survey(world, second)
    give_notice(world, 2025)
    world.tell("season 2025/26: picking")
    pick_season(world, 2)
    overstep_the_line(world)
    lift_and_weigh(world)
    world.tell("pegged plots: scrub, water, a trial")
    watch(world, seed)
    _take_again(world)
    if lost is None:
        raise ValueError("no file was lost: the story is wrong")
    return lost


def _winters(world: World) -> tuple[Winter, Winter]:
    """Choose the cells of both winters: those of the story, and others by chance."""
    told = [*PICKED, "C09", POOL_CELL, SPRAYED, *(cell for cell, *_ in PAST)]
    others = [name for name, cell in world.ground.cells.items()
              if cell.open_m2 > _WORTH_A_PLOT_M2 and name not in told]
    drawn = [str(name) for name in world.rng.permutation(others)]
    more = _FIRST_CELLS - len(told)
    picked_between = [cell for season in SEASONS[:2] for cell, _ in season]
    first = [*told, *drawn[:more]]
    second = [*picked_between, *drawn[:_AGAIN_UNPICKED], *drawn[more:more + _SECOND_NEW]]
    return (
        Winter(date(2023, 6, 12), tuple(str(name) for name in world.rng.permutation(first)),
               {"lawn": 7, "mound": 5, "rushy": 3}, ("pool", "scrub", "unsafe", "pool", "scrub"),
               again=14),
        Winter(date(2025, 6, 16), tuple(str(name) for name in world.rng.permutation(second)),
               {"lawn": 4, "mound": 4, "rushy": 2}, ("pool", "scrub", "unsafe")),
    )


def _take_again(world: World) -> None:
    """Take some files again, as happens when a stick lies on the bench."""
    files = sorted((world.shelf / "hand-overs").glob("*.handover.zip"))
    seen = {one.file for one in world.taken}
    again = [path for path in files[::_TAKEN_AGAIN] if path.name in seen]
    world.take(again, local(ON - timedelta(days=1), 18))


def _lines(world: World, lost: Path) -> tuple[str, ...]:
    files = {one.file for one in world.taken}
    known = sum(one.known for one in world.taken)
    return (
        (f"{sum(one.new for one in world.taken):,} records came in {len(files)} files "
        f"({known:,} of them a second time); {lost.name} was made and lost"),
        f"block folder: {world.folder}",
        (f"hand-overs: {world.shelf / 'hand-overs'}; phones' journals: {world.shelf / 'phones'}; "
        f"forms and ground sheets: {world.shelf}"),
    )
