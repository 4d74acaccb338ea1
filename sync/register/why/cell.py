"""How a cell's figures came about: one sentence each, with its inputs and record names.

Rule 1: a sentence holds the figures that make the figure, written as sums, so that a person can
check it by hand.
Rule 2: figures are those of the register, here only taken apart.
"""

from sync.errors import SurveyError
from sync.register.build import Register
from sync.register.doubts import doubts_of
from sync.register.why.allowance import told_allowance, told_next
from sync.register.why.crop import told_crop, told_steps
from sync.register.why.ground import told_ground, told_picks
from sync.register.why.survey import told_density, told_index, told_readers, told_readings


def why_cell(register: Register, cell: str) -> tuple[str, ...]:
    """Tell how each figure of a cell came about.

    Parameters
    ----------
    register : Register
        Of the day asked about.
    cell : str
        Name of a cell.

    Returns
    -------
    tuple of str
        Sentences, in the order in which the figures are worked out.

    Raises
    ------
    SurveyError
        If the block has no such cell.
    """
    if cell not in register.crop.cells:
        raise SurveyError(f"cell {cell!r}: the block has no such cell on {register.on}")
    crop = register.crop
    name = crop.cells[cell].ground_class
    return (
        *told_ground(register, cell),
        *told_readers(crop, cell),
        *told_readings(crop, cell),
        *told_index(crop, cell),
        *told_density(crop, cell),
        *told_steps(crop, cell),
        *told_crop(crop, cell),
        *told_picks(register, cell),
        *told_allowance(register, cell),
        *told_next(register, cell),
        *(f"Doubt: {one.what}." for one in doubts_of(register) if one.about in {None, name}),
    )
