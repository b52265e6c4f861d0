"""Straight lines and planes through points of which a few may be wild: least squares without those, named."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from filmwright.learn.robust import MAD_TO_STD

Floats = NDArray[np.float64]

WILD_SHARE = 0.01
"""Share of sound data sets in which a point may be called wild although none is."""

CRITERION = (
    "an outlier is a point whose distance from the fit of the others, over its standard error, is beyond "
    "Student's t at 1 % for the whole set (Bonferroni)"
)
"""How outliers are found, in words to print."""

_BISQUARE = 4.685
"""Tuning constant of the bisquare weights: 95 % efficiency on normal data."""

_SUSPECT = 3.0
"""Robust standard deviations beyond which a point is looked at."""

_ROUNDS, _SAME, _EXACT = 30, 1e-4, 1e-9


@dataclass(frozen=True, kw_only=True, eq=False)
class CleanFit:
    """A linear fit from which wild points were left out.

    Attributes
    ----------
    coefficients : array (p,)
    covariance : array (p, p)
    residuals : array (n,)
        Of all points, the wild ones too.
    kept : array (n,) of bool
        False for a wild point.
    scale : float
        Standard deviation of the kept points about the fit.
    freedom : int
        Kept points less p.
    """

    coefficients: Floats
    covariance: Floats
    residuals: Floats
    kept: NDArray[np.bool_]
    scale: float
    freedom: int

    def interval(self, weights: ArrayLike) -> tuple[float, float, float]:
        """A linear combination of the coefficients with its 95 % interval (Student's t).

        Parameters
        ----------
        weights : array (p,)

        Returns
        -------
        value, low, high : float
        """
        from scipy.special import stdtrit

        w = np.asarray(weights, dtype=float)
        value = float(w @ self.coefficients)
        half = float(stdtrit(self.freedom, 0.975)) * float(np.sqrt(max(0.0, w @ self.covariance @ w)))
        return value, value - half, value + half

    def p_value(self, columns: list[int]) -> float:
        """Chance of coefficients at least this far from zero if all of ``columns`` were zero (F test).

        Parameters
        ----------
        columns : list of int
        """
        from scipy.special import fdtrc

        b = self.coefficients[columns]
        c = self.covariance[np.ix_(columns, columns)]
        if not np.any(c):
            return float(np.all(b == 0))
        f = float(b @ np.linalg.solve(c, b)) / len(columns)
        return float(fdtrc(len(columns), self.freedom, f))


def clean_fit(design: ArrayLike, values: ArrayLike) -> CleanFit:
    """Least squares without the points that do not belong to the rest.

    A fit with bisquare weights finds suspects. The others are fitted by least squares, and suspects are taken back one
    by one, the nearest first, while |rᵢ| / (s·√(1 + hᵢ)) stays below Student's t at 1 − 0.01/(2n): a set of sound,
    normal points loses one in about 1 % of all cases, whatever its size.

    Parameters
    ----------
    design : array (n, p), of full rank, n at least p + 2
    values : array (n,)

    Raises
    ------
    ValueError
        For too few points or columns that cannot be told apart.

    References
    ----------
    A. E. Beaton, J. W. Tukey, Technometrics 16, 147 (1974) (from memory); A. S. Hadi, J. S. Simonoff, J. Am. Stat.
    Assoc. 88, 1264 (1993) (from memory), whose order of taking points back this follows.
    """
    x, z = np.asarray(design, dtype=float), np.asarray(values, dtype=float).ravel()
    n, p = x.shape
    if n < p + 2 or z.size != n or not (np.all(np.isfinite(x)) and np.all(np.isfinite(z))):
        raise ValueError(f"a fit of {p} numbers needs at least {p + 2} finite points, got {n}")
    if np.linalg.matrix_rank(x / np.maximum(np.abs(x).max(axis=0), np.finfo(float).tiny)) < p:
        raise ValueError("the columns cannot be told apart")
    kept = _unsuspected(x, z)
    kept = _taken_back(x, z, kept)
    solved, inverse, scale = _least_squares(x[kept], z[kept])
    return CleanFit(
        coefficients=solved,
        covariance=inverse * scale**2,
        residuals=z - x @ solved,
        kept=kept,
        scale=scale,
        freedom=int(kept.sum()) - p,
    )


def _least_squares(x: Floats, z: Floats) -> tuple[Floats, Floats, float]:
    solved = np.asarray(np.linalg.lstsq(x, z, rcond=None)[0], dtype=float)
    rest = z - x @ solved
    inverse = np.asarray(np.linalg.pinv(x.T @ x), dtype=float)
    return solved, inverse, float(np.sqrt(rest @ rest / (len(z) - x.shape[1])))


def _unsuspected(x: Floats, z: Floats) -> NDArray[np.bool_]:
    """The points near a robust fit: least absolute deviations first, then bisquare weights."""
    n, p = x.shape
    size = float(np.ptp(z))
    solved = _weighted(x, z, np.ones(n))
    for law in (_absolute, _bisquare):
        for _ in range(_ROUNDS):
            moved = _weighted(x, z, law(z - x @ solved, p, _EXACT * size or 1.0))
            change, solved = np.max(np.abs(x @ (moved - solved))), moved
            if change <= _SAME * size:
                break
    rest = np.abs(z - x @ solved)
    near = rest <= _SUSPECT * max(_spread(rest, p), _EXACT * size)
    fewest = max(p + 2, (n + 1) // 2)
    if near.sum() < fewest or np.linalg.matrix_rank(x[near]) < p:
        near = np.zeros(n, dtype=bool)
        near[np.argsort(rest, kind="stable")[:fewest]] = True
        if np.linalg.matrix_rank(x[near]) < p:
            near[:] = True
    return np.asarray(near)


def _weighted(x: Floats, z: Floats, weights: Floats) -> Floats:
    root = np.sqrt(weights)
    return np.asarray(np.linalg.lstsq(x * root[:, None], z * root, rcond=None)[0])


def _absolute(rest: Floats, _p: int, tiny: float) -> Floats:
    """Weights under which least squares give least absolute deviations."""
    return np.asarray(1 / np.maximum(np.abs(rest), tiny))


def _bisquare(rest: Floats, p: int, tiny: float) -> Floats:
    u = rest / (_BISQUARE * max(_spread(rest, p), tiny))
    return np.where(np.abs(u) < 1, (1 - u**2) ** 2, 0.0)


def _spread(rest: Floats, p: int) -> float:
    """Robust standard deviation of residuals; p of them are near zero because the fit goes through them."""
    return MAD_TO_STD * float(np.median(np.sort(np.abs(rest))[p - 1 :]))


def _taken_back(x: Floats, z: Floats, kept: NDArray[np.bool_]) -> NDArray[np.bool_]:
    from scipy.special import stdtrit

    n, p = x.shape
    tiny = _EXACT * float(np.ptp(z))
    while not kept.all():
        solved, inverse, scale = _least_squares(x[kept], z[kept])
        out = np.flatnonzero(~kept)
        leverage = np.einsum("ij,jk,ik->i", x[out], inverse, x[out])
        apart = np.abs(z[out] - x[out] @ solved) / np.maximum(scale * np.sqrt(1 + leverage), tiny or 1.0)
        nearest = int(np.argmin(apart))
        if apart[nearest] > float(stdtrit(int(kept.sum()) - p, 1 - WILD_SHARE / (2 * n))):
            break
        kept = kept.copy()
        kept[out[nearest]] = True
    return kept
