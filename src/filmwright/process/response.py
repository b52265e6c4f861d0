"""How a rate answers to the knobs of a plasma: a power law and an Arrhenius factor, fitted to a lab's own runs."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from filmwright.numerics import root_between
from filmwright.process.derivation import NORMAL_95
from filmwright.process.ranges import Noted, check_range, not_negative, positive
from filmwright.units import BOLTZMANN, to_si

HEAT = "temperature"
"""The knob that acts by an activation energy; all others act by a power."""

_NORMAL = to_si(1.01325, "bar")
_SHARE = 0.95
_Vector = np.ndarray[tuple[int], np.dtype[np.float64]]
_Matrix = np.ndarray[tuple[int, int], np.dtype[np.float64]]


@dataclass(frozen=True, kw_only=True)
class Run:
    """One run of a lab.

    Attributes
    ----------
    knobs : mapping from name to float [SI]
        ``temperature`` [K], ``power`` [W], ``pressure`` [Pa], ``gas ratio`` …, all above zero.
    value, std : float [SI]
        What was measured of the film, and its standard deviation above zero: a rate, a refractive index, a stress.
    """

    knobs: Mapping[str, float]
    value: float
    std: float


@dataclass(frozen=True, kw_only=True)
class Response:
    """A fitted response: ln y, or y itself where that has a sign, as c + Σ aᵢ·tᵢ over the knobs that were turned.

    Attributes
    ----------
    exponents : mapping from knob to float
        a; of ``temperature`` the activation energy E [J], or the slope [SI per kelvin] where y has a sign.
    constant : float
    covariance : array (1 + knobs, 1 + knobs)
        Of the constant and then of the exponents.
    ranges : mapping from knob to (low, high) [SI]
        Within which there are runs.
    scatter : float
        Standard deviation of ln y, or of y, about the fit where more runs than unknowns are there, else 0.
    signed : bool
        y itself is fitted, not its logarithm.
    leverages : tuple of float
        Of each run: how much of the fit at its place it decides by itself; they add up to the number of unknowns.
    weight : float
        Mean weight of a run.
    free : int
        Runs less unknowns.
    """

    exponents: Mapping[str, float]
    constant: float
    covariance: _Matrix
    ranges: Mapping[str, tuple[float, float]]
    scatter: float
    signed: bool = False
    leverages: tuple[float, ...] = ()
    weight: float = 1.0
    free: int = 0

    @property
    def widening(self) -> float:
        """By how much a 95 % band is wider than ± 1.96 σ, for so few runs tell their own scatter."""
        return student_95(self.free) / NORMAL_95 if self.free and self.scatter else 1.0


def student_95(free: int) -> float:
    """How many standard deviations enclose 95 % where they were estimated from few readings: A(t | ν) = 0.95.

    Parameters
    ----------
    free : int [count], 1 or more
        ν, degrees of freedom.

    Returns
    -------
    t : float [1]

    Raises
    ------
    ValueError
        When there is none.

    Notes
    -----
    Source: Student's distribution in closed form for whole numbers, M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions
    (1964), 26.7.3 and 26.7.4 (from memory).
    """
    if free < 1:
        raise ValueError(f"degrees of freedom must be 1 or more, got {free}")
    return root_between(lambda t: _within(t, free) - _SHARE, 1.0, 20.0)


def _within(t: float, free: int) -> float:
    """Share of Student's distribution within ± t."""
    angle = math.atan(t / math.sqrt(free))
    odd = free % 2
    term, total = math.cos(angle) if odd else 1.0, 0.0
    for k in range(2 + odd, free + 1, 2):
        total += term
        term *= math.cos(angle) ** 2 * (k - 1) / k
    return 2 / math.pi * (angle + math.sin(angle) * total) if odd else math.sin(angle) * total


def _term(knob: str, value: float, signed: bool) -> float:
    positive(**{knob.replace(" ", "_"): value})
    if knob == HEAT:
        return value if signed else -1.0 / (BOLTZMANN * value)
    return math.log(value)


def fit_response(runs: Sequence[Run], signed: bool = False) -> Response:
    """Fit ln y = c + Σ aᵢ·ln(xᵢ) − E/(k·T), or y = c + Σ aᵢ·ln(xᵢ) + b·T, by weighted least squares, for the knobs that were turned.

    Parameters
    ----------
    runs : sequence of Run [SI]
        More of them than knobs that differ among them.
    signed : bool [switch]
        The second form, for what may be of either sign, such as a stress.

    Returns
    -------
    response : Response

    Raises
    ------
    ValueError
        When there are too few runs, or two knobs were always turned together.

    Notes
    -----
    Source: the usual empirical response of plasma deposition over a small range, J. D. Plummer, M. D. Deal, P. B. Griffin, Silicon
    VLSI Technology (2000), ch. 9 (from memory); leverage: D. C. Hoaglin, R. E. Welsch, Am. Stat. 32, 17 (1978), doi
    10.1080/00031305.1978.10479237 (from memory). Nothing is said of what lies outside the runs.
    """
    names = sorted(runs[0].knobs) if runs else []
    if any(sorted(run.knobs) != names for run in runs):
        raise ValueError(f"every run must have the knobs {', '.join(names)}")
    turned = [name for name in names if len({run.knobs[name] for run in runs}) > 1]
    if len(runs) < len(turned) + 1:
        raise ValueError(f"{len(turned) + 1} runs are needed for {len(turned)} knobs, got {len(runs)}")
    for run in runs:
        positive(std=run.std, **({} if signed else {"value": run.value}))
    table = np.array([[1.0, *(_term(name, run.knobs[name], signed) for name in turned)] for run in runs])
    middle = np.array([0.0, *table[:, 1:].mean(axis=0)])
    size = np.array([1.0, *(table[:, 1:].std(axis=0))])
    scaled = (table - middle) / size
    weights = np.array([1.0 / run.std if signed else run.value / run.std for run in runs])
    if np.linalg.matrix_rank(scaled) < len(size):
        raise ValueError(f"two of {', '.join(turned)} were always turned together: turn them apart")
    heights = np.array([run.value if signed else math.log(run.value) for run in runs])
    weighted = scaled * weights[:, None]
    found = np.linalg.lstsq(weighted, heights * weights, rcond=None)[0]
    spread: _Matrix = np.linalg.inv(weighted.T @ weighted)
    left: _Vector = heights - scaled @ found
    free = len(runs) - len(size)
    back = np.diag(1.0 / size)
    back[0, 1:] = -middle[1:] / size[1:]
    real = back @ found
    return Response(
        exponents=dict(zip(turned, map(float, real[1:]), strict=True)),
        constant=float(real[0]),
        covariance=back @ spread @ back.T,
        ranges={
            name: (min(r.knobs[name] for r in runs), max(r.knobs[name] for r in runs)) for name in turned
        },
        scatter=math.sqrt(float(left @ left) / free) if free else 0.0,
        signed=signed,
        leverages=tuple(np.einsum("ij,jk,ik->i", weighted, spread, weighted).tolist()),
        weight=float((weights**2).mean()),
        free=free,
    )


def response_at(response: Response, knobs: Mapping[str, float]) -> tuple[Noted, float]:
    """What is expected at a set of knobs, and the standard deviation of one new run there.

    Parameters
    ----------
    response : Response [SI]
    knobs : mapping from name to float [SI]
        At least those that the response knows.

    Returns
    -------
    value : Noted
        Noted for each knob outside the runs, and where their combination lies farther from the runs than any of them.
    std : float
        √(xᵀ·C·x + s²): of the fit, and the scatter of the runs about it; relative, but for a response with a sign.

    Raises
    ------
    ValueError
        When a knob is missing or not above zero.

    Notes
    -----
    Source: linear regression, e.g. J. R. Taylor, An Introduction to Error Analysis (1997) (from memory).
    """
    missing = [name for name in response.exponents if name not in knobs]
    if missing:
        raise ValueError(f"{', '.join(missing)} must be given")
    terms = np.array([1.0, *(_term(name, knobs[name], response.signed) for name in response.exponents)])
    height = response.constant + sum(
        factor * term for factor, term in zip(response.exponents.values(), terms[1:], strict=True)
    )
    fitted = float(terms @ response.covariance @ terms)
    notes = [
        note
        for name, (low, high) in response.ranges.items()
        for note in check_range(name, knobs[name], low, high, _DIMENSION.get(name, "number"))
    ]
    farthest = max(response.leverages, default=math.inf)
    if not notes and fitted * response.weight > farthest * (1 + _ROUNDING):
        notes.append(f"no run is near this combination of {', '.join(response.exponents)}: extrapolated")
    value = height if response.signed else math.exp(height)
    return Noted(value=value, notes=tuple(notes)), math.sqrt(max(fitted + response.scatter**2, 0.0))


_ROUNDING = 1e-6
_DIMENSION = {HEAT: "temperature", "power": "power", "pressure": "pressure", "gas flow": "gas flow"}


def gas_used(flow: float, time: float) -> float:
    """Gas that a step takes from its bottle, as volume at 0 °C and one atmosphere: V = Q·t.

    Parameters
    ----------
    flow : float [m³/s], 0 or more
        At standard conditions, as controllers show it.
    time : float [s], 0 or more

    Returns
    -------
    volume : float [m³]

    Raises
    ------
    ValueError
        When one is below zero.

    Notes
    -----
    Source: definition of the standard flow.
    """
    not_negative(flow=flow, time=time)
    return flow * time


def purge_time(volume: float, pressure: float, flow: float, factor: float) -> float:
    """Time to thin a gas out of a chamber that is purged at a steady pressure: t = V·p / (Q·p_n)·ln(f).

    Parameters
    ----------
    volume : float [m³], above 0
    pressure : float [Pa], above 0
        In the chamber.
    flow : float [m³/s], above 0
        Of the purge gas at standard conditions.
    factor : float [1], 1 or more
        f, by which the gas must be thinned.

    Returns
    -------
    time : float [s]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: perfectly mixed vessel. Dead corners take longer: three times as long is common practice for silane.
    """
    positive(volume=volume, pressure=pressure, flow=flow)
    not_negative(log_of_factor=math.log(factor) if factor > 0 else -1.0)
    return volume * pressure / (flow * _NORMAL) * math.log(factor)


def pumped_purge_time(volume: float, speed: float, factor: float) -> float:
    """Time to thin a gas out of a chamber that is pumped: t = V/S·ln(f).

    Parameters
    ----------
    volume : float [m³], above 0
    speed : float [m³/s], above 0
        S, of the pump at the chamber, behind its lines.
    factor : float [1], 1 or more
        f, by which the gas must be thinned.

    Returns
    -------
    time : float [s]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: perfectly mixed vessel. What sticks to cold walls comes off slower than that.
    """
    positive(volume=volume, speed=speed, factor=factor)
    not_negative(log_of_factor=math.log(factor))
    return volume / speed * math.log(factor)
