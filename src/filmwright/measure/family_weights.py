"""How the points of a family are weighted: by the noise of the data, and by what the model misses beyond it."""

from __future__ import annotations

import numpy as np

from filmwright.measure.smoothing import Array

STRAY, _FAR_OFF = 1.5, 4.0
"""Squared residuals over degrees of freedom, from which the model is said to miss the data beyond their noise: where
the residuals keep their sign, and where they do not (a curve shows its own noise to a quarter or so)."""

STRUCTURED = 3.0
"""Runs of residuals of one sign: standard deviations from chance beyond which they are taken for structure."""

_ALIKE, _NONE = 10.0, 1e-3
"""Curves of one family whose noise differs by less have the same: each tells it from a few points. Below that part of
the largest a curve shows none."""

_ON = 0.03
"""Of the largest current of a curve, from which a point belongs to its upper part."""


def evened(noise: Array) -> Array:
    """The noise of the curves of a family, taken as one where each curve alone shows it no better than that.

    A curve that shows none at all (its few quiet points lay close by chance) has that of the others.
    """
    shown = noise[noise > _NONE * noise.max()]
    if float(shown.max()) < _ALIKE * float(shown.min()):
        return np.full_like(noise, float(np.sqrt(np.mean(shown**2))))
    return np.maximum(noise, float(shown.min()))


def noise_again(
    rest: Array, current: Array, noise: tuple[Array, Array], good: Array, slopes: Array
) -> tuple[Array, Array]:
    """Floor and share of the noise from what a fit leaves, where it is good: more points tell them than one stretch of
    a curve.

    Equation: r²/(1 − h) = A·floor² + B·(share·I)² + …, weighted by 1/variance², the scoring of a normal likelihood; h is
    the part of its own residual that a point takes out of the fit, ``slopes`` (k, p, n) weighted.
    """
    floor, share = noise
    parts = np.stack([floor**2, (share * current) ** 2], axis=1)
    size = np.ones((len(rest), 2))
    square = slopes @ slopes.swapaxes(1, 2)
    spine = np.einsum("kpp->kp", square)
    square = square + 1e-12 * np.where(spine > 0, spine, 1.0)[:, :, None] * np.eye(slopes.shape[1])
    taken = np.einsum("kpn,kpn->kn", slopes, np.linalg.solve(square, slopes))
    squares = rest**2 / np.maximum(1.0 - taken, 0.05)
    for _ in range(8):
        variance = np.einsum("kin,ki->kn", parts, size)
        scaled = parts / variance[:, None, :]
        square = np.einsum("kin,kjn->kij", scaled, scaled)
        right = np.einsum("kin,kn->ki", scaled, squares / variance)
        ridge = 1e-9 * np.einsum("kii->k", square)[:, None, None] * np.eye(2)
        size = np.clip(np.linalg.solve(square + ridge, right[:, :, None])[:, :, 0], 1e-3, 1e3)
    size = np.where(good[:, None], np.sqrt(size), 1.0)
    return floor * size[:, :1], share * size[:, 1:]


def upper_part(current: Array, curve: Array) -> Array:
    """Which points (k, n) belong to the upper part of their curve, where channel and contacts carry the current."""
    largest = np.zeros_like(current)
    for number in range(int(curve.max()) + 1):
        own = curve == number
        largest = np.where(own, np.max(np.where(own, current, 0.0), axis=1)[:, None], largest)
    result: Array = (current >= _ON * largest).astype(float)
    return result


def missed_shares(rest: Array, measured: Array, noise: Array, free: int, curve: Array) -> tuple[Array, Array]:
    """Shares s of the measured current by which a model misses it, in the upper and the lower part of the curves (k,).

    Equation: Σ r²/(noise² + (s·I)²) = degrees of freedom of the part, and s of the lower part at least that of the
    upper: what happens near the floor never outweighs the channel. 0 where the noise explains the residuals; residuals
    somewhat larger than the noise whose sign changes as chance has it are noise, too.
    """
    upper = upper_part(measured, curve)
    reduced = np.sum((rest / noise) ** 2, axis=1) / free
    few = sign_runs(rest / noise, curve)[0] < -STRUCTURED
    excess = (reduced > _FAR_OFF) | ((reduced > STRAY) & few)
    size = np.maximum(np.abs(measured), noise)
    kept = free / rest.shape[1]
    shares = [
        np.where(excess, _share_of(rest, size, noise, part, kept), 0.0) for part in (upper, 1.0 - upper)
    ]
    return shares[0], np.maximum(*shares)


def _share_of(rest: Array, size: Array, noise: Array, part: Array, kept: float) -> Array:
    wanted = kept * part.sum(axis=1)
    low, high = np.full(len(rest), -9.0), np.zeros(len(rest))
    for _ in range(40):
        middle = (low + high) / 2.0
        variance = noise**2 + (10.0 ** middle[:, None] * size) ** 2
        more = np.sum(part * rest**2 / variance, axis=1) > wanted
        low, high = np.where(more, middle, low), np.where(more, high, middle)
    result: Array = np.where(high > -8.9, 10.0**high, 0.0)
    return result


def with_misfit(noise: Array, measured: Array, shares: tuple[Array, Array], curve: Array) -> Array:
    """Standard deviation of the points (k, n) [A]: noise and what the model misses."""
    upper = upper_part(measured, curve)
    share = np.where(upper > 0, shares[0][:, None], shares[1][:, None])
    result: Array = np.hypot(noise, share * np.maximum(np.abs(measured), noise))
    return result


def sign_runs(residual: Array, curve: Array) -> tuple[Array, Array]:
    """Runs of one sign against chance [standard deviations], and over how many points residuals hang together."""
    together = curve[:, 1:] == curve[:, :-1]
    pairs = np.maximum(together.sum(axis=1), 1)
    changes = np.sum((residual[:, 1:] * residual[:, :-1] < 0) & together, axis=1)
    positive = np.clip(np.mean(residual > 0, axis=1), 0.02, 0.98)
    chance = 2.0 * positive * (1.0 - positive)
    runs = (changes - chance * pairs) / np.sqrt(pairs * chance * (1.0 - chance) + 1e-9)
    power = np.mean(residual**2, axis=1)
    length, alive = np.ones(len(residual)), np.ones(len(residual), dtype=bool)
    for lag in range(1, max(residual.shape[1] // 4, 2)):
        same = curve[:, lag:] == curve[:, :-lag]
        shared = np.sum(residual[:, lag:] * residual[:, :-lag] * same, axis=1) / np.maximum(
            same.sum(axis=1), 1
        )
        alive &= (shared > 0.05 * power) & same.any(axis=1)
        if not alive.any():
            break
        length += np.where(alive, 2.0 * shared / np.maximum(power, np.finfo(float).tiny), 0.0)
    return runs, np.minimum(length, residual.shape[1] / 4.0)
