"""How a rate answers to the knobs of a plasma: a power law and an Arrhenius factor, fitted to a lab's own runs."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from filmwright.process.ranges import Noted, check_range, not_negative, positive
from filmwright.units import BOLTZMANN, to_si

HEAT = "temperature"
"""The knob that acts by an activation energy; all others act by a power."""

_NORMAL = to_si(1.01325, "bar")
_Vector = np.ndarray[tuple[int], np.dtype[np.float64]]
_Matrix = np.ndarray[tuple[int, int], np.dtype[np.float64]]


@dataclass(frozen=True, kw_only=True)
class Run:
    """One run of a lab.

    Attributes
    ----------
    knobs : mapping from name to float [SI]
        ``temperature`` [K], ``power`` [W], ``pressure`` [Pa], ``gas ratio`` …, all above zero.
    rate : float
        Or another result above zero, such as a refractive index.
    relative_std : float
        Of the rate.
    """

    knobs: Mapping[str, float]
    rate: float
    relative_std: float


@dataclass(frozen=True, kw_only=True)
class Response:
    """A fitted response: ln R = c + Σ a_i·ln(x_i) − E/(k·T).

    Attributes
    ----------
    exponents : mapping from knob to float
        a; of ``temperature`` the activation energy E [J].
    constant : float
    covariance : array (1 + knobs, 1 + knobs)
        Of the constant and then of the exponents.
    ranges : mapping from knob to (low, high) [SI]
        Within which there are runs.
    scatter : float
        Standard deviation of ln R about the fit where more runs than unknowns are there, else 0.
    """

    exponents: Mapping[str, float]
    constant: float
    covariance: _Matrix
    ranges: Mapping[str, tuple[float, float]]
    scatter: float


def _term(knob: str, value: float) -> float:
    positive(**{knob.replace(" ", "_"): value})
    return -1.0 / (BOLTZMANN * value) if knob == HEAT else math.log(value)


def fit_response(runs: Sequence[Run]) -> Response:
    """Fit ln R = c + Σ a_i·ln(x_i) − E/(k·T) to runs by weighted least squares, for the knobs that were turned.

    Parameters
    ----------
    runs : sequence of Run [SI]
        More of them than knobs that differ among them.

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
    VLSI Technology (2000), ch. 9 (from memory). Nothing is said of what lies outside the runs.
    """
    names = sorted(runs[0].knobs) if runs else []
    if any(sorted(run.knobs) != names for run in runs):
        raise ValueError(f"every run must have the knobs {', '.join(names)}")
    turned = [name for name in names if len({run.knobs[name] for run in runs}) > 1]
    if len(runs) < len(turned) + 1:
        raise ValueError(f"{len(turned) + 1} runs are needed for {len(turned)} knobs, got {len(runs)}")
    for run in runs:
        positive(rate=run.rate, relative_std=run.relative_std)
    table = np.array([[1.0, *(_term(name, run.knobs[name]) for name in turned)] for run in runs])
    middle = np.array([0.0, *table[:, 1:].mean(axis=0)])
    size = np.array([1.0, *(table[:, 1:].std(axis=0))])
    scaled = (table - middle) / size
    weights = np.array([1.0 / run.relative_std for run in runs])
    if np.linalg.matrix_rank(scaled) < len(size):
        raise ValueError(f"two of {', '.join(turned)} were always turned together: turn them apart")
    heights = np.array([math.log(run.rate) for run in runs])
    found = np.linalg.lstsq(scaled * weights[:, None], heights * weights, rcond=None)[0]
    spread: _Matrix = np.linalg.inv((scaled * weights[:, None]).T @ (scaled * weights[:, None]))
    left: _Vector = heights - scaled @ found
    free = len(runs) - len(size)
    scatter = math.sqrt(float(left @ left) / free) if free else 0.0
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
        scatter=scatter,
    )


def response_at(response: Response, knobs: Mapping[str, float]) -> tuple[Noted, float]:
    """Rate at a set of knobs, and its relative standard deviation.

    Parameters
    ----------
    response : Response [SI]
    knobs : mapping from name to float [SI]
        At least those that the response knows.

    Returns
    -------
    rate : Noted
        Noted for each knob outside the runs.
    relative_std : float
        √(xᵀ·C·x + s²): of the fit, and the scatter of the runs about it.

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
    terms = np.array([1.0, *(_term(name, knobs[name]) for name in response.exponents)])
    log_rate = response.constant + sum(
        factor * term for factor, term in zip(response.exponents.values(), terms[1:], strict=True)
    )
    variance = float(terms @ response.covariance @ terms) + response.scatter**2
    notes = [
        note
        for name, (low, high) in response.ranges.items()
        for note in check_range(name, knobs[name], low, high, _DIMENSION.get(name, "number"))
    ]
    return Noted(value=math.exp(log_rate), notes=tuple(notes)), math.sqrt(max(variance, 0.0))


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
