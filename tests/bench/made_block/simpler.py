"""Three simpler ways to a cell's crop, from the very same quadrats and clips.

Rule 1: each is what a careful person without this program would do.
"""

import numpy as np

from made_block.book import CELLS, class_of
from made_block.surveying import Survey
from made_block.world import HA, LEVEL_KG_M3

WAYS = ("class mean", "own quadrats", "clips only")


def by_simpler_ways(survey: Survey) -> dict[str, dict[str, float]]:
    """Give the crop of each surveyed cell by each way.

    Parameters
    ----------
    survey : Survey
        What was written down.

    Returns
    -------
    dict of str to dict of str to float
        By way and cell: the mean index of all drawn quadrats of its class × the mean density of
        its class's clips; the mean of its own quadrats × that density; the mean of density × index
        over the class's clips. A class without clips takes those of all, a block without takes
        12 kg/m³ (and the last way then has nothing to say). [kg]
    """
    found: dict[str, dict[str, float]] = {way: {} for way in WAYS}
    for cell in CELLS:
        own = survey.drawn.get(cell)
        if not own:
            continue
        name = class_of(cell)
        alike = [x for other, each in survey.drawn.items() if class_of(other) == name
                 for x in each]
        clips = [c for c in survey.clips if c[0] == name] or survey.clips
        density = float(np.mean([c[1] for c in clips])) if clips else LEVEL_KG_M3
        found["class mean"][cell] = HA * density * float(np.mean(alike)) / 1000.0
        found["own quadrats"][cell] = HA * density * float(np.mean(own)) / 1000.0
        if clips:
            found["clips only"][cell] = HA * float(np.mean([c[1] * c[2] for c in clips])) / 1000.0
    return found
