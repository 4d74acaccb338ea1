"""What may be taken of the block now: the cells' left, held to the permits' caps.

Rule 1: a used-up cap warns; it closes no cell.
"""

from collections.abc import Mapping

from sync.block import Block
from sync.crop.long_run import block_may_take_kg as cap_held_kg
from sync.crop.today import CellToday
from sync.geometry.ground import Ground
from sync.register.permit_year import covers
from sync.register.permits import PermitToday


def block_may_take_kg(
    cells: Mapping[str, CellToday],
    ground: Ground,
    permits: tuple[PermitToday, ...],
    block: Block,
) -> float | None:
    """Give what may be taken of the block now: the cells' left, held to the permits' caps.

    Parameters
    ----------
    cells : mapping of str to CellToday
        The block's cells.
    ground : Ground
        Their parcels.
    permits : tuple of PermitToday
        Those in force.
    block : Block
        For whether permits are needed at all.

    Returns
    -------
    float or None
        None where no cell has a figure. [kg]
    """
    left = {name: one.left_kg for name, one in cells.items() if one.left_kg is not None}
    if not left:
        return None
    groups: dict[tuple[int, ...], float] = {}
    for name, kg in left.items():
        mine = tuple(i for i, p in enumerate(permits) if covers(p.permit, ground, name))
        groups[mine] = groups.get(mine, 0.0) + kg
    held = {}
    for mine, kg in groups.items():
        caps = [cap for i in mine if (cap := permits[i].left_kg) is not None]
        held[mine] = cap_held_kg([kg], cap_kg=min(caps, default=None), picked_kg=0.0)
    total = sum(held.values())
    for i, permit in enumerate(permits):
        if permit.left_kg is not None:
            others = sum(kg for mine, kg in held.items() if i not in mine)
            total = min(total, others + permit.left_kg)
    return total
