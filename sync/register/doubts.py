"""Where the data themselves say that an assumption behind the ranges does not hold.

Rule 1: a doubt moves no figure; it says what was seen and what would settle it.
Rule 2: one that needs more data than there are is not raised, and not taken for denied.
"""

import dataclasses
import math
import statistics
from collections.abc import Iterator

from sync.crop.chain import Crop
from sync.crop.classes import drawn_readings, rested_readings
from sync.register.build import Register
from sync.settings import Tunables
from sync.survey.by_eye import by_eye_bias
from sync.survey.cells import ClassPrediction
from sync.survey.density_trend import DepthClip, depth_trend
from sync.survey.observers import Observers

#: Beyond so many standard deviations two figures disagree; common practice, no source.
_DISAGREE_SD = 2.0
#: Fewer surveyed cells say too little of the spread between cells; own choice.
_CELLS_FOR_SPREAD = 10


@dataclasses.dataclass(frozen=True)
class Doubt:
    """What speaks against a figure; `about` is a ground class, or None for the block."""

    about: str | None
    what: str


def doubts_of(register: Register) -> tuple[Doubt, ...]:
    """Give what the data say against the assumptions.

    Parameters
    ----------
    register : Register
        Of the day asked about.

    Returns
    -------
    tuple of Doubt
        Those of the block, then class by class.
    """
    crop = register.crop
    found = [*_depth(crop), *_by_eye(crop, register.tunables), *_growth(crop),
             *_readers(crop.observers, register.tunables)]
    for name in sorted(crop.classes):
        known = crop.classes[name].prediction
        if known is not None:
            found += _class(crop, name, known, register.tunables.wide_between_cv)
    return tuple(found)


def _depth(crop: Crop) -> Iterator[Doubt]:
    trend = depth_trend([
        DepthClip(c.clip.ground_class, c.clip.mass_g_m2 / c.clip.volume_l_m2, c.clip.volume_l_m2,
                  c.depth_mm)
        for c in crop.clips if c.depth_mm is not None
    ])
    if trend is None or not trend.sure:
        return
    falls = trend.per_100_mm < 0.0
    yield Doubt(None, (
        f"by {trend.clips} clips density {'falls' if falls else 'rises'} by "
        f"{100 * abs(trend.per_100_mm):.0f} % for each 100 mm of strand (t {trend.t:.1f}), which "
        f"the crop does not know: deep cells may hold {'less' if falls else 'more'} than is "
        "shown; cut whole frames to the bottom of the strand in deep and shallow cells"
    ))


def _by_eye(crop: Crop, tunables: Tunables) -> Iterator[Doubt]:
    """Compare quadrats laid by eye with drawn ones of the same cells, over all classes."""
    pairs = []
    for one in crop.cells.values():
        rested = rested_readings(one.readings, one.picks)
        kinds = [[r.index.volume_l_m2 for r in rested if r.index and r.reading.drawn is drawn]
                 for drawn in (True, False)]
        if all(kinds):
            pairs.append((statistics.fmean(kinds[0]), statistics.fmean(kinds[1])))
    bias = by_eye_bias(pairs, assumed_cv=tunables.by_eye_cv)
    if abs(bias.ratio - 1.0) > _DISAGREE_SD * bias.cv:
        yield Doubt(None, (
            f"quadrats laid by eye and drawn ones of the same {len(pairs)} cells disagree: drawn "
            f"ones make {bias.ratio:.2f} times as much (± {bias.cv:.2f}); cells measured by eye "
            "only may be off by as much; draw plots there"
        ))


def _growth(crop: Crop) -> Iterator[Doubt]:
    learned = crop.learned
    if learned.rate is None or learned.variance is None:
        return
    apart = learned.rate - learned.prior.rate
    sd = math.sqrt(learned.variance + learned.prior.variance)
    if abs(apart) <= _DISAGREE_SD * sd:
        return
    yield Doubt(None, (
        f"{len(learned.regrown)} re-measured cells say {learned.rate:.2f} ± "
        f"{math.sqrt(learned.variance):.2f} a year where the years of recovery say "
        f"{learned.prior.rate:.2f} ± {math.sqrt(learned.prior.variance):.2f}: one of the two is "
        "wrong; look at what was picked and measured there, and at the setting"
    ))


def _readers(observers: Observers, tunables: Tunables) -> Iterator[Doubt]:
    """Name readers who differ from those who read again by more than two readers do."""
    for row, person in enumerate(observers.people):
        raw, pairs = observers.raw[row], observers.pairs[row]
        if raw is None:
            continue
        chance = 2.0 * tunables.observer_sd**2 + tunables.pair_sd**2 / pairs
        if abs(raw - 1.0) > _DISAGREE_SD * math.sqrt(chance):
            yield Doubt(None, (
                f"{person}'s quadrats had {raw:.2f} times the cover when they were read again "
                f"({pairs} of them), farther off than readers are taken to be; read more of them "
                "again with dots counted, and agree on what is cover"
            ))


def _class(
    crop: Crop, name: str, known: ClassPrediction, wide: float
) -> Iterator[Doubt]:
    spread = math.sqrt(known.reml_variance) / max(known.mean_l_m2, 1e-9)
    if known.surveyed >= _CELLS_FOR_SPREAD and spread > wide:
        yield Doubt(name, (
            f"cells of {name} differ more than the ranges were tried for (CV {spread:.2f} between "
            f"cells, tried to {wide:g}): the range of a cell nobody measured may be too narrow"
        ))
    if all(len(drawn_readings(one.readings, one.picks)) < 2
           for one in map(crop.cells.__getitem__, known.cells)):
        yield Doubt(name, (
            f"no cell of {name} has two quadrats, so their spread within a cell is assumed "
            f"(SD {math.sqrt(known.within_variance):.0f} L/m²); lay a second one in some cells"
        ))

