"""The channel current fitted to families of curves, many at once: starts, weights, what the model misses."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from filmwright import device
from filmwright.measure.families import Family
from filmwright.measure.family_weights import (
    STRUCTURED,
    evened,
    missed_shares,
    noise_again,
    sign_runs,
    with_misfit,
)
from filmwright.measure.smoothing import Array
from filmwright.numerics import FitErrors, Fitted, fit_errors, fit_many
from filmwright.units import ROOM_TEMPERATURE

MOVED = ("threshold_voltage", "gain", "ideality", "contact_ohms", "off_current")
"""What is fitted unless asked otherwise; ``modulation`` joins where the data reach into saturation."""

_MOST_IDEALITY, _MOST_MODULATION, _MOST_BODY = 300.0, 1.0, 5.0
_PASSES = 4
_ROUGH = 40
"""Points of a family that the search for a start looks at."""


@dataclass(frozen=True, kw_only=True)
class Ground:
    """Families with the same number of points, as arrays.

    Attributes
    ----------
    gate, drain, current : array (k, n)
    temperature : float [K]
    names : tuple of str
        What is moved.
    """

    gate: Array
    drain: Array
    current: Array
    temperature: float
    names: tuple[str, ...]

    def model(self, x: Array, rows: np.ndarray[tuple[int], np.dtype[np.intp]]) -> tuple[Array, Array]:
        """Currents and derivatives at unknowns (k, p)."""
        values = {name: x[:, at] for at, name in enumerate(self.names)}
        return device.current_slopes(values, self.gate[rows], self.drain[rows], self.names, self.temperature)

    def problem(self, std: Array):  # type: ignore[no-untyped-def]
        """Weighted residuals and derivatives for the solver."""

        def weighted(x: Array, rows: np.ndarray[tuple[int], np.dtype[np.intp]]) -> tuple[Array, Array]:
            current, slopes = self.model(x, rows)
            weight = 1.0 / std[rows]
            slopes *= weight[:, None, :]
            return (current - self.current[rows]) * weight, slopes

        return weighted

    def bounds(self) -> tuple[Array, Array]:
        """Lower and upper bounds (k, p)."""
        reach = np.ptp(self.gate, axis=1) + np.max(self.drain, axis=1) + 1.0
        low, high = (
            np.zeros((len(self.gate), len(self.names))),
            np.full((len(self.gate), len(self.names)), np.inf),
        )
        for at, name in enumerate(self.names):
            if name == "threshold_voltage":
                low[:, at], high[:, at] = self.gate.min(axis=1) - reach, self.gate.max(axis=1) + reach
            elif name == "ideality":
                low[:, at], high[:, at] = 1.0, _MOST_IDEALITY
            elif name == "body_factor":
                low[:, at], high[:, at] = 1.0, _MOST_BODY
            elif name == "modulation":
                high[:, at] = _MOST_MODULATION
        return low, high


@dataclass(frozen=True, kw_only=True)
class FamilyFits:
    """Fits of families of one shape.

    Attributes
    ----------
    ground : Ground
    fitted : Fitted
        With the weights of the last pass.
    errors : FitErrors
        Of these weights alone.
    std : array (k, n) [A]
        Of the points in the last pass.
    reduced : array (k,)
        Squared residuals over degrees of freedom with the noise of the data alone.
    misfit : pair of array (k,)
        Shares of the current by which the model misses the data beyond their noise, in the upper and the lower part of
        the curves.
    runs : array (k,)
        How many standard deviations the runs of residuals of one sign are fewer than by chance (negative: fewer).
    widened : array (k,)
        By which the standard deviations of the errors are to be multiplied.
    """

    ground: Ground
    fitted: Fitted
    errors: FitErrors
    std: Array
    reduced: Array
    misfit: tuple[Array, Array]
    runs: Array
    widened: Array

    @property
    def deviations(self) -> Array:
        """Standard deviation of every unknown (k, p): infinite where not told, NaN at a bound."""
        result: Array = self.errors.std * self.widened[:, None]
        return result


def fit_alike(
    families: Sequence[Family], names: tuple[str, ...], temperature: float, tail: float = np.inf
) -> FamilyFits:
    """Fit families that have the same number of points.

    The points are weighted by the noise of their curves at the fitted current. Where the model misses them by more, a
    share of the current is added to the noise until they agree, and the fit is made again: so no decade of a curve
    that the model cannot follow pulls on all others. Residuals that keep their sign over several points count as fewer
    points.

    Parameters
    ----------
    families : sequence of Family
    names : tuple of str
        What is moved, of ``device.CHANNEL_PARAMETERS``.
    temperature : float [K]
    tail : float
        In standard deviations: beyond it a point pulls with a constant force. Infinite for plain least squares.

    Returns
    -------
    FamilyFits
    """
    ground = Ground(
        gate=np.stack([each.gate for each in families]),
        drain=np.stack([each.drain for each in families]),
        current=np.stack([each.current for each in families]),
        temperature=temperature,
        names=names,
    )
    curve = np.stack([each.curve for each in families]).astype(float)
    floor, share = (
        np.stack([evened(getattr(each, name)) for each in families]) for name in ("floor", "share")
    )
    bounds = ground.bounds()
    rough = np.sqrt(floor**2 + (np.hypot(share, 0.1) * ground.current) ** 2)
    x = _best_start(ground, [_starts(each, names) for each in families], rough, bounds, tail)
    free = max(ground.current.shape[1] - len(names), 1)
    current = ground.model(x, np.arange(len(x)))[0]
    noise = np.hypot(floor, share * current)
    misfit = missed_shares(current - ground.current, ground.current, noise, free, curve)
    for again in range(_PASSES):
        std = with_misfit(noise, ground.current, misfit, curve)
        fitted = fit_many(ground.problem(std), x, *bounds, tail=tail, tolerance=1e-9)
        x, rest = fitted.x, fitted.residual * std
        current = rest + ground.current
        noise = np.hypot(floor, share * current)
        if again == _PASSES - 1:
            break
        missed = missed_shares(rest, ground.current, noise, free, curve)
        if again > 1 and np.all(np.abs(np.subtract(missed, misfit)) <= 0.02 * np.asarray(misfit)):
            break
        misfit = missed
        floor, share = noise_again(rest, current, (floor, share), misfit[1] == 0.0, fitted.slopes)
        noise = np.hypot(floor, share * current)
    reduced = np.sum((rest / noise) ** 2, axis=1) / free
    runs, length = sign_runs(fitted.residual, curve)
    structured = (misfit[1] > 0) | (runs < -STRUCTURED)
    widened = np.sqrt(np.sum(fitted.residual**2, axis=1) / free * np.where(structured, length, 1.0))
    return FamilyFits(
        ground=ground,
        fitted=fitted,
        errors=fit_errors(fitted),
        std=std,
        reduced=reduced,
        misfit=misfit,
        runs=runs,
        widened=np.ones_like(widened) if np.isfinite(tail) else np.maximum(widened, 1e-3),
    )


def _best_start(
    ground: Ground,
    starts: Sequence[Sequence[Mapping[str, float]]],
    std: Array,
    bounds: tuple[Array, Array],
    tail: float,
) -> Array:
    """The best of several rough fits of every family."""
    many = len(starts[0])
    some = np.unique(np.linspace(0, ground.gate.shape[1] - 1, _ROUGH).astype(int))
    std = std[:, some]
    x = np.array([[each[name] for name in ground.names] for own in starts for each in own])
    wide = Ground(
        gate=np.repeat(ground.gate[:, some], many, axis=0),
        drain=np.repeat(ground.drain[:, some], many, axis=0),
        current=np.repeat(ground.current[:, some], many, axis=0),
        temperature=ground.temperature,
        names=ground.names,
    )
    low, high = (np.repeat(each, many, axis=0) for each in bounds)
    rough = fit_many(
        wide.problem(np.repeat(std, many, axis=0)), x, low, high, tail=tail, rounds=30, tolerance=1e-4
    )
    cost = np.where(np.isfinite(rough.cost), rough.cost, np.inf).reshape(len(starts), many)
    best = np.argmin(cost, axis=1)
    result: Array = rough.x.reshape(len(starts), many, -1)[np.arange(len(starts)), best]
    return result


def _starts(family: Family, names: Sequence[str]) -> list[dict[str, float]]:
    """Starting values from the extraction, with a few thresholds and contact resistances around them."""
    top = int(np.argmax(family.current))
    found = _read(family, "threshold_voltage")
    threshold = family.sign * found if np.isfinite(found) else float(np.median(family.gate))
    over = max(float(family.gate[top]) - threshold, 0.2 * float(np.ptp(family.gate)) + 1e-3)
    across = min(float(family.drain[top]), over)
    gain = float(family.current[top]) / (over * across - across**2 / 2.0)
    swing = _read(family, "subthreshold_swing")
    ideality = max(swing / device.subthreshold_limit(ROOM_TEMPERATURE), 1.05) if np.isfinite(swing) else 3.0
    least = max(float(np.quantile(np.abs(family.current), 0.02)), np.finfo(float).tiny)
    return [
        {
            "threshold_voltage": threshold + shift * over,
            "gain": gain * (1.0 + resisted),
            "ideality": min(ideality * wider, _MOST_IDEALITY / 2),
            "contact_ohms": resisted / (2.0 * gain * over),
            "off_current": least,
            "attenuation": 0.2 / over,
            "modulation": 0.01,
            "body_factor": 1.2,
        }
        for shift, resisted, wider in ((0.0, 0.02, 1.0), (-0.1, 0.3, 2.0), (0.1, 0.02, 1.5), (0.0, 1.0, 1.0))
    ]


def _read(family: Family, name: str) -> float:
    """A parameter of the extraction: a valid one before a bound; NaN where there is none."""
    some = [result.parameters[name] for result in family.results if name in result.parameters]
    valid = [each.value for each in some if each.valid and each.value is not None]
    rest = [each.value for each in some if each.value is not None]
    return float(np.median(valid or rest)) if valid or rest else float("nan")


def alike(families: Sequence[Family]) -> Iterator[list[int]]:
    """Places of families that have the same number of points."""
    groups: dict[int, list[int]] = {}
    for at, each in enumerate(families):
        groups.setdefault(len(each.current), []).append(at)
    yield from groups.values()
