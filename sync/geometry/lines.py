"""Lines over the ground: how far each cell is crossed."""

from collections.abc import Sequence

import shapely

from sync.geometry.ground import Ground


def metres_in_cells(
    ground: Ground, line: Sequence[tuple[float, float]]
) -> tuple[tuple[str, float], ...]:
    """Give how far a line runs in each cell.

    Parameters
    ----------
    ground : Ground
        The block's.
    line : sequence of (float, float)
        Easting and northing of its bends, first and last place too. [m]

    Returns
    -------
    tuple of (str, float)
        Cells by name and metres, the longest first; a line along a border counts for the cells
        on both sides of it.
    """
    if len(line) < 2:
        return ()
    drawn = shapely.linestrings(line)
    shapes = [cell.shape for cell in ground.cells.values()]
    lengths = shapely.length(shapely.intersection(shapes, drawn))
    found = [(name, float(m)) for name, m in zip(ground.cells, lengths, strict=True) if m > 0.0]
    return tuple(sorted(found, key=lambda one: (-one[1], one[0])))
