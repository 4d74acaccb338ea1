"""Every tunable of the estimation: its value, its unit and why.

Rule 1: a number that a person could argue with stands here and nowhere else.
Rule 2: what a block must decide for itself (rest, recovery, living layer, share kept) has no
default and stands in `sync.block.Rule`.
Rule 3: `[settings]` of block.toml overrides by name; an unknown name or a wrong kind is refused.
"""

import dataclasses
import math
import sys
from collections.abc import Mapping
from typing import Any

from sync.errors import SettingsError

#: Exactly three chances in four are "counted on": the standard normal quantile of 0.75.
Z_THREE_IN_FOUR = 0.6744897501960817
#: 90 % ranges: the standard normal quantile of 0.95.
Z_RANGE = 1.6448536269514722
RANGE_LEVEL = 0.90
DAYS_PER_YEAR = 365.25
#: 68 % radius of a circular normal in standard deviations, sqrt(-2 ln(1 - 0.68)).
R68_PER_SIGMA = math.sqrt(-2.0 * math.log(1.0 - 0.68))


def _tunable(default: Any, unit: str, why: str) -> Any:
    return dataclasses.field(default=default, metadata={"unit": unit, "why": why})


@dataclasses.dataclass(frozen=True)
class Tunables:
    """The numbers behind the formulas, named as the notes name them.

    Each field's metadata holds its unit and the reason for its value.
    """

    prior_df: float = _tunable(4.0, "degrees of freedom", "weight of every prior variance")
    cv_within: float = _tunable(
        0.60, "-", "spread of quadrats in a cell before any is seen; own coverage runs")
    cv_between: float = _tunable(
        0.60, "-", "spread of cells in a class; 0.35 was too bold (0.82-0.84), own runs")
    wide_between_cv: float = _tunable(
        0.8, "-", "cells that differ more make the ranges of the others doubtful; own runs")
    cv_clip: float = _tunable(
        0.30, "-", "one clip against its class; within-site 0.22, Bengtsson et al. 2021 open data")
    cv_density_block: float = _tunable(
        0.60, "-", "block's density about the prior; between-site 0.56-0.70, same data")
    cv_density_class: float = _tunable(
        0.20, "-", "class about the block; common practice, no source")
    density_prior_kg_m3: float = _tunable(
        12.0, "kg/m3", "from memory, low confidence: flagged until clips teach it")
    density_between_cells: float = _tunable(
        0.5, "-", "share of a clip's variance that lies between cells; assumed until learned")
    density_df: float = _tunable(
        4.0, "degrees of freedom", "weight of the assumed share against the learned one")
    observer_sd: float = _tunable(
        0.12, "-", "one reader's cover against the truth; +-10-20 points (90 %), Sykes 1983")
    pair_sd: float = _tunable(
        0.20, "-", "one checked quadrat against its reading; the same source, read as relative")
    index_scale_l_m2: float = _tunable(
        100.0, "L/m2", "layer volume at which the clip prior is read when there is no clip")
    index_floor_l_m2: float = _tunable(
        1.0, "L/m2", "least class mean used in prior variances, so that bare ground has some")
    longest_strand_mm: float | None = _tunable(
        None, "mm", "none: all sound strand counts; 120 from a shoot trial (Diaz & Silva 2012)")
    kappa_prior_cv: float = _tunable(
        0.35, "-", "the owner's kg a bag before any lot; from memory, low confidence")
    cv_bag: float = _tunable(0.50, "-", "one bag against another; from memory, low confidence")
    bag_df: float = _tunable(2.0, "degrees of freedom", "weight of cv_bag against the lots")
    odd_lot_sds: float = _tunable(
        3.0, "standard deviations", "a lot farther from the others' bags is called odd")
    wet_factor_cv: float = _tunable(
        0.25, "-", "wet over dry of one batch alone; from memory, low confidence")
    growth_prior_cv: float = _tunable(
        0.5, "-", "growth rate about 2/recovery years before any cell is measured again")
    cells_for_own_growth: int = _tunable(
        15, "cells", "a class with fewer re-measured cells takes the block's rate; own choice")
    survey_days: int = _tunable(120, "days", "quadrats of one survey; from memory, medium")
    mark_floor: float = _tunable(
        0.5, "of the class mark", "or years of over-picking would pass for a poor site")
    crop_floor: float = _tunable(0.02, "of the mark", "a crop is never below this")
    by_eye_cv: float = _tunable(
        0.25, "-", "bias of quadrats laid by eye; from memory, low confidence")
    comeback: float = _tunable(
        0.8, "of full", "a rested cell stands at this share of what the ground can carry")
    touch_pct: float = _tunable(10.0, "%", "under it a pick only touches and no rest starts")
    same_pick_days: int = _tunable(28, "days", "one lift cycle and weather")
    pick_longest_days: int = _tunable(365, "days", "stops dribble picking")
    least_bags_a_day: float = _tunable(
        0.5, "bags", "less is a neighbour's scatter: kg only, no picking day")
    group_minutes: float = _tunable(10.0, "min", "presses that share one position error")
    group_m: float = _tunable(25.0, "m", "presses that share one position error")
    confirmed_sigmas: float = _tunable(
        3.0, "sigma", "a confirmed cell settles a fix no farther from it than this")
    beyond_doubt: float = _tunable(
        0.99, "chance", "a bag with so much of it in one cell by its track proves a picker's word "
        "right or wrong; own choice")
    clock_off_s: float = _tunable(
        120.0, "s", "beyond it the satellite's time is used instead of the phone's")
    unknown_accuracy_m: float = _tunable(
        15.0, "m", "68 % radius of a fix that states none; owner-set, from memory")
    worst_fix_m: float = _tunable(
        25.0, "m", "a fix with a larger 68 % radius tells no picking time; common practice")
    walking_m_s: float = _tunable(
        0.5, "m/s", "from this speed on it is walking, not picking; common practice, no source")
    reach_m: float = _tunable(
        1.5, "m", "how far a picker reaches to each side; from memory, medium confidence")
    longest_fix_s: float = _tunable(
        60.0, "s", "no fix speaks for longer; from memory, medium confidence")
    error_lasts_s: float = _tunable(
        600.0, "s", "time in which a receiver's error changes; from memory, medium confidence")
    least_pace_m2_s: float = _tunable(
        0.03, "m2/s", "a picker's place wanders at least so fast, each coordinate; lanes of 10 to "
        "20 m a bag were placed best by 0.03 to 0.1, tests/bench/placing.py")
    leap_sigmas: float = _tunable(
        4.0, "sigma", "a step that a track's error makes less often than this is a leap")
    one_tally_s: float = _tunable(
        60.0, "s", "presses of so long before one are of the same carry of bags; own choice")
    worst_track_gap_s: float = _tunable(
        120.0, "s", "a press farther from a track's fixes keeps its own place")
    track_keep_days: int = _tunable(
        60, "days", "tracks are kept so long after their season: window for disputes; own choice")
    oldest_fix_s: float = _tunable(
        300.0, "s", "an older fix says nothing of where a press was; from memory")
    early_bags: float = _tunable(2.0, "bags", "a pick is at least this; one bag cries wolf")
    unknown_kg_cv: float = _tunable(
        0.5, "-", "a known pick without kg took the pickable crop of its day, give or take half")
    flag_sure: float = _tunable(0.95, "chance", "shown as sure")
    flag_likely: float = _tunable(0.5, "chance", "shown as likely")
    flag_perhaps: float = _tunable(0.1, "chance", "listed apart; not shown below")
    weak_chance: float = _tunable(
        0.8, "chance", "bags whose likeliest cell has less are of a weak position; own choice")
    weak_fix_m: float = _tunable(
        25.0, "m", "a fix with a larger 68 % radius is weak where no track helps; common practice")
    clips_enough: int = _tunable(5, "clips", "fewer in the block: density is called assumed")
    density_cv_enough: float = _tunable(0.20, "-", "a class looser than this is called assumed")
    back_chance: float = _tunable(
        0.75, "chance", "from it on a rested cell is said not to have come back; one half would "
        "name every cell that stands at its forecast")
    scrub_points: float = _tunable(
        5.0, "points of cover", "a smaller mean rise of scrub is let pass; common practice")
    water_fall_mm: float = _tunable(
        50.0, "mm", "a smaller fall against the block's median is let pass; common practice")
    water_dry_mm: float = _tunable(
        -250.0, "mm", "a cell that stands wetter is not dry, however it fell; common practice")
    water_cells: int = _tunable(
        5, "cells", "fewer say nothing of the block's water; own choice")
    trial_matters_l_m2: float = _tunable(
        5.0, "L/m2", "a smaller difference of a treatment is not worth its work; own choice")
    trial_power: float = _tunable(
        0.8, "chance", "of finding a difference that matters; common practice, no source")
    trial_apart_days: int = _tunable(
        183, "days", "readings of a pair's cells farther apart are of other seasons; own choice")
    trial_wait_days: int = _tunable(
        365, "days", "a cell not treated so long after the draw counts as drawn; own choice")
    pile_apart_m: float = _tunable(
        50.0, "m", "marks of one pile's label farther apart than this and both their 68 % radii "
        "are of two piles; own choice")
    growth_cv_enough: float = _tunable(0.35, "-", "a looser growth rate is called assumed")
    shed_moisture_pct: float = _tunable(
        12.0, "% of wet basis", "moisture at which lots are weighed; measure it")
    sliver_m2: float = _tunable(1.0, "m2", "less ground than this is no cell")
    sheet_days: int = _tunable(7, "days", "a ground sheet is good for this long")
    quadrat_min: float = _tunable(
        6.0, "min", "find the plot, lay the frame, probe, note; from memory: time a few of yours")
    walk_km_h: float = _tunable(
        1.5, "km/h", "over soft ground with a frame, probing; from memory: time a few of yours")
    survey_day_h: float = _tunable(
        6.0, "h", "a surveyor's day from the gate back to it, in winter light; own choice")
    least_quadrats: int = _tunable(
        2, "quadrats", "in a cell drawn: with one, ranges of the block held the truth 87 times in "
        "100, with two 91; own runs")
    most_quadrats: int = _tunable(
        4, "quadrats", "in a cell: more say little of the rest of its class; own choice")
    spares: int = _tunable(
        1, "plots", "a cell, for a plot that cannot be seen: 2 of 175 were, on the made-up block")
    plot_border_m: float = _tunable(
        1.0, "m", "no plot nearer to a border or to closed ground: the frame and a boot")
    first_months: float = _tunable(
        18.0, "months", "a cell whose rest ends within is measured first: it opens next")
    others_pct: float = _tunable(
        20.0, "%", "of the cells are left to all other ground, so that none is without a chance")
    weighing_days: int = _tunable(
        2, "days", "an older wet weight is warned of: rain and sun change a bag; own choice")
    least_weighings: int = _tunable(
        5, "weighings", "fewer tell no spread of wet bags, and cv_bag stands in; own choice")
    hazard_near_m: float = _tunable(
        50.0, "m", "from a pile or the landing: a long line that swings, and downwash; from "
        "memory")
    machine_wide_m: float = _tunable(
        2.5, "m", "outer width of a machine's tracks; from memory: measure yours")


_LIMITS: Mapping[str, tuple[float, float]] = {
    "comeback": (0.5, 0.95),
    "mark_floor": (0.0, 1.0),
    "crop_floor": (0.0, 0.5),
    "shed_moisture_pct": (0.0, 60.0),
    "density_between_cells": (0.0, 1.0),
    "density_prior_kg_m3": (1.0, 80.0),
    "cv_within": (0.05, 5.0),
    "cv_between": (0.05, 5.0),
    "cv_clip": (0.05, 5.0),
    "touch_pct": (0.0, 100.0),
    "back_chance": (0.5, 1.0),
    "water_dry_mm": (-1500.0, 500.0),
    "trial_power": (0.05, 0.99),
    "trial_matters_l_m2": (0.1, 100.0),
    "quadrat_min": (0.1, 240.0),
    "walk_km_h": (0.05, 8.0),
    "survey_day_h": (0.25, 24.0),
    "least_quadrats": (1.0, 25.0),
    "most_quadrats": (1.0, 25.0),
    "spares": (0.0, 10.0),
    "plot_border_m": (0.1, 10.0),
    "first_months": (0.0, 240.0),
    "others_pct": (0.0, 100.0),
    "weighing_days": (0.0, 60.0),
    "least_weighings": (2.0, 100.0),
    "hazard_near_m": (0.0, 2000.0),
    "machine_wide_m": (0.1, 20.0),
    "reach_m": (0.1, 10.0),
}


def tunables_from(overrides: Mapping[str, object]) -> Tunables:
    """Read the `[settings]` table of block.toml.

    Parameters
    ----------
    overrides : mapping of str to object
        Tunables by name, each in the unit its field states.

    Returns
    -------
    Tunables
        The defaults with the overrides in place.

    Raises
    ------
    SettingsError
        If a name is unknown, a value is no finite number, or it is outside its limits.
    """
    fields = {field.name: field for field in dataclasses.fields(Tunables)}
    mistakes: list[str] = []
    taken: dict[str, Any] = {}
    for name, value in overrides.items():
        if name not in fields:
            mistakes.append(f"block.toml [settings] {name}={value!r}: no such setting")
            continue
        wrong = _wrong_value(name, value)
        if wrong:
            mistakes.append(f"block.toml [settings] {name}={value!r}: {wrong}")
        elif isinstance(value, int | float):
            whole = isinstance(fields[name].default, int)
            taken[name] = int(value) if whole else float(value)
    if mistakes:
        raise SettingsError(mistakes)
    return Tunables(**taken)


def _wrong_value(name: str, value: object) -> str | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return "must be a number"
    if not abs(value) <= sys.float_info.max:
        return "must be a number that is finite"
    low, high = _LIMITS.get(name, (0.0, math.inf))
    if not low <= value <= high:
        return f"must lie between {low:g} and {high:g}"
    if name == "prior_df" and value <= 0:
        return "must be above 0"
    return None
