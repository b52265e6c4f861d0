"""Many small least-squares problems at once: Levenberg–Marquardt within bounds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Real = NDArray[np.float64]
_ROUNDS, _GENTLE, _STIFF = 60, 1e-12, 1e10
_TINY = float(np.finfo(float).tiny) ** 0.5
_SAME, _NO_GAIN = 0.03, 1e-12
"""A problem has ended when it moves by less than this share of the step, or gains less than this share of its cost."""


@dataclass(frozen=True, kw_only=True)
class Solved:
    """Where the problems ended.

    Attributes
    ----------
    x : array (k, p)
    residual : array (k, n)
    jacobian : array (k, n, p)
    """

    x: Real
    residual: Real
    jacobian: Real

    @property
    def cost(self) -> Real:
        """Sum of squared residuals (k,)."""
        return np.asarray(np.sum(self.residual**2, axis=1))


def least_squares_many(
    residual: Callable[[Real], Real], start: Real, low: Real, high: Real, step: Real
) -> Solved:
    """Least squares from every start, all in step, so that one call of ``residual`` serves them all.

    (JᵀJ + μ·diag JᵀJ)·δ = −Jᵀr with differences for J; μ falls after a better step and rises after a worse; an
    unknown that is pressed against its bound stays there.

    Parameters
    ----------
    residual : function from (k, p) to (k, n)
    start : array (k, p)
    low, high : array (p,)
        Bounds; a start outside is moved onto them.
    step : array (p,)
        For the differences; a solution is good to about a thirtieth of it.
    """
    x = np.clip(start, low, high)
    found = residual(x)
    slope = _slopes(residual, x, found, high, step)
    mu = np.full(len(x), 1e-3)
    for _ in range(_ROUNDS):
        square = np.einsum("knp,knq->kpq", slope, slope)
        pull = np.einsum("knp,kn->kp", slope, found)
        pressed = ((x <= low) & (pull > 0)) | ((x >= high) & (pull < 0))
        pull[pressed] = 0.0
        square = np.where(pressed[:, :, None] | pressed[:, None, :], 0.0, square)
        spine = np.maximum(np.einsum("kpp->kp", square), _TINY) + pressed
        stiff = square + ((mu[:, None] + pressed) * spine)[:, :, None] * np.eye(x.shape[1])
        moved = np.clip(x - np.linalg.solve(stiff, pull[..., None])[..., 0], low, high)
        tried = residual(moved)
        cost, new = np.sum(found**2, axis=1), np.sum(tried**2, axis=1)
        better = new < cost
        still = np.all(np.abs(moved - x) < _SAME * step, axis=1) | (mu > _STIFF)
        still |= better & (cost - new <= _NO_GAIN * cost)
        x = np.where(better[:, None], moved, x)
        found = np.where(better[:, None], tried, found)
        mu = np.where(better, np.maximum(mu / 5, _GENTLE), mu * 8)
        if np.all(still):
            break
        if better.any():
            slope = _slopes(residual, x, found, high, step)
    return Solved(x=x, residual=found, jacobian=_slopes(residual, x, found, high, step))


def _slopes(residual: Callable[[Real], Real], x: Real, found: Real, high: Real, step: Real) -> Real:
    columns = []
    for j, h in enumerate(step):
        along = np.where(x[:, j] + h > high[j], -h, h)
        beside = x.copy()
        beside[:, j] += along
        columns.append((residual(beside) - found) / along[:, None])
    return np.stack(columns, axis=2)
