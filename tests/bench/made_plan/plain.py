"""Many cells picked for decades by the formulas alone, as arrays: what the rule itself does.

Rule 1: it uses no code of the register, so that the two can be held against each other.
Rule 2: truth is logistic towards full; a cell begins at the comeback level of full.
"""

import dataclasses
import math

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
COMEBACK, KEEP, REST_YEARS = 0.8, 0.3, 5.0
RATE, RATE_SD = 0.4, 0.2
SURVEY_CV, BETWEEN_CV = 0.28, 0.40
Z, FLOOR, TENTH = 0.6744897501960817, 0.02, 0.1


@dataclasses.dataclass(frozen=True)
class Way:
    """How the cells are kept.

    Attributes
    ----------
    pickable : float
        Share of a rested crop above the living layer, q. [-]
    measured : bool
        Whether a cell is measured before each pick, or only once.
    mark_moves : bool
        Whether the rested crop becomes the mean of all measurements.
    held : bool
        Whether the moss in truth stops at the comeback level of full.
    share_seen : bool
        Whether a survey tells the pickable share of what stands too, as it does by the rule; else
        what is missing under the mark is taken to be missing of the pickable part.
    pooled : bool
        Whether a survey's error is taken to be the same in all cells, as of a class, and not in
        proportion to what it found.
    rates : tuple of (float, float)
        Rate and SD that the rule goes by in each round; those assumed where left out. [1/yr]
    """

    pickable: float
    measured: bool = True
    mark_moves: bool = True
    held: bool = False
    share_seen: bool = False
    pooled: bool = False
    rates: tuple[tuple[float, float], ...] = ()


@dataclasses.dataclass(frozen=True)
class Kept:
    """What came of it: take of each pick in units of the mean full crop, and who fell low.

    Attributes
    ----------
    takes : tuple of float
        Mean over the cells, one a pick. [-]
    low_share : tuple of float
        Of the cells ever under a tenth of full, up to each pick. [-]
    """

    takes: tuple[float, ...]
    low_share: tuple[float, ...]


def kept(way: Way, growth_times: float, *, years: int, cells: int, seed: int) -> Kept:
    """Pick cells for some years.

    Parameters
    ----------
    way : Way
        How they are kept.
    growth_times : float
        True rate over the assumed one. [-]
    years : int
        How long.
    cells, seed : int
        How many, and of which chance.
    """
    rng = np.random.default_rng([seed, cells])
    full = _spread(rng, BETWEEN_CV, cells)
    crop = COMEBACK * full
    ever = np.zeros(cells, dtype=bool)
    b = crop * _spread(rng, SURVEY_CV, cells)
    c, squares = b.copy(), [float(np.mean(crop**2))]
    v = _error(b, squares, way)
    vc, cov, seen = v.copy(), v.copy(), 1
    takes, low = [], []
    for number in range(int(years / REST_YEARS)):
        if number and way.measured:
            m = crop * _spread(rng, SURVEY_CV, cells)
            squares.append(float(np.mean(crop**2)))
            vm = _error(m, squares, way)
            w = v / (v + vm)
            b, v = (1 - w) * b + w * m, (1 - w) ** 2 * v + w**2 * vm
            # Density is known here, which is all that a crop and a mark share once it is read.
            cov = np.zeros(cells)
            if way.mark_moves:
                c, seen = (seen * c + m) / (seen + 1), seen + 1
                c = np.maximum(c, 0.5 * COMEBACK)
                vc = _error(c, squares, way) / seen
        by = way.rates[number] if way.rates else (RATE, RATE_SD)
        pickable = _pickable(b, c, way.pickable)
        if way.share_seen:
            layer = (1.0 - way.pickable) * COMEBACK * full
            seen_share = np.clip(1.0 - layer / crop, 0.0, way.pickable)
            pickable = np.where(b >= c, pickable, b * seen_share)
        kg = np.minimum(_may_take(b, c, v, vc, cov, pickable, by), 0.98 * crop)
        crop = crop - kg
        ever |= crop < TENTH * full
        takes.append(float(kg.mean()))
        low.append(float(ever.mean()))
        crop = full * _logistic(crop / full, growth_times * RATE * REST_YEARS)
        if way.held:
            crop = np.minimum(crop, COMEBACK * full)
        b, v, cov = _grown(np.maximum(b - kg, FLOOR * c), c, v, vc, cov, by)
    return Kept(tuple(takes), tuple(low))


def fixed_part(
    pickable: float, growth_times: float, *, years: int, cells: int, seed: int
) -> Kept:
    """Pick 70 % of what is pickable by a forecast from one survey: the table's first column.

    Parameters
    ----------
    pickable : float
        Share of a rested crop above the living layer, q. [-]
    growth_times : float
        True rate over the assumed one. [-]
    years : int
        How long.
    cells, seed : int
        How many, and of which chance.
    """
    rng = np.random.default_rng([seed, cells])
    full = _spread(rng, BETWEEN_CV, cells)
    crop = COMEBACK * full
    ever = np.zeros(cells, dtype=bool)
    b = crop * _spread(rng, SURVEY_CV, cells)
    c, none = b.copy(), np.zeros(cells)
    takes, low = [], []
    for _ in range(int(years / REST_YEARS)):
        kg = np.minimum((1.0 - KEEP) * _pickable(b, c, pickable), 0.98 * crop)
        crop = crop - kg
        ever |= crop < TENTH * full
        takes.append(float(kg.mean()))
        low.append(float(ever.mean()))
        crop = full * _logistic(crop / full, growth_times * RATE * REST_YEARS)
        b, _, _ = _grown(np.maximum(b - kg, FLOOR * c), c, none, none, none, (RATE, RATE_SD))
    return Kept(tuple(takes), tuple(low))


def comes_back(rate: float) -> float:
    """Give what comes back in a rest, pick after pick, where the rate is known and nothing errs.

    Parameters
    ----------
    rate : float
        Of growth. [1/yr]

    Returns
    -------
    float
        The most that a pick may take so that a cell at the comeback level is back at it when the
        rest ends, in units of the mean full crop. [-]
    """
    e = COMEBACK / (COMEBACK + (1.0 - COMEBACK) * math.exp(rate * REST_YEARS))
    return COMEBACK - e


def _pickable(b: Floats, c: Floats, q: float) -> Floats:
    return np.where(b >= c, q * b, np.maximum(0.0, b - (1.0 - q) * c))


def _error(found: Floats, squares: list[float], way: Way) -> Floats:
    """Give the variance of a survey: by what it found, or by all surveys together."""
    of_all = sum(squares) / len(squares)
    return SURVEY_CV**2 * (np.full_like(found, of_all) if way.pooled else found**2)


def _spread(rng: np.random.Generator, cv: float, count: int) -> Floats:
    s2 = math.log1p(cv**2)
    return np.exp(rng.normal(-s2 / 2.0, math.sqrt(s2), count))


def _logistic(share: Floats, rate_times_years: float) -> Floats:
    return np.asarray(share / (share + (1.0 - share) * math.exp(-rate_times_years)))


def _may_take(
    b: Floats, c: Floats, v: Floats, vc: Floats, cov: Floats, pickable: Floats,
    by: tuple[float, float],
) -> Floats:
    """Give the least of what comes back and what the share kept leaves."""
    e = COMEBACK / (COMEBACK + (1.0 - COMEBACK) * math.exp(by[0] * REST_YEARS))
    part = e / COMEBACK
    by_rate = (c * REST_YEARS * e * (1.0 - e) / COMEBACK) ** 2 * by[1] ** 2
    spread = np.sqrt(np.maximum(0.0, v + part**2 * vc - 2.0 * part * cov + by_rate))
    cv2 = np.maximum(v, 0.0) / b**2
    sure = np.exp(-Z * np.sqrt(np.log1p(cv2))) / np.sqrt(1.0 + cv2)
    kept_kg = (1.0 - KEEP) * pickable * sure
    return np.maximum(0.0, np.minimum(b - part * c - Z * spread, kept_kg))


def _grown(
    b: Floats, c: Floats, v: Floats, vc: Floats, cov: Floats, by: tuple[float, float]
) -> tuple[Floats, Floats, Floats]:
    """Grow the forecast for a rest, never past the rested crop, with its variance."""
    share = np.clip(COMEBACK * b / c, 1e-6, COMEBACK)
    odds = np.log(COMEBACK * (1.0 - share) / (share * (1.0 - COMEBACK)))
    years = np.minimum(REST_YEARS, np.maximum(0.0, odds / max(by[0], 1e-6)))
    fade = np.exp(-by[0] * years)
    g = share / (share + (1.0 - share) * fade)
    d1 = fade / (share + (1.0 - share) * fade) ** 2
    a = (g - share * d1) / COMEBACK
    by_rate = (c / COMEBACK * years * g * (1.0 - g)) ** 2 * by[1] ** 2
    return (np.minimum(c, c * g / COMEBACK),
            d1**2 * v + a**2 * vc + 2.0 * d1 * a * cov + by_rate, d1 * cov + a * vc)
