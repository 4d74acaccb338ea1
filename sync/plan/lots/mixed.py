"""What a measure of lots, such as their purity, says of ground classes and of cells.

Rule 1: a lot is a mixture by its shares; lots of one cell share what is that cell's own.
Rule 2: how much cells differ is not known either: every ratio of the two spreads counts by how
well it fits the lots, so that few cells never make a range too narrow.
"""

import dataclasses
from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from sync.plan.lots.marginal import Marginal
from sync.plan.lots.measured import (
    LEAST_SHARE,
    Measured,
    by_known_cells,
    groups_told,
    share_of,
    shares_of_groups,
)

Array = npt.NDArray[np.float64]
#: Ratios of the spreads that are tried, each with the same prior weight.
_RATIOS = 48


@dataclasses.dataclass(frozen=True, eq=False)
class Mixed:
    """What the lots say, for each of K ratios of the spread between cells to that of a lot.

    Attributes
    ----------
    groups : tuple of str
        Ground classes that the lots tell of, G of them.
    weights : array, shape (K,)
        How much each ratio counts; they add up to 1. [-]
    ratios : array, shape (K,)
        SD between cells of a class over SD of a lot of weight 1. [-]
    beta : array, shape (K, G)
        Mean of each class. [unit]
    cov : array, shape (K, G, G)
        Its covariance over the variance of a lot. [-]
    variance : array, shape (K,)
        Of a lot of weight 1, within its cell. [unit²]
    df : int
        Degrees of freedom of `variance`.
    lots, cells : mapping of str to float
        Lots of each class, and of each cell, by shares.
    """

    groups: tuple[str, ...]
    weights: Array
    ratios: Array
    beta: Array
    cov: Array
    variance: Array
    df: int
    lots: Mapping[str, float]
    cells: Mapping[str, float]
    group_of: Mapping[str, str]
    _values: Array
    _design: Array
    _from_cell: Mapping[str, Array]
    _inverse: Array

    def of_group(self, group: str) -> Marginal:
        """Give the mean of a class. [unit]."""
        i = self.groups.index(group)
        return self._told(self.beta[:, i], self.cov[:, i, i])

    def of_cell(self, cell: str, group: str) -> Marginal:
        """Give the mean of a cell; of one without lots as its class is. [unit]."""
        return self._told(*self._cell(cell, group))

    def of_lot(self, cell: str, group: str, *, weight: float = 1.0) -> Marginal:
        """Give one more lot of a cell. [unit]."""
        mean, spread = self._cell(cell, group)
        return self._told(mean, spread + 1.0 / weight)

    def cell_given(
        self, cell: str, group: str, which: npt.NDArray[np.intp], beta: Array
    ) -> tuple[Array, Array]:
        """Give a cell for known ratios and class means.

        Parameters
        ----------
        cell, group : str
            Which.
        which : array of int, shape (P,)
            Number of the ratio at each point.
        beta : array, shape (P, G)
            Class means there. [unit]

        Returns
        -------
        mean, spread : array, shape (P,)
            Its mean [unit], and the variance of that over the variance of a lot. [-]
        """
        gain, left = self._gain(cell)
        residual = self._values - beta @ self._design.T
        mean = beta[:, self.groups.index(group)] + np.einsum("pn,pn->p", gain[which], residual)
        return mean, left[which]

    def _gain(self, cell: str) -> tuple[Array, Array]:
        """Give what the lots' residuals say of a cell, and the variance that they leave."""
        own = self._from_cell.get(cell, np.zeros(len(self._values)))
        squares = self.ratios**2
        gain = squares[:, None] * np.einsum("n,knm->km", own, self._inverse)
        return gain, np.maximum(squares - squares * (gain @ own), 0.0)

    def _told(self, means: Array, spreads: Array) -> Marginal:
        return Marginal(means, np.sqrt(self.variance * spreads), self.weights, self.df)

    def _cell(self, cell: str, group: str) -> tuple[Array, Array]:
        """Give a cell's mean and its variance over that of a lot, for each ratio."""
        at = np.zeros(len(self.groups))
        at[self.groups.index(group)] = 1.0
        gain, left = self._gain(cell)
        residual = self._values - self.beta @ self._design.T
        mean = self.beta @ at + np.einsum("kn,kn->k", gain, residual)
        contrast = at - gain @ self._design
        return mean, left + np.einsum("kg,kgh,kh->k", contrast, self.cov, contrast)


def mixed_of(
    lots: Sequence[Measured], group_of: Mapping[str, str], *, least_sd: float
) -> Mixed | None:
    """Learn from lots what their ground gives.

    Parameters
    ----------
    lots : sequence of Measured
        Lots of which at least half came from known cells are used, by those.
    group_of : mapping of str to str
        Ground class of each cell.
    least_sd : float
        Least SD of a lot: of the reading itself. [unit]

    Returns
    -------
    Mixed or None
        None where there are no more lots than classes: then nothing can be said of a range.

    Notes
    -----
    y = Xβ + Zu + e with class shares X, cell shares Z, u ~ N(0, ρ²σ²), e ~ N(0, σ²/w). Given the
    ratio ρ it is generalised least squares with Student's t; ρ is averaged over, by its restricted
    likelihood and a half-Cauchy prior of scale 1, taken at its quantiles. Restricted likelihood:
    Harville, *J. Am. Stat. Assoc.* 72, 1977, page 325; the prior: Gelman, *Bayesian Analysis* 1,
    2006, section 4 (both from memory); averaging as in Box & Tiao, *Bayesian Inference in
    Statistical Analysis*, 1973, chapter 5 (from memory).
    """
    known = [by_known_cells(one, group_of) for one in lots]
    used = [one for one in known if one is not None]
    groups = groups_told(used, group_of)
    used = [one for one in used if share_of(one, groups, group_of) >= LEAST_SHARE]
    if not groups or len(used) <= len(groups):
        return None
    design = np.array([shares_of_groups(one, groups, group_of) for one in used])
    names = sorted({cell for one in used for cell in one.cells})
    from_cell = np.array([[one.cells.get(cell, 0.0) for cell in names] for one in used])
    return _averaged(used, groups, group_of, design, names, from_cell, least_sd)


def _averaged(
    lots: Sequence[Measured], groups: tuple[str, ...], group_of: Mapping[str, str], design: Array,
    names: Sequence[str], from_cell: Array, least_sd: float,
) -> Mixed:
    values = np.array([one.value for one in lots])
    noise = np.diag([1.0 / one.weight for one in lots])
    ratios = np.tan(np.pi / 2.0 * (np.arange(_RATIOS) + 0.5) / _RATIOS)
    v = noise + ratios[:, None, None] ** 2 * (from_cell @ from_cell.T)
    inverse: Array = np.asarray(np.linalg.inv(v), dtype=np.float64)
    information = design.T @ inverse @ design
    cov: Array = np.asarray(np.linalg.inv(information), dtype=np.float64)
    beta = np.einsum("kgh,kh->kg", cov, design.T @ inverse @ values)
    residual = values - beta @ design.T
    df = len(lots) - len(groups)
    squares = np.einsum("kn,knm,km->k", residual, inverse, residual)
    squares = np.maximum(squares, df * least_sd**2)
    fits = -0.5 * (np.linalg.slogdet(v)[1] + np.linalg.slogdet(information)[1]
                   + df * np.log(squares))
    weights = np.exp(fits - fits.max())
    return Mixed(
        groups, weights / weights.sum(), ratios, beta, cov, squares / df, df,
        {group: float(design[:, i].sum()) for i, group in enumerate(groups)},
        {cell: float(from_cell[:, i].sum()) for i, cell in enumerate(names)}, group_of,
        values, design, {cell: from_cell[:, i] for i, cell in enumerate(names)}, inverse)
