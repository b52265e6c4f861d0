"""Where a gate leaks: through its area, along its edge, or the same in every device."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from filmwright.learn.regression import clean_fit
from filmwright.learn.robust import MAD_TO_STD
from filmwright.numerics import least_squares_many

Floats = NDArray[np.float64]
LeakPart = Literal["area", "edge", "each device"]
PARTS: tuple[LeakPart, ...] = ("area", "edge", "each device")
Told = Literal["there", "not distinguishable from zero", "cannot be told apart"]

FEWEST_DEVICES = 6
_NOTHING = float(np.finfo(float).tiny)
_DOUBLINGS, _HALVINGS = 30, 14
MOST_ALIKE = 30.0
"""Condition number of the scaled columns beyond which a share cannot be given to one of them."""

WHAT_WOULD_TELL = (
    "capacitors of equal area and unlike border (one square, one comb of narrow fingers) on the same die part edge from "
    "area; the same shape in three sizes parts both from what every device has, such as pads and probes"
)
"""The test structures that would tell the parts apart."""


@dataclass(frozen=True, kw_only=True)
class Leaking:
    """The gate current of one device, with the border and area through which it may flow.

    Attributes
    ----------
    wafer, device : str
    current : float [A], above zero
    area : float [m²]
    edge : float [m]
        Length of gate edge over the channel or electrode.
    """

    wafer: str
    device: str
    current: float
    area: float
    edge: float


@dataclass(frozen=True, kw_only=True)
class LeakShare:
    """One part of the leakage.

    Attributes
    ----------
    part : LeakPart
    value, low, high : float [A/m², A/m or A]
        With its 95 % interval by profile likelihood; never negative.
    share : float
        Of the fitted current of the typical device (that of median current).
    verdict : Told
    """

    part: LeakPart
    value: float
    low: float
    high: float
    share: float
    verdict: Told


@dataclass(frozen=True, kw_only=True)
class Leakage:
    """How the gate current goes with area and edge.

    Attributes
    ----------
    shares : tuple of LeakShare
        Empty where nothing can be told; ``why_not`` says why.
    scatter : float or None
        Standard deviation of ln(current) about the fit.
    condition : float or None
        Condition number of the columns in units of the fitted current.
    devices, below : int
        Devices used, and those whose current was zero, negative or not known.
    outliers : tuple of (wafer, device)
    why_not, what_would_tell : str
    """

    shares: tuple[LeakShare, ...] = ()
    scatter: float | None = None
    condition: float | None = None
    devices: int = 0
    below: int = 0
    outliers: tuple[tuple[str, str], ...] = ()
    why_not: str = ""
    what_would_tell: str = ""

    @property
    def apart(self) -> bool:
        """Whether area and edge are told apart."""
        return bool(self.shares) and all(each.verdict != "cannot be told apart" for each in self.shares)


def leakage(devices: Sequence[Leaking]) -> Leakage:
    """Share the gate current out between area, edge and what every device has.

    ln I = ln(j_A·A + j_P·P + I₀) + scatter, all three at least zero; currents scatter by factors, hence the logarithm.
    Least squares of the logarithm with bisquare weights; an interval holds the values with which the sum of squares
    rises by less than t² times the variance (profile likelihood).

    Parameters
    ----------
    devices : sequence of Leaking

    Returns
    -------
    Leakage

    References
    ----------
    D. M. Bates, D. G. Watts, Nonlinear Regression Analysis and Its Applications, Wiley 1988, ch. 6 (from memory).
    """
    sound = [each for each in devices if each.current > 0 and math.isfinite(each.current)]
    below = len(devices) - len(sound)
    if len(sound) < FEWEST_DEVICES:
        why = f"{len(sound)} devices with a gate current, area and edge; at least {FEWEST_DEVICES} are needed"
        return Leakage(devices=len(sound), below=below, why_not=why, what_would_tell=WHAT_WOULD_TELL)
    columns = np.array([[each.area, each.edge, 1.0] for each in sound])
    log = np.log([each.current for each in sound])
    if len(np.unique(np.round(np.log(columns[:, :2]), 2), axis=0)) < 3:
        why = "fewer than three sizes of device: area, edge and device cannot be told apart"
        return Leakage(devices=len(sound), below=below, why_not=why, what_would_tell=WHAT_WOULD_TELL)
    return _shared_out(sound, columns, log, below)


def _shared_out(sound: Sequence[Leaking], columns: Floats, log: Floats, below: int) -> Leakage:
    from scipy.special import stdtrit

    typical = columns[int(np.argsort(log)[len(log) // 2])]
    scaled = columns / typical * math.exp(float(np.median(log)))
    kept = _near(scaled, log)
    x, z = scaled[kept], log[kept]
    theta, cost = _fitted(x, z)
    freedom = len(z) - 3
    variance = cost / freedom
    limit = cost + float(stdtrit(freedom, 0.975)) ** 2 * variance
    fitted = x @ theta
    condition = float(np.linalg.cond((x / fitted[:, None]) / np.linalg.norm(x / fitted[:, None], axis=0)))
    ends = _profile(x, z, theta, limit)
    total = float(theta.sum())
    unit = math.exp(float(np.median(log))) / typical
    mixed = _mixed(ends, theta, condition)
    shares = []
    for at, part in enumerate(PARTS):
        low, high = ends[at]
        verdict: Told = (
            "there" if low > 0 else "cannot be told apart" if mixed[at] else "not distinguishable from zero"
        )
        shares.append(
            LeakShare(
                part=part,
                value=float(theta[at] * unit[at]),
                low=low * float(unit[at]),
                high=high * float(unit[at]),
                share=float(theta[at]) / total,
                verdict=verdict,
            )
        )
    return Leakage(
        shares=tuple(shares),
        scatter=math.sqrt(variance),
        condition=condition,
        devices=len(sound),
        below=below,
        outliers=tuple((each.wafer, each.device) for each, k in zip(sound, kept, strict=True) if not k),
        what_would_tell=WHAT_WOULD_TELL if any(mixed) else "",
    )


def _mixed(ends: Sequence[tuple[float, float]], theta: Floats, condition: float) -> list[bool]:
    """Parts of which one could stand for another: zero is possible for each, yet each may carry half or more."""
    open_ = [low <= 0 and high >= 0.5 * float(theta.sum()) for low, high in ends]
    several = sum(open_) >= 2
    return [
        several and (each or condition > MOST_ALIKE) and low <= 0
        for each, (low, _) in zip(open_, ends, strict=True)
    ]


def _near(x: Floats, z: Floats) -> NDArray[np.bool_]:
    """Devices whose current fits the rest, about a fit with bisquare weights."""
    weights = np.ones(len(z))
    for _ in range(20):
        theta, _cost = _fitted(x, z, weights)
        rest = z - np.log(x @ theta)
        spread = MAD_TO_STD * float(np.median(np.sort(np.abs(rest))[2:])) or 1.0
        u = rest / (4.685 * spread)
        moved = np.where(np.abs(u) < 1, (1 - u**2), 0.0)
        if np.max(np.abs(moved - weights)) < 1e-3:
            break
        weights = moved
    slopes = x / (x @ theta)[:, None]
    try:
        # Near the robust fit ln I is linear in the parts, so outliers are found as on a plane.
        return clean_fit(slopes, z - np.log(x @ theta) + slopes @ theta).kept
    except ValueError:
        return np.ones(len(z), dtype=bool)


def _fitted(x: Floats, z: Floats, weights: Floats | None = None) -> tuple[Floats, float]:
    """Non-negative parts that fit best, in units of the typical current, with the sum of squares."""
    root = np.ones(len(z)) if weights is None else weights
    count = x.shape[1]
    starts = np.vstack([np.full((1, count), 1 / count), np.clip(np.eye(count), 0.02, 1.0)])
    found = least_squares_many(
        lambda t: root * (z - np.log(np.maximum(t @ x.T, _NOTHING))), starts, *_bounds(count)
    )
    best = int(np.argmin(found.cost))
    return found.x[best], float(found.cost[best])


def _bounds(count: int) -> tuple[Floats, Floats, Floats]:
    """Lowest and highest parts in units of the typical current, and the step of their differences."""
    return np.zeros(count), np.full(count, 1e6), np.full(count, 1e-5)


def _profile(x: Floats, z: Floats, theta: Floats, limit: float) -> list[tuple[float, float]]:
    """Ends of the interval of each part: where the best fit of the others costs as much as is allowed.

    All six ends are halved towards at once.
    """
    parts = np.repeat(np.arange(3), 2)
    upper = np.tile([False, True], 3)
    others = np.array([[k for k in range(3) if k != at] for at in parts])
    columns = np.stack([x[:, own] for own in others])
    begin = np.maximum(theta[others], 0.02)

    def costs(values: Floats) -> Floats:
        held = x[:, parts].T * values[:, None]

        def residual(t: Floats) -> Floats:
            return np.asarray(z - np.log(np.maximum(np.einsum("knp,kp->kn", columns, t) + held, _NOTHING)))

        return least_squares_many(residual, begin, *_bounds(2)).cost

    inside = theta[parts].astype(float)
    outside = np.where(upper, inside + 0.1 * float(theta.sum()), 0.0)
    for _ in range(_DOUBLINGS):
        near = (costs(outside) <= limit) & upper
        if not near.any():
            break
        inside = np.where(near, outside, inside)
        outside = np.where(near, 2 * outside, outside)
    # A lower end of zero that costs no more than is allowed is the end.
    inside = np.where(~upper & (costs(outside) <= limit), outside, inside)
    for _ in range(_HALVINGS):
        middle = (inside + outside) / 2
        fits = costs(middle) <= limit
        inside, outside = np.where(fits, middle, inside), np.where(fits, outside, middle)
    return [(float(inside[2 * at]), float(inside[2 * at + 1])) for at in range(3)]
