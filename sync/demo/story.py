"""The story of the made-up block, told in order: five phones, two winters, three seasons.

Rule 1: its figures are computed; another seed makes another swamp.
Rule 2: what the shed knows came in by hand-over files and forms, some twice, one never.
"""

import dataclasses
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from pathlib import Path

import numpy as np

from sync.demo.moss import Moss
from sync.demo.phones import unbox
from sync.demo.picking import (
    FOREMAN,
    JA,
    KG_A_BAG,
    MT,
    RK,
    SW,
    Crew,
    PickDone,
    PickPlan,
    bags_allowed,
    pick,
)
from sync.demo.place import EPSG, class_map, local, new_block
from sync.demo.special import (
    enter_paper_count,
    overstep_the_line,
    pick_with_lost_file,
    pick_with_wrong_clock,
    weak_fix_on_a_border,
)
from sync.demo.surveying import POOL_CELL, Winter, draw_plots, survey
from sync.demo.world import World
from sync.disk.create import create_block, write_features
from sync.disk.folder import load_block
from sync.disk.keys import pair
from sync.disk.maps import CLASSES_FILE
from sync.geometry.crs import projection
from sync.geometry.ground import ground_on

ON = date(2026, 2, 20)
CODES = ("p1", "p2", "p3", "p4", "p5")
_ID_LETTERS = np.array(list("abcdefghijkmnpqrstuvwxyz23456789"))
_TAG_LETTERS = np.array(list("abcdefghijklmnopqrstuvwxyz234567"))

#: Cells picked in each season, with the first day.
SEASONS: tuple[tuple[tuple[str, date], ...], ...] = (
    (("L03", date(2023, 9, 18)), ("I05", date(2023, 10, 9)), ("I08", date(2023, 11, 6)),
     ("C08", date(2023, 11, 27)), ("C10", date(2024, 1, 9)), ("D09", date(2024, 2, 5)),
     ("G03", date(2024, 3, 4))),
    (("K06", date(2024, 9, 10)), ("C06", date(2024, 10, 1)), ("D04", date(2024, 10, 22)),
     ("D06", date(2024, 11, 11)), ("K07", date(2024, 12, 16)), ("C07", date(2025, 1, 20)),
     ("H04", date(2025, 2, 17)), ("K04", date(2025, 3, 17))),
    (("F03", date(2025, 9, 15)), ("F08", date(2025, 10, 13)), ("J07", date(2025, 11, 10)),
     ("C04", date(2025, 12, 15)), ("F09", date(2026, 1, 19))),
)
_PICKED = tuple(cell for season in SEASONS for cell, _ in season)
#: Picked before the program, still resting, typed in by the owner.
_BEFORE = (
    ("G09", "2021-10-04", "2021-10-12", 610), ("H09", "2021-11-01", "2021-11-09", 540),
    ("E04", "2022-01-10", "2022-01-19", None), ("E05", "2022-02-07", "2022-02-14", 480),
    ("G08", "2022-03-07", "2022-03-15", 520), ("H08", "2022-10-03", "2022-10-11", 590),
    ("I09", "2022-11-07", "2022-11-16", 630),
)
#: D06 was picked half as much again as it allowed.
_OVER = {"D06": 1.49}
_LOTS_A_SEASON = 31


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
    world = _begin(folder, np.random.default_rng(seed), tell)
    try:
        lost = _tell_story(world)
    finally:
        for phone in world.phones.values():
            phone.journal.close()
    return Made(ON, _lines(world, lost))


def _begin(folder: Path, rng: np.random.Generator, tell: Callable[[str], None]) -> World:
    """Make the folder, the ground and the phones."""
    tell("drawing the block")
    new = new_block("".join(rng.choice(_ID_LETTERS, 8)))
    create_block(folder, new)
    block, _ = load_block(folder)
    ground = projection(EPSG)
    areas = {name: cell.area_m2 for name, cell in ground_on(block, ground, ON).cells.items()}
    _write_classes(folder, areas)
    block, _ = load_block(folder)
    whole = ground_on(block, ground, ON)
    shelf = folder / "demo"
    for name in ("hand-overs", "phones"):
        (shelf / name).mkdir(parents=True)
    phones = {}
    for code in CODES:
        paired = pair(folder, block, code, rng.bytes(32), now=local(date(2023, 6, 1), 9))
        tag = "".join(rng.choice(_TAG_LETTERS, 4))
        phones[code] = unbox(paired, tag, shelf / "phones", shelf / "hand-overs")
    moss = Moss(
        {name: cell.ground_class for name, cell in whole.cells.items()},
        {name: cell.open_m2 for name, cell in whole.cells.items()},
        frozenset({*_PICKED, "C09"}), rng,
    )
    return World(folder, shelf, block, whole, ground, moss, phones, rng, tell)


def _write_classes(folder: Path, areas: dict[str, float]) -> None:
    write_features(folder / CLASSES_FILE, class_map(areas))


def _tell_story(world: World) -> Path:
    first, second = _winters(world)
    world.tell("winter 2023: surveying")
    draw_1, following = draw_plots(world, first, 1, 1)
    world.keep_plots([draw_1])
    _type_in_past(world)
    world.give_sheets(local(first.first, 7), CODES)
    survey(world, first)
    world.tell("season 2023/24: picking")
    _season(world, 0)
    world.tell("season 2024/25: picking")
    lost = _season(world, 1)
    world.tell("winter 2025: surveying")
    draw_2, _ = draw_plots(world, second, 2, following)
    world.keep_plots([draw_1, draw_2])
    world.give_sheets(local(second.first, 7), CODES)
    survey(world, second)
    world.tell("season 2025/26: picking")
    _season(world, 2)
    overstep_the_line(world)
    _twice_and_late(world)
    if lost is None:
        raise ValueError("no file was lost: the story is wrong")
    return lost


def _winters(world: World) -> tuple[Winter, Winter]:
    """Choose the cells of both winters: those of the story, and others by chance."""
    open_cells = [n for n, c in world.ground.cells.items() if c.open_m2 > 3000.0]
    past = {cell for cell, *_ in _BEFORE}
    others = [n for n in open_cells if n not in {*_PICKED, "C09", POOL_CELL} | past]
    drawn = [str(n) for n in world.rng.permutation(others)]
    first = tuple(world.rng.permutation(
        [*dict.fromkeys([*_PICKED, "C09", POOL_CELL]), *drawn[:38]]
    ))
    again = [cell for season in SEASONS[:2] for cell, _ in season]
    second = tuple(world.rng.permutation([*again, *drawn[:8], *drawn[38:57]]))
    return (
        Winter(date(2023, 6, 12), tuple(map(str, first)),
               {"lawn": 7, "mound": 5, "rushy": 3}, ("pool", "scrub", "unsafe", "pool", "scrub")),
        Winter(date(2025, 6, 16), tuple(map(str, second)),
               {"lawn": 4, "mound": 4, "rushy": 2}, ("pool", "scrub", "unsafe")),
    )


def _type_in_past(world: World) -> None:
    rows = [
        {"day": "2023-06-05", "person": "O", "cell": cell, "from": since, "to": until,
         "dry_kg": "" if kg is None else kg}
        for cell, since, until, kg in _BEFORE
    ]
    world.form("past_pick", rows, local(date(2023, 6, 5), 18))


def _season(world: World, number: int) -> Path | None:
    """Pick a season's cells, then dry and weigh its lots."""
    season = SEASONS[number]
    before = local(season[0][1] - timedelta(days=2), 18)
    world.give_sheets(before, CODES)
    plans = [PickPlan(cell, first, _share(world, cell), _crews(number)) for cell, first in season]
    bags = bags_allowed(world, plans, before)
    lost: Path | None = None
    done: list[PickDone] = []
    for plan in plans:
        world.tell(f"picking {plan.cell}, {bags[plan.cell]} bags")
        if plan.cell == "K04":
            one, lost, missing = pick_with_lost_file(world, plan, bags[plan.cell])
            enter_paper_count(world, lost, missing)
        elif plan.cell == "F09":
            world.give_sheets(local(date(2026, 1, 9), 18), ("p2", "p3", "p4", "p5"))
            one = pick_with_wrong_clock(world, plan, bags[plan.cell])
        else:
            one = pick(world, plan, bags[plan.cell])
        if plan.cell == "F08":
            weak_fix_on_a_border(world, one.pile, date(2025, 10, 14))
        done.append(one)
    if number < 2:
        _dry(world, done)
    return lost


def _share(world: World, cell: str) -> float:
    return _OVER.get(cell, float(world.rng.uniform(0.6, 0.95)))


def _crews(number: int) -> tuple[Crew, ...]:
    return (MT, RK, JA, SW, FOREMAN) if number == 2 else (MT, RK, JA, FOREMAN)


def _dry(world: World, done: Sequence[PickDone]) -> None:
    """Dry the season's bags in lots and enter their weights."""
    rows = []
    whole = sum(one.bags for one in done)
    number = 0
    for one in done:
        lots = max(1, round(_LOTS_A_SEASON * one.bags / whole))
        left = one.bags
        for i in range(lots):
            bags = round(one.bags / lots) if i < lots - 1 else left
            left -= bags
            number += 1
            kg = bags * KG_A_BAG * float(world.rng.normal(1.0, 0.06))
            rows.append({
                "day": (one.last + timedelta(days=30 + i)).isoformat(), "person": "O",
                "batch": f"D{one.last.year % 100}-{number:02d}", "stage": "dried", "bags": bags,
                "from": one.pile, "dry_kg": round(kg, 1),
            })
    world.form("batch", rows, local(done[-1].last + timedelta(days=60), 18))


def _twice_and_late(world: World) -> None:
    """Take some files again, as happens when a stick lies on the bench."""
    files = sorted((world.shelf / "hand-overs").glob("*.handover.zip"))
    seen = {one.file for one in world.taken}
    again = [path for path in files[::9] if path.name in seen]
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
