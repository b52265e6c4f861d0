"""Step heights from stylus traces in the manner of ISO 5436-1: level, step and its error by least squares on stated windows."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from filmwright.measure.curves import Array
from filmwright.measure.length_lines import quantile_of
from filmwright.measure.results import Parameter

FEWEST_POINTS = 30
"""Points that a trace needs."""
_LOOKS = (40, 10)
"""The trace is compared with itself over these parts of its length to find edges, one after the other."""
_CLEAR, _SHARE = 7.0, 0.2
"""An edge stands out from the noise of the comparison by so much, and is at least this part of the largest."""
_THIRD = 1 / 3
_BISQUARE, _MAD, _ROUNDS = 4.685, 1.4826, 25
_ROUNDING = 1e-9
"""Share of the whole height below which a distance from the fit is rounding."""
_SAME_LEVEL = 0.2
"""Two sides of a groove or ridge are one level where they differ by less than this part of it."""
_BLOCKS = 300
"""Means of neighbouring points for the correlation of the roughness."""


@dataclass(frozen=True, kw_only=True)
class Trace:
    """Heights along a line.

    Attributes
    ----------
    position, height : array (n,) [m]
        Position rising.
    file : str
    """

    position: Array
    height: Array
    file: str = ""

    def __post_init__(self) -> None:
        if self.position.shape != self.height.shape or self.position.ndim != 1:
            raise ValueError("position and height must be one-dimensional and of equal length")
        if len(self.position) < FEWEST_POINTS:
            raise ValueError(f"a trace needs {FEWEST_POINTS} points, got {len(self.position)}")
        if np.any(np.diff(self.position) <= 0):
            raise ValueError("position must rise without repeats")


@dataclass(frozen=True, kw_only=True)
class Window:
    """A stretch of a trace that counts.

    Attributes
    ----------
    start, stop : float [m]
    level : int
        Which level it lies on, from the left.
    """

    start: float
    stop: float
    level: int


@dataclass(frozen=True, kw_only=True)
class StepHeights:
    """What a trace tells.

    Attributes
    ----------
    steps : tuple of Parameter
        One for each edge (right less left), or one for a groove or ridge as a whole (inside less outside).
    edges : tuple of float [m]
    windows : tuple of Window
    levelled : array (n,) [m]
        The trace without tilt and bow, the first level at zero.
    left_out : array (n,) of bool
        Points in windows that were taken for particles or pits.
    parameters : mapping from name to Parameter
        Tilt, roughness, correlation length, bow.
    shape : str
        "step", "groove", "ridge" or "stairs".
    warnings : tuple of str
    """

    steps: tuple[Parameter, ...]
    edges: tuple[float, ...]
    windows: tuple[Window, ...]
    levelled: Array
    left_out: NDArray[np.bool_]
    parameters: Mapping[str, Parameter]
    shape: str
    warnings: tuple[str, ...]


def step_heights(
    trace: Trace, edges: Sequence[float] = (), bow: bool = False, leave: float = _THIRD
) -> StepHeights:
    """Heights of the steps of a trace, its tilt taken off by the same fit.

    Equation: z = α·x (+ γ·x²) + h_k on the windows of level k; a groove of width w: outside from w/3 to w beyond each edge,
    inside its middle third

    Parameters
    ----------
    trace : Trace
    edges : sequence of float [m]
        Where they are; else they are looked for.
    bow : bool
        Whether the sample (or the stage) may be bowed.
    leave : float
        Share of a side that is left out at an edge. Valid range: 0 to below 0.5.

    Returns
    -------
    StepHeights

    Raises
    ------
    ValueError
        Without an edge, or with sides too short for a window.

    References
    ----------
    ISO 5436-1:2000, type A1 (from memory); J. W. Tukey's weights: P. J. Huber, Robust Statistics, Wiley 1981 (from
    memory).
    """
    if not 0 <= leave < 0.5:
        raise ValueError(f"leave must be from 0 to below 0.5, got {leave:g}")
    x = trace.position
    found = tuple(sorted(edges)) if len(edges) else find_edges(trace)
    if not found:
        raise ValueError("no step stands out from the roughness: name the edges, or measure across one")
    if found[0] <= x[0] or found[-1] >= x[-1]:
        raise ValueError(f"edges must lie within the trace, {x[0]:.4g} to {x[-1]:.4g} m")
    windows = _windows(x, found, leave, common=False)
    fit = _fitted(trace, windows, bow)
    shape = _shape(fit)
    if shape in ("groove", "ridge"):
        windows = _windows(x, found, leave, common=True)
        fit = _fitted(trace, windows, bow)
    ends = min(w.start for w in windows), max(w.stop for w in windows)
    steps = _steps(fit, shape, leave, ends)
    warnings = []
    lost = float(np.mean(fit.left_out[fit.inside]))
    if lost > 0.1:
        warnings.append(
            f"{100 * lost:.0f} % of the points in the windows were taken for particles or pits: look at the trace"
        )
    levelled = trace.height - fit.background(x) - fit.levels[0]
    return StepHeights(
        steps=steps,
        edges=found,
        windows=windows,
        levelled=levelled,
        left_out=fit.left_out,
        parameters=_others(fit, ends, bow),
        shape=shape,
        warnings=tuple(warnings),
    )


def _steps(fit: _Fit, shape: str, leave: float, ends: tuple[float, float]) -> tuple[Parameter, ...]:
    """The difference of neighbouring levels, each with its error and interval."""
    told = "height" if shape == "ridge" else "depth"
    method = {
        "step": "difference of two levels on a common tilt, a third of the shorter side left out at the edge",
        "stairs": "difference of neighbouring levels on a common tilt, a third of the narrower side left out at each edge",
    }.get(
        shape,
        f"{told} of a {shape} after ISO 5436-1, type A1: middle third inside, from a third to one width outside",
    )
    if leave != _THIRD:
        method = method.replace("a third of", f"{leave:.3g} of")
    found = []
    for a, b in itertools.pairwise(range(len(fit.levels))):
        value, std = float(fit.levels[b] - fit.levels[a]), fit.spread(a, b)
        found.append(
            Parameter(
                value=value, std=std, unit="nm", method=method, window=ends, window_unit="um", valid=True,
                interval=_interval(value, std, fit.freedom),
            )
        )  # fmt: skip
    return tuple(found)


def _interval(value: float, std: float, freedom: int) -> tuple[float, float]:
    half = quantile_of(freedom) * std
    return value - half, value + half


def find_edges(trace: Trace) -> tuple[float, ...]:
    """Where the median to the right differs from that to the left by far more than it does elsewhere.

    Parameters
    ----------
    trace : Trace

    Returns
    -------
    tuple of float [m]
        Empty when nothing stands out; a longer look is taken before that is said.
    """
    for part in _LOOKS:
        found = _edges(trace, max(5, len(trace.height) // part))
        if found:
            return found
    return ()


def _edges(trace: Trace, look: int) -> tuple[float, ...]:
    z, n = trace.height, len(trace.height)
    rolling = np.median(np.lib.stride_tricks.sliding_window_view(z, look), axis=1)
    jump = rolling[look:] - rolling[:-look]
    jump = jump - float(np.median(jump))
    noise = _MAD * float(np.median(np.abs(jump)))
    size = np.abs(jump)
    least = max(_CLEAR * noise, _SHARE * float(size.max()))
    if size.max() <= _CLEAR * noise or size.max() == 0:
        return ()
    found = []
    left = size.copy()
    while left.max() >= least:
        at = int(np.argmax(left))
        found.append(at)
        left[max(0, at - 2 * look) : at + 2 * look] = 0.0
    places = []
    for at in sorted(found):
        # Of the two windows about the jump, the place where the trace passes the middle of their levels.
        rows = slice(at, at + 2 * look)
        half = (rolling[at] + rolling[min(at + look, len(rolling) - 1)]) / 2
        side = z[rows] > half if jump[at] > 0 else z[rows] < half
        # The cut that leaves most points on their own side.
        wrong = np.concatenate([[0], np.cumsum(side)]) + np.concatenate([np.cumsum(~side[::-1])[::-1], [0]])
        k = int(np.clip(at + int(np.argmin(wrong)), 1, n - 1))
        places.append(float((trace.position[k - 1] + trace.position[k]) / 2))
    return tuple(places)


def _windows(x: Array, edges: Sequence[float], leave: float, common: bool) -> tuple[Window, ...]:
    """Windows on every side: the middle of inner ones, from a share of the narrower neighbour on of outer ones."""
    bounds = [float(x[0]), *edges, float(x[-1])]
    sides = list(itertools.pairwise(bounds))
    widths = [stop - start for start, stop in sides]
    windows = []
    for at, (start, stop) in enumerate(sides):
        first, last = at == 0, at == len(sides) - 1
        before = 0.0 if first else leave * (widths[at] if not last else min(widths[at], widths[at - 1]))
        after = 0.0 if last else leave * (widths[at] if not first else min(widths[at], widths[at + 1]))
        begin, end = start + before, stop - after
        if common and first:
            begin = max(begin, stop - widths[1])
        if common and last:
            end = min(end, start + widths[1])
        windows.append(Window(start=begin, stop=end, level=(at % 2 if common else at)))
    for window in windows:
        if np.count_nonzero((x >= window.start) & (x <= window.stop)) < 5:
            raise ValueError("a side of the step is too short: fewer than five points are left in its window")
    return tuple(windows)


@dataclass(frozen=True, kw_only=True)
class _Fit:
    levels: Array
    shape: Array
    centre: float
    covariance: Array
    inside: NDArray[np.bool_]
    left_out: NDArray[np.bool_]
    roughness: float
    correlation: float
    freedom: int
    noise_share: float

    def spread(self, a: int, b: int) -> float:
        c = self.covariance
        return math.sqrt(max(c[a, a] + c[b, b] - 2 * c[a, b], 0.0))

    def background(self, x: Array) -> Array:
        away = x - self.centre
        return np.asarray(sum(factor * away ** (k + 1) for k, factor in enumerate(self.shape)))


def _fitted(trace: Trace, windows: Sequence[Window], bow: bool) -> _Fit:
    x, z = trace.position, trace.height
    member = np.full(len(x), -1)
    for window in windows:
        member[(x >= window.start) & (x <= window.stop)] = window.level
    inside = member >= 0
    count = int(member.max()) + 1
    centre = float(np.mean(x[inside]))
    away = x[inside] - centre
    scale = float(np.ptp(away))
    columns = [(member[inside] == k).astype(float) for k in range(count)]
    columns += [away / scale, *([(away / scale) ** 2] if bow else [])]
    design = np.stack(columns, axis=1)
    kept = _kept(design, z[inside])
    blocks_x, blocks_design, blocks_z = _blocks(
        x[inside][kept], design[kept], z[inside][kept], member[inside][kept]
    )
    inverse = np.linalg.pinv(design[kept])
    beta = inverse @ z[inside][kept]
    left = z[inside][kept] - design[kept] @ beta
    covariance, correlation, share = _covariance(blocks_x, blocks_design, blocks_z)
    left_out = np.zeros(len(x), dtype=bool)
    left_out[np.flatnonzero(inside)[~kept]] = True
    span = sum(window.stop - window.start for window in windows)
    effective = min(span / (2 * correlation) if correlation > 0 else np.inf, float(kept.sum()))
    factors = np.array([scale, scale**2])[: design.shape[1] - count]
    return _Fit(
        levels=beta[:count],
        shape=beta[count:] / factors,
        centre=centre,
        covariance=covariance,
        inside=inside,
        left_out=left_out,
        roughness=float(np.sqrt(left @ left / max(kept.sum() - design.shape[1], 1))),
        correlation=correlation,
        freedom=max(1, round(effective) - design.shape[1]),
        noise_share=share,
    )


def _kept(design: Array, z: Array) -> NDArray[np.bool_]:
    """Points that are no particles: bisquare weights about the fit, to rest."""
    weight, least = np.ones(len(z)), _ROUNDING * float(np.ptp(z)) + float(np.finfo(float).tiny)
    for _ in range(_ROUNDS):
        root = np.sqrt(weight)[:, None]
        beta, *_ = np.linalg.lstsq(root * design, root[:, 0] * z, rcond=None)
        off = z - design @ beta
        scale = max(_MAD * float(np.median(np.abs(off))), least)
        again = np.maximum(1 - (off / (_BISQUARE * scale)) ** 2, 0.0) ** 2
        if np.allclose(again, weight, atol=1e-3):
            break
        weight = again
    return np.asarray(np.abs(off) < _BISQUARE * scale)


def _blocks(x: Array, design: Array, z: Array, member: NDArray[Any]) -> tuple[Array, Array, Array]:
    """Means of neighbouring points of one window."""
    size = max(1, math.ceil(len(x) / _BLOCKS))
    if size == 1:
        return x, design, z
    step = float(np.median(np.diff(x)))
    new = np.concatenate([[True], (np.diff(x) > (size + 2) * step) | (np.diff(member) != 0)])
    run = np.cumsum(new) - 1
    within = np.arange(len(x)) - np.flatnonzero(new)[run]
    key = run * (len(x) + 1) + within // size
    _, where, counts = np.unique(key, return_inverse=True, return_counts=True)

    def mean(values: Array) -> Array:
        return np.asarray(np.bincount(where, weights=values) / counts)

    return mean(x), np.stack([mean(column) for column in design.T], axis=1), mean(z)


def _covariance(x: Array, design: Array, z: Array) -> tuple[Array, float, float]:
    """Covariance of the plain least-squares estimate under roughness that is alike over a correlation length.

    Equation: Σ = σ²·[(1 − f)·exp(−|Δx|/ℓ) + f·δ], ℓ, f and σ by restricted likelihood
    """
    from scipy.linalg import cho_factor, cho_solve
    from scipy.optimize import minimize

    gap = np.abs(x[:, None] - x[None, :])
    step, span = float(np.median(np.diff(x))), float(np.ptp(x))
    n, p = design.shape
    scale = float(np.std(z - design @ (np.linalg.pinv(design) @ z)))
    if scale <= 1e-12 * float(np.max(np.abs(z)) + np.finfo(float).tiny):
        return np.zeros((p, p)), 0.0, 1.0

    def correlated(logs: Array) -> tuple[Array, float]:
        reach = math.exp(min(max(logs[0], math.log(step / 3)), math.log(span / 3)))
        share = 1 / (1 + math.exp(-min(max(logs[1], -6.0), 6.0)))
        return (1 - share) * np.exp(-gap / reach) + share * np.eye(n), share

    def minus(logs: Array) -> float:
        matrix, _ = correlated(logs)
        factor = cho_factor(matrix, lower=True, check_finite=False)
        solved = cho_solve(factor, np.column_stack([design, z]), check_finite=False)
        inner = design.T @ solved[:, :p]
        beta = np.linalg.solve(inner, design.T @ solved[:, p])
        left = float(z @ solved[:, p] - beta @ (design.T @ solved[:, p]))
        size = 2 * float(np.sum(np.log(np.diag(factor[0]))))
        return float((n - p) * math.log(max(left, np.finfo(float).tiny)) + size + np.linalg.slogdet(inner)[1])

    starts = [(math.log(3 * step), 0.0), (math.log(span / 30), -2.0)]
    found = min(
        (
            minimize(minus, start, method="Nelder-Mead", options={"maxfev": 60, "xatol": 0.05, "fatol": 0.02})
            for start in starts
        ),
        key=lambda each: float(each.fun),
    )
    matrix, share = correlated(found.x)
    inverse = np.linalg.inv(matrix)
    inner = design.T @ inverse @ design
    beta = np.linalg.solve(inner, design.T @ inverse @ z)
    off = z - design @ beta
    variance = float(off @ inverse @ off) / (n - p)
    plain = np.linalg.pinv(design)
    reach = math.exp(min(max(found.x[0], math.log(step / 3)), math.log(span / 3)))
    return variance * plain @ matrix @ plain.T, reach if share < 0.9 else 0.0, share


def _shape(fit: _Fit) -> str:
    levels = fit.levels
    if len(levels) == 2:
        return "step"
    if len(levels) == 3:
        inner = levels[1] - (levels[0] + levels[2]) / 2
        if abs(levels[2] - levels[0]) < _SAME_LEVEL * abs(inner):
            return "groove" if inner < 0 else "ridge"
    return "stairs"


def _others(fit: _Fit, window: tuple[float, float], bow: bool) -> dict[str, Parameter]:
    base: dict[str, Any] = {"window": window, "window_unit": "um", "valid": True, "std": None}
    found = {
        "tilt": Parameter(
            value=math.atan(float(fit.shape[0])),
            unit="deg",
            method="slope common to all windows, taken off",
            **base,
        ),
        "roughness": Parameter(
            value=fit.roughness,
            unit="nm",
            method="root mean square about the fit, particles left out",
            **base,
        ),
        "correlation_length": Parameter(
            value=fit.correlation,
            unit="um",
            method="of the roughness, exponential, by restricted likelihood; zero where neighbours are independent",
            **base,
        ),
    }
    if bow:
        found["sagitta"] = Parameter(
            value=float(fit.shape[1]) * (window[1] - window[0]) ** 2 / 4,
            unit="nm",
            method="bow of the windows' whole length at its middle, taken off",
            **base,
        )
    return found
