"""What is read off one output curve as numbers: noise, low-voltage shape, saturated line, kink and droop.

Curves are n-type: current and drain voltage rise from zero. Nothing here is put into words.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from filmwright import device
from filmwright.measure.slopes import ROUNDING, point_errors, slopes
from filmwright.measure.smoothing import Array

FEWEST = 8
"""Drain voltages that an output curve needs at least."""

STRETCH = 0.2
"""Share of the points over which the smallest conductance is looked for."""

BEYOND = 1.2
"""The saturated line is fitted from this many saturation voltages on."""

CLEAR = 1.1
"""… and must begin at least so many saturation voltages out to count as clear of the bend."""

SURE = 4.0
"""Standard deviations from which a feature of the curve is taken for seen, over the places that were tried."""


@dataclass(frozen=True, kw_only=True)
class Line:
    """Straight line I₀ + g·V_D with its covariance, and the points it was fitted to."""

    at_zero: float
    slope: float
    covariance: Array
    first: int
    last: int

    def at(self, drain: float) -> float:
        """Current at a drain voltage [A]."""
        return self.at_zero + self.slope * drain

    def std_at(self, drain: float) -> float:
        """Its standard deviation [A]."""
        return float(self.stds(np.array(drain)))

    def stds(self, drain: Array) -> Array:
        """Its standard deviation [A] at many drain voltages."""
        covariance = self.covariance
        squares = covariance[0, 0] + 2.0 * drain * covariance[0, 1] + drain**2 * covariance[1, 1]
        result: Array = np.sqrt(np.maximum(squares, 0.0))
        return result

    @property
    def slope_std(self) -> float:
        """Standard deviation of g [S]."""
        return float(np.sqrt(self.covariance[1, 1]))


@dataclass(frozen=True, kw_only=True)
class LowShape:
    """The first stretch of an output curve: I ≈ a + b·V_D + c·V_D², and its point of zero drain voltage.

    Attributes
    ----------
    offset, offset_std : float [A]
        Current at the point of zero drain voltage; not a number where there is none.
    conductance, conductance_std : float [S]
        At zero drain voltage.
    curvature, curvature_std : float [S/V]
        Second derivative.
    reach : float [V]
        End of the stretch.
    """

    offset: float
    offset_std: float
    conductance: float
    conductance_std: float
    curvature: float
    curvature_std: float
    reach: float


@dataclass(frozen=True, kw_only=True)
class OutputReading:
    """The numbers of one output curve.

    Attributes
    ----------
    drain, current, std : array (n_points,) [V, A, A]
        From zero drain voltage on; the error of each point (not a number where it cannot be told).
    low : LowShape
    steepest, steepest_std, steepest_at : float [S, S, V]
        Largest conductance and where.
    line : Line
        The saturated line.
    bends : bool
        Whether the points of the line still bend downward, beyond their noise.
    three_quarters, three_quarters_std : float [V]
        Where the current is three quarters of the line; not a number where it never is less.
    end_excess, end_excess_std : float
        Current at the end over the line of the flattest stretch, less one.
    kink_at : float [V]
        Where the current leaves that line for good; not a number where it does not.
    droop, droop_std : float
        Share by which the current falls from its largest running mean to the end.
    droop_from : float [V]
        Where that running mean is largest.
    """

    drain: Array
    current: Array
    std: Array
    low: LowShape
    steepest: float
    steepest_std: float
    steepest_at: float
    line: Line
    bends: bool
    three_quarters: float
    three_quarters_std: float
    end_excess: float
    end_excess_std: float
    kink_at: float
    droop: float
    droop_std: float
    droop_from: float

    @property
    def flatness(self) -> float:
        """Conductance of the saturated line over the largest one."""
        return self.line.slope / self.steepest if self.steepest > 0 else np.nan

    @property
    def beyond(self) -> bool:
        """Whether the line lies wholly beyond the saturation voltage and is straight there: not in the bend."""
        return bool(self.drain[self.line.first] >= CLEAR * self.saturation) and not self.bends

    @property
    def saturation(self) -> float:
        """Drain voltage of saturation [V]; not a number where the curve gives none."""
        known = np.isfinite(self.three_quarters) and self.three_quarters > 0
        return float(device.saturation_voltage(self.three_quarters)) if known else np.nan


def read_output(drain: Array, current: Array) -> OutputReading:
    """Numbers of one output curve.

    Parameters
    ----------
    drain : array (n_points,) [V]
        Rising; at least :data:`FEWEST` of them.
    current : array (n_points,) [A]

    Returns
    -------
    OutputReading
    """
    kept = drain >= 0 if np.sum(drain >= 0) >= FEWEST else np.ones(len(drain), dtype=bool)
    drain, current = drain[kept], current[kept]
    std = point_errors(drain, current)
    conductance, errors, _ = slopes(drain, current, std)
    steep = int(np.argmax(conductance - SURE * errors))
    line, crossing = _saturated_line(drain, current, std, conductance, steep)
    excess, excess_std, kink = _kink(drain, current, std, line)
    if not np.isfinite(kink):
        line, crossing = _whole_stretch(drain, current, std, line, crossing)
    reach = crossing if np.isfinite(crossing) else float(drain[-1]) / 2.0
    low = _low_shape(drain, current, std, reach)
    near = int(np.clip(np.searchsorted(drain, reach), 1, len(drain) - 1))
    return OutputReading(
        drain=drain,
        current=current,
        std=std,
        low=low,
        steepest=float(conductance[steep]),
        steepest_std=float(errors[steep]),
        steepest_at=float(drain[steep]),
        line=line,
        bends=_bends(drain, current, std, line),
        three_quarters=crossing,
        three_quarters_std=_place_error(std, line, reach, (near, conductance)),
        end_excess=excess,
        end_excess_std=excess_std,
        kink_at=kink,
        **_droop(drain, current, std),
    )


def _place_error(std: Array, line: Line, drain: float, there: tuple[int, Array]) -> float:
    """Error of the place at which the current crosses a share of the line: noise of both over the conductance."""
    near, conductance = there
    if conductance[near] <= ROUNDING * np.max(np.abs(conductance)):
        return float("nan")
    return float(np.hypot(std[near], 0.75 * line.std_at(drain)) / conductance[near])


def fit_line(drain: Array, current: Array, std: Array, first: int, last: int) -> Line:
    """Straight line through the points first to last (included), weighted by their errors.

    The covariance is widened where the points scatter more than their errors say.

    Parameters
    ----------
    drain, current, std : array (n_points,) [V, A, A]
    first, last : int

    Returns
    -------
    Line
    """
    coefficients, covariance = _polynomial(
        drain[first : last + 1], current[first : last + 1], std[first : last + 1], 1
    )
    return Line(
        at_zero=float(coefficients[0]),
        slope=float(coefficients[1]),
        covariance=covariance,
        first=first,
        last=last,
    )


def _polynomial(volts: Array, current: Array, std: Array, degree: int) -> tuple[Array, Array]:
    """Coefficients of a weighted polynomial and their covariance; solved with the largest voltage as the unit."""
    unit = float(np.max(np.abs(volts))) or 1.0
    design = (volts / unit)[:, None] ** np.arange(degree + 1)
    weighed, aim = design / std[:, None], current / std
    inverse = np.linalg.inv(weighed.T @ weighed)
    coefficients: Array = inverse @ (weighed.T @ aim)
    free = len(volts) - degree - 1
    rest = aim - weighed @ coefficients
    left = float(rest @ rest) / free if free > 0 else 1.0
    scale = unit ** -np.arange(degree + 1.0)
    covariance: Array = inverse * max(left, 1.0) * np.outer(scale, scale)
    return coefficients * scale, covariance


def _saturated_line(
    drain: Array, current: Array, std: Array, conductance: Array, steep: int
) -> tuple[Line, float]:
    """Line of the flattest stretch beyond the steepest place, moved out beyond the saturation voltage."""
    wide = max(4, round(STRETCH * len(drain)))
    start = min(steep, len(drain) - wide)
    means = np.convolve(conductance[start:], np.full(wide, 1.0 / wide), mode="valid")
    first = start + int(np.argmin(means))
    line = fit_line(drain, current, std, first, first + wide - 1)
    return line, _crossing(drain, current, line)


def _whole_stretch(
    drain: Array, current: Array, std: Array, line: Line, crossing: float
) -> tuple[Line, float]:
    """The line over everything beyond the saturation voltage, where that is a stretch of some points."""
    for _ in range(2):
        if not np.isfinite(crossing):
            return line, crossing
        first = int(np.searchsorted(drain, BEYOND * float(device.saturation_voltage(crossing))))
        if len(drain) - first < max(4, len(drain) // 10):
            return line, crossing
        line = fit_line(drain, current, std, first, len(drain) - 1)
        crossing = _crossing(drain, current, line)
    return line, crossing


def _bends(drain: Array, current: Array, std: Array, line: Line) -> bool:
    """Whether a parabola through the points of the line curves downward by more than twice its error."""
    inside = slice(line.first, line.last + 1)
    volts = drain[inside] - drain[line.first]
    coefficients, covariance = _polynomial(volts / volts[-1], current[inside], std[inside], 2)
    return bool(coefficients[2] < -2.0 * np.sqrt(covariance[2, 2]))


def _crossing(drain: Array, current: Array, line: Line) -> float:
    """Drain voltage at which the current first reaches three quarters of the line."""
    short = current - 0.75 * (line.at_zero + line.slope * drain)
    reached = np.flatnonzero((short[:-1] < 0) & (short[1:] >= 0))
    if not reached.size or line.at_zero <= 0:
        return float("nan")
    at = int(reached[0])
    part = -short[at] / (short[at + 1] - short[at])
    return float(drain[at] + part * (drain[at + 1] - drain[at]))


def _kink(drain: Array, current: Array, std: Array, line: Line) -> tuple[float, float, float]:
    """Excess over the flattest line at the end, its error, and where the curve leaves the line upwards."""
    end = float(drain[-1])
    tail = slice(max(len(drain) - 3, 0), None)
    expected = line.at(float(np.mean(drain[tail])))
    if expected <= 0 or line.last >= len(drain) - 2:
        return 0.0, float("nan"), float("nan")
    found = float(np.mean(current[tail]))
    error = np.hypot(float(np.mean(std[tail])) / np.sqrt(3.0), line.std_at(end)) / expected
    excess = found / expected - 1.0
    over = current - (line.at_zero + line.slope * drain)
    errors = np.hypot(std, line.stds(drain))
    clear = (over > 2.0 * errors) & (over > KINK / 2.0 * expected)
    run = int(np.sum(np.cumprod(clear[::-1])))
    seen = excess > KINK and excess > SURE * error and run >= 2
    return excess, float(error), float(drain[len(drain) - run]) if seen else float("nan")


KINK = 0.05
"""Share by which the current rises over its saturated line before a kink is spoken of."""


def _droop(drain: Array, current: Array, std: Array) -> dict[str, float]:
    """Fall from the largest running mean over a tenth of the points to the last one."""
    wide = max(3, len(drain) // 10)
    window = np.full(wide, 1.0 / wide)
    means = np.convolve(current, window, mode="valid")
    errors = np.sqrt(np.convolve(std**2, window**2, mode="valid"))
    top = int(np.argmax(means))
    error = float(np.hypot(errors[top], errors[-1]) / means[top]) if top + wide < len(means) else float("nan")
    middle = float(np.mean(drain[top : top + wide]))
    return {"droop": float(1.0 - means[-1] / means[top]), "droop_std": error, "droop_from": middle}


def _low_shape(drain: Array, current: Array, std: Array, reach: float) -> LowShape:
    """Parabola through the first points, over the stretch on which its curvature is known best to be upward.

    Stretches from five points to ``reach`` are tried; without an upward one the widest is taken.
    """
    most = max(int(np.searchsorted(drain, reach)) + 1, 5)
    ends = list(dict.fromkeys(min(each, most, len(drain)) for each in (5, 7, 10, 14, 20, 28, 40, most)))
    tried = []
    for end in ends:
        coefficients, covariance = _polynomial(drain[:end], current[:end], std[:end], 2)
        errors = np.sqrt(np.diag(covariance))
        tried.append(
            (float(coefficients[2] / max(errors[2], np.finfo(float).tiny)), end, coefficients, errors)
        )
    upward = max(tried, key=lambda each: each[0])
    _, end, (_, slope, bend), errors = upward if upward[0] > SURE else tried[-1]
    at_zero = drain[0] < (drain[1] - drain[0]) / 2.0
    return LowShape(
        offset=float(current[0]) if at_zero else float("nan"),
        offset_std=float(std[0]),
        conductance=float(slope),
        conductance_std=float(errors[1]),
        curvature=2.0 * float(bend),
        curvature_std=2.0 * float(errors[2]),
        reach=float(drain[end - 1]),
    )


def curves_cross(readings: list[OutputReading]) -> tuple[int, float, float] | None:
    """Where a curve of a higher gate voltage lies below its lower neighbour, beyond the noise.

    Parameters
    ----------
    readings : list of OutputReading
        In order of rising gate voltage.

    Returns
    -------
    tuple of int, float [V], float [A] or None
        The upper curve's place, the drain voltage and by how much, where it is worst; None where none does.
    """
    worst: tuple[int, float, float] | None = None
    for at, (under, over) in enumerate(itertools.pairwise(readings), 1):
        inside = over.drain <= under.drain[-1]
        drain = over.drain[inside]
        below = np.interp(drain, under.drain, under.current)
        error = np.hypot(over.std[inside], np.interp(drain, under.drain, under.std))
        gap = below - over.current[inside]
        worse = np.flatnonzero((gap > (SURE + 1.0) * error) & (gap > CROSSING * float(np.max(over.current))))
        if worse.size >= 2:
            place = int(worse[np.argmax(gap[worse])])
            if worst is None or gap[place] > worst[2]:
                worst = (at, float(drain[place]), float(gap[place]))
    return worst


CROSSING = 0.005
"""Share of its largest current by which a curve must lie below its neighbour to be called crossing."""
