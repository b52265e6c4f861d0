"""Many nonlinear least-squares problems at once, with the derivatives given: Levenberg–Marquardt within bounds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Real = NDArray[np.float64]
Rows = NDArray[np.intp]
Flags = NDArray[np.bool_]

Problem = Callable[[Real, Rows], tuple[Real, Real]]
"""Unknowns (k, p) of the problems ``rows`` (k,) → weighted residuals (k, n) and their derivatives (k, p, n), arrays made
for this call."""

_ROUNDS, _TOLERANCE = 200, 1e-10
_START, _GENTLE, _STIFF = 1e-3, 1e-14, 1e12
"""Damping to begin with, the least, and that from which no better step is to be had."""
_CHUNK = 1024
"""Problems that are worked on together: enough for the arithmetic to outweigh the calls, few enough for the memory."""


@dataclass(frozen=True, kw_only=True)
class Fitted:
    """Where the problems ended.

    Attributes
    ----------
    x : array (k, p)
    residual : array (k, n)
        Weighted.
    slopes : array (k, p, n)
        Of the weighted residuals.
    cost : array (k,)
        Sum of the squared residuals; with a tail, of what it leaves of them.
    converged : array (k,) of bool
        Ended at a minimum (no gain, no step or no slope left), not for want of rounds or of finite numbers.
    rounds : array (k,) of int
    held : array (k, p) of bool
        Unknowns that ended pressed against a bound, or were fixed by equal bounds.
    tail : float
    """

    x: Real
    residual: Real
    slopes: Real
    cost: Real
    converged: Flags
    rounds: NDArray[np.int64]
    held: Flags
    tail: float

    @property
    def weights(self) -> Real:
        """Weight that the tail leaves to every residual (k, n)."""
        return _tail_weights(self.residual, self.tail)


class _State(NamedTuple):
    """The problems that still move, one row each."""

    rows: Rows
    x: Real
    residual: Real
    slopes: Real
    cost: Real
    damping: Real
    growth: Real
    scale: Real
    low: Real
    high: Real

    def of(self, kept: Flags) -> _State:
        return _State._make(each[kept] for each in self)


def fit_many(
    problem: Problem,
    start: ArrayLike,
    low: ArrayLike,
    high: ArrayLike,
    tail: float = np.inf,
    rounds: int = _ROUNDS,
    tolerance: float = _TOLERANCE,
) -> Fitted:
    """Least squares of many problems of the same size; those that have ended are no longer worked on.

    Equation: (JᵀJ + μ·D)·δ = −Jᵀr with D the largest diag JᵀJ so far; μ of each problem falls or rises with the gain
    over the foretold one. An unknown pressed against its bound is left out of the step. With a ``tail`` c each
    squared residual r² counts as 2c²·[√(1 + (r/c)²) − 1], which grows like |r| beyond c.

    Parameters
    ----------
    problem : callable
        (unknowns (k, p), rows (k,)) → (weighted residuals (k, n), derivatives (k, p, n)). A residual that is not
        finite makes a step be refused.
    start : array (k, p)
        A start outside the bounds is moved onto them.
    low, high : array (p,) or (k, p)
        Bounds, infinite for none; equal bounds fix an unknown.
    tail : float
        In standard deviations. Valid range: above 0; infinite for plain least squares.
    rounds : int
        Most steps of one problem.
    tolerance : float
        Relative gain, step and cosine between residuals and derivatives below which a problem has ended.

    Returns
    -------
    Fitted

    Raises
    ------
    ValueError
        If shapes do not fit, a lower bound lies above the upper, or ``tail`` is not above 0.

    References
    ----------
    D. W. Marquardt, J. Soc. Ind. Appl. Math. 11, 431 (1963), doi:10.1137/0111030 (from memory); H. B. Nielsen, Damping
    parameter in Marquardt's method, IMM-REP-1999-05 (from memory); B. Triggs et al., Bundle adjustment, LNCS 1883,
    298 (2000), doi:10.1007/3-540-44480-7_21 (from memory).
    """
    x = np.array(start, dtype=float, ndmin=2)
    lowest, highest = (np.array(np.broadcast_to(np.asarray(each, float), x.shape)) for each in (low, high))
    if np.any(lowest > highest):
        raise ValueError("low must not lie above high")
    if not tail > 0:
        raise ValueError(f"tail must be above 0, got {tail}")
    parts = [
        _chunk(
            problem,
            np.arange(first, min(first + _CHUNK, len(x))),
            (x, lowest, highest),
            (tail, rounds, tolerance),
        )
        for first in range(0, len(x), _CHUNK)
    ]
    if not parts:
        raise ValueError("at least one problem is needed")
    joined = [np.concatenate(each) for each in zip(*parts, strict=True)]
    x, residual, slopes, cost, converged, taken, _ = joined
    held = _held(
        x, np.einsum("kpn,kn->kp", slopes, residual * _tail_weights(residual, tail)), lowest, highest
    )
    return Fitted(
        x=x,
        residual=residual,
        slopes=slopes,
        cost=cost,
        converged=converged.astype(bool),
        rounds=taken.astype(np.int64),
        held=held,
        tail=tail,
    )


def _chunk(
    problem: Problem, rows: Rows, given: tuple[Real, Real, Real], how: tuple[float, int, float]
) -> tuple[Real, ...]:
    tail, rounds, tolerance = how
    low, high = given[1][rows], given[2][rows]
    x = np.clip(given[0][rows], low, high)
    residual, slopes = problem(x, rows)
    count = len(rows)
    cost = _cost(residual, tail)
    blank = (cost.copy(), np.zeros(count), np.zeros(count), np.full(count, float(rows[0])))
    out = (x.copy(), residual.copy(), slopes.copy(), *blank)
    first = np.full(count, _START)
    state = _State(rows, x, residual, slopes, cost, first, np.full(count, 2.0), np.zeros_like(x), low, high)
    for taken in range(1, rounds + 1):
        with np.errstate(all="ignore"):
            proposal, over = _proposal(state, tail, tolerance)
            if np.any(over):
                _write(out, state, over, taken)
                state, proposal = state.of(~over), proposal.of(~over)
                if not len(state.rows):
                    break
            state, ended = _judged(problem, state, proposal, tail, tolerance)
        stopped = ended | ~np.isfinite(state.cost) | (state.damping > _STIFF)
        if taken == rounds:
            stopped[:] = True
        if np.any(stopped):
            _write(out, state, stopped, taken, ended)
            state = state.of(~stopped)
            if not len(state.rows):
                break
    return out


def _write(
    out: tuple[Real, ...], state: _State, stopped: Flags, taken: int, ended: Flags | None = None
) -> None:
    at = state.rows[stopped] - out[6][0].astype(np.intp)
    converged = np.ones(len(at)) if ended is None else ended[stopped].astype(float)
    for kept, value in zip(out, (state.x, state.residual, state.slopes, state.cost), strict=False):
        kept[at] = value[stopped]
    out[4][at], out[5][at] = converged, taken


class _Proposal(NamedTuple):
    """Where each problem would go, and what is foretold of it."""

    tried: Real
    foretold: Real
    aligned: Real
    scale: Real

    def of(self, kept: Flags) -> _Proposal:
        return _Proposal._make(each[kept] for each in self)


def _proposal(state: _State, tail: float, tolerance: float) -> tuple[_Proposal, Flags]:
    """A step of every problem, and which of them need none: nothing is to be gained, or no slope is left."""
    weighted, steep = _reweighted(state, tail)
    square = np.matmul(steep, steep.swapaxes(1, 2))
    pull = np.matmul(steep, weighted[:, :, None])[:, :, 0]
    spine = np.einsum("kpp->kp", square)
    scale = np.maximum(state.scale, spine)
    away = _held(state.x, pull, state.low, state.high) | (scale <= 0) | ~np.isfinite(spine)
    move = _solved(square, pull, scale, away, state.damping)
    tried = np.clip(state.x + move, state.low, state.high)
    free = np.where(away, 0.0, tried - state.x)
    foretold = -2.0 * np.sum(free * pull, axis=1) - np.einsum("kp,kpq,kq->k", free, square, free)
    size = np.sqrt(np.maximum(spine * state.cost[:, None], np.finfo(float).tiny))
    aligned = np.max(np.where(away, 0.0, np.abs(pull) / size), axis=1)
    over = (aligned <= tolerance) | (state.cost <= 0)
    # A step that is hardly damped knows how much it gains.
    over |= (np.abs(foretold) <= 0.01 * tolerance * state.cost) & (state.damping < 1.0)
    return _Proposal(tried, foretold, aligned, scale), over & np.isfinite(state.cost)


def _judged(
    problem: Problem, state: _State, proposal: _Proposal, tail: float, tolerance: float
) -> tuple[_State, Flags]:
    """The proposed step where it is better, softer or stiffer damping, and which problems have ended."""
    tried, foretold, aligned, scale = proposal
    move = tried - state.x
    residual, slopes = problem(tried, state.rows)
    cost = _cost(residual, tail)
    gain = state.cost - cost
    better = (gain > 0) & np.isfinite(cost)
    ratio = np.where(foretold > 0, gain / foretold, np.where(better, 1.0, -1.0))
    softer = np.maximum(1.0 / 3.0, 1.0 - (2.0 * np.clip(ratio, 0.0, 1.0) - 1.0) ** 3)
    damping = np.where(better, np.maximum(state.damping * softer, _GENTLE), state.damping * state.growth)
    size = np.sqrt(np.sum(scale * move**2, axis=1))
    ended = size <= tolerance * np.sqrt(np.sum(scale * state.x**2, axis=1))
    ended |= (np.abs(gain) <= tolerance * state.cost) & (foretold <= tolerance * state.cost)
    # No step whatever its length gains anything: rounding is all that is left where the slope is next to none.
    ended |= (damping > _STIFF) & (aligned <= np.sqrt(np.finfo(float).eps))
    ended &= np.isfinite(state.cost)
    # Most steps are good ones: the few others get back what they had, in place.
    worse = ~better
    for new, old in (
        (tried, state.x),
        (residual, state.residual),
        (slopes, state.slopes),
        (cost, state.cost),
    ):
        new[worse] = old[worse]
    growth = np.where(better, 2.0, state.growth * 2.0)
    return (
        _State(state.rows, tried, residual, slopes, cost, damping, growth, scale, state.low, state.high),
        ended,
    )


def _reweighted(state: _State, tail: float) -> tuple[Real, Real]:
    if not np.isfinite(tail):
        return state.residual, state.slopes
    root = np.sqrt(_tail_weights(state.residual, tail))
    return state.residual * root, state.slopes * root[:, None, :]


def _solved(square: Real, pull: Real, scale: Real, away: Flags, damping: Real) -> Real:
    """Damped normal equations without the unknowns that stay away."""
    stay = away[:, :, None] | away[:, None, :]
    damped = np.where(stay, 0.0, square)
    diagonal = np.einsum("kpp->kp", damped)
    # Scaled to a unit diagonal, so that unknowns of any size meet the solver alike.
    root = np.sqrt(np.where(away, 1.0, np.maximum(scale, 1e-300)))
    damped = damped / (root[:, :, None] * root[:, None, :])
    places = np.arange(square.shape[1])
    damped[:, places, places] = np.where(away, 1.0, diagonal / root**2 + damping[:, None])
    right = np.where(away, 0.0, -pull / root)
    good = np.all(np.isfinite(damped), axis=(1, 2)) & np.all(np.isfinite(right), axis=1)
    damped[~good], right[~good] = np.eye(square.shape[1]), 0.0
    result: Real = np.linalg.solve(damped, right[:, :, None])[:, :, 0] / root
    return result


def _held(x: Real, pull: Real, low: Real, high: Real) -> Flags:
    """Unknowns at a bound that pull outwards, and fixed ones; ``pull`` is half the slope of the cost."""
    result: Flags = (low == high) | ((x <= low) & (pull > 0)) | ((x >= high) & (pull < 0))
    return result


def _tail_weights(residual: Real, tail: float) -> Real:
    if not np.isfinite(tail):
        return np.ones_like(residual)
    result: Real = 1.0 / np.sqrt(1.0 + (residual / tail) ** 2)
    return result


def _cost(residual: Real, tail: float) -> Real:
    if not np.isfinite(tail):
        return np.asarray(np.einsum("kn,kn->k", residual, residual))
    counted = 2.0 * tail**2 * (np.sqrt(1.0 + (residual / tail) ** 2) - 1.0)
    return np.asarray(np.sum(counted, axis=1))
