"""The made-up block before anything has happened: folder, ground, phones in their boxes, moss.

Rule 1: block id, keys and install tags come out of the seed, so that the same seed makes the same
records.
"""

from collections.abc import Callable, Collection
from datetime import date
from pathlib import Path

import numpy as np

from sync.demo.moss import Moss
from sync.demo.phones import DemoPhone, unbox
from sync.demo.place import EPSG, class_map, local, new_block
from sync.demo.world import World
from sync.disk.create import create_block, write_features
from sync.disk.folder import load_block
from sync.disk.keys import pair
from sync.disk.maps import CLASSES_FILE
from sync.geometry.crs import projection
from sync.geometry.ground import ground_on

CODES = ("p1", "p2", "p3", "p4", "p5")
_PAIRED_ON = date(2023, 6, 1)
_KEY_BYTES = 32
_ID_LETTERS = np.array(list("abcdefghijkmnpqrstuvwxyz23456789"))
_TAG_LETTERS = np.array(list("abcdefghijklmnopqrstuvwxyz234567"))


def begin(
    folder: Path, rng: np.random.Generator, tell: Callable[[str], None], *, good: Collection[str]
) -> World:
    """Make the folder, the ground and the phones.

    Parameters
    ----------
    folder : Path
        The block folder to make.
    rng : numpy Generator
        Of all chance.
    tell : callable
        Told what is being done.
    good : collection of str
        Cells whose moss is never poorer than their class's.

    Returns
    -------
    World
        Before the first survey.
    """
    create_block(folder, new_block("".join(rng.choice(_ID_LETTERS, 8))))
    ground = projection(EPSG)
    block, _ = load_block(folder)
    areas = {name: cell.area_m2
             for name, cell in ground_on(block, ground, _PAIRED_ON).cells.items()}
    write_features(folder / CLASSES_FILE, class_map(areas))
    block, _ = load_block(folder)
    whole = ground_on(block, ground, _PAIRED_ON)
    shelf = folder / "demo"
    for name in ("hand-overs", "phones"):
        (shelf / name).mkdir(parents=True)
    phones: dict[str, DemoPhone] = {}
    for code in CODES:
        paired = pair(folder, block, code, rng.bytes(_KEY_BYTES), now=local(_PAIRED_ON, 9))
        tag = "".join(rng.choice(_TAG_LETTERS, 4))
        phones[code] = unbox(paired, tag, shelf / "phones", shelf / "hand-overs")
    moss = Moss(
        {name: cell.ground_class for name, cell in whole.cells.items()},
        {name: cell.open_m2 for name, cell in whole.cells.items()}, frozenset(good), rng,
    )
    return World(folder, shelf, block, whole, ground, moss, phones, rng, tell)
