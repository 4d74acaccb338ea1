"""Clips: moss cut from a known area and layer, dried and weighed.

Rule 1: mass is shed-dry per square metre of ground, volume that of the very layer cut.
Rule 2: a clip whose layer holds no moss, or whose density no moss has, is refused with its value.
"""

import dataclasses
import statistics
from collections.abc import Sequence
from typing import Literal

from sync.errors import SurveyError
from sync.survey.quadrats import cover_share, moss_probes

Dried = Literal["oven", "shed"]

#: Outside these a weight or a length was mistaken; live moss lies well inside. [kg m⁻³]
CLIP_DENSITY_KG_M3 = (1.0, 80.0)


@dataclasses.dataclass(frozen=True)
class Clip:
    """What one clip weighs and what it was cut from.

    Attributes
    ----------
    ground_class : str
        Class of the ground it was cut on.
    mass_g_m2 : float
        Shed-dry mass on a square metre, y. [g m⁻²]
    volume_l_m2 : float
        Solid moss of the layer cut on a square metre, z. [L m⁻²]
    cell : str or None
        Cell it was cut in; None where that is not known.
    reader : str or None
        Who read the cover of the frame it was cut from; None for a plug, which needs no cover.
    cover : float
        That cover as read; 1 for a plug. [-]
    """

    ground_class: str
    mass_g_m2: float
    volume_l_m2: float
    cell: str | None = None
    reader: str | None = None
    cover: float = 1.0


def plug(
    ground_class: str,
    *,
    area_m2: float,
    from_mm: float,
    to_mm: float,
    dry_g: float,
    dried: Dried,
    shed_moisture_pct: float,
    cell: str | None = None,
) -> Clip:
    """Read a plug: a small area in full cover, cut between two depths.

    Parameters
    ----------
    ground_class : str
        Class of the ground.
    area_m2 : float
        Area cut. [m²]
    from_mm, to_mm : float
        Top and bottom of the layer kept, under the moss surface. [mm]
    dry_g : float
        What it weighed dry. [g]
    dried : {'oven', 'shed'}
        How it was dried.
    shed_moisture_pct : float
        Water left in shed-dry moss, of its wet weight. [%]
    cell : str or None
        Cell it was cut in.

    Returns
    -------
    Clip
        Its mass [g m⁻²] and volume [L m⁻²].

    Raises
    ------
    SurveyError
        If area, layer or mass is not positive, or no moss has the density.

    Notes
    -----
    z = to − from: 1 mm over 1 m² is 1 L. Derived.
    """
    mass = _mass_g_m2(dry_g, area_m2, dried, shed_moisture_pct)
    return _checked(Clip(ground_class, mass, to_mm - from_mm, cell))


def frame(
    ground_class: str,
    *,
    area_m2: float,
    from_mm: float,
    to_mm: float | None,
    dry_g: float,
    dried: Dried,
    shed_moisture_pct: float,
    cover_pct: float,
    depth_mm: Sequence[float],
    reader: str | None = None,
    cell: str | None = None,
) -> Clip:
    """Read a whole quadrat that was cut, with the cover and the probes taken before.

    Parameters
    ----------
    ground_class, area_m2, from_mm, dry_g, dried, shed_moisture_pct, cell
        As in `plug`; the area is that of the whole frame. [m², mm, g, %]
    to_mm : float or None
        Bottom of the layer cut; None takes all strand. [mm]
    cover_pct : float
        Cover of the quadrat. [%]
    depth_mm : sequence of float
        Its probes, any number; those that read 0 are left out. [mm]
    reader : str or None
        Who read the cover; `mended` takes his factor into account.

    Returns
    -------
    Clip
        Its mass [g m⁻²] and volume [L m⁻²].

    Raises
    ------
    SurveyError
        If area, layer or mass is not positive, or no moss has the density.

    Notes
    -----
    z = c·mean(min(max(d − from, 0), to − from)): each probe gives only what it has of the layer.
    Dividing by the whole index x instead would be another layer's density. Derived.
    """
    layers = [_within(depth, from_mm, to_mm) for depth in moss_probes(depth_mm)]
    cover = cover_share(cover_pct)
    volume = cover * statistics.fmean(layers) if layers else 0.0
    mass = _mass_g_m2(dry_g, area_m2, dried, shed_moisture_pct)
    return _checked(Clip(ground_class, mass, volume, cell, reader, cover))


def mended(clip: Clip, observer_factor: float) -> Clip:
    """Mend the cover that a clip's volume rests on for who read it.

    Parameters
    ----------
    clip : Clip
        A plug is given back as it is.
    observer_factor : float
        By how much its reader's cover is to be multiplied. [-]

    Returns
    -------
    Clip
        With the volume of the mended cover, which is held to 1. [L m⁻²]
    """
    if clip.reader is None:
        return clip
    share = min(1.0, observer_factor * clip.cover) / clip.cover
    return dataclasses.replace(clip, volume_l_m2=share * clip.volume_l_m2)


def _within(depth_mm: float, from_mm: float, to_mm: float | None) -> float:
    below = max(depth_mm - from_mm, 0.0)
    return below if to_mm is None else min(below, to_mm - from_mm)


def _mass_g_m2(dry_g: float, area_m2: float, dried: Dried, shed_moisture_pct: float) -> float:
    if area_m2 <= 0.0:
        raise SurveyError(f"clip with area_m2={area_m2!r}: the area cut must be above 0")
    # Lots are weighed shed-dry; an oven takes out the last water too.
    kept = 1.0 - shed_moisture_pct / 100.0 if dried == "oven" else 1.0
    return dry_g / kept / area_m2


def _checked(clip: Clip) -> Clip:
    if clip.volume_l_m2 <= 0.0:
        raise SurveyError(
            f"clip with volume_l_m2={clip.volume_l_m2!r}: the layer cut holds no moss")
    density = clip.mass_g_m2 / clip.volume_l_m2
    low, high = CLIP_DENSITY_KG_M3
    if not low <= density <= high:
        raise SurveyError(
            f"clip of {density:.6g} kg/m3: outside {low:g} to {high:g}, weigh or measure again")
    return clip
