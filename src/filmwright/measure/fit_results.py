"""What a fit of a family says: every parameter with interval, correlation and, if need be, why not; and how good it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from filmwright.measure.results import Parameter
from filmwright.measure.smoothing import Array
from filmwright.units import plain


@dataclass(frozen=True, kw_only=True)
class Interval:
    """A 95 % interval; an open side has no limit in the data.

    Attributes
    ----------
    low, high : float [SI]
        Of an open side the end that the parameter has by its nature (0 for a resistance), else infinite.
    open_low, open_high : bool
    """

    low: float
    high: float
    open_low: bool = False
    open_high: bool = False

    def fields(self, unit: str) -> dict[str, Any]:
        """For programs, in the unit of its parameter; an open side is null."""
        return {
            "low": None if self.open_low else _shown(self.low, unit),
            "high": None if self.open_high else _shown(self.high, unit),
            "open_low": self.open_low,
            "open_high": self.open_high,
        }


def _shown(value: float, unit: str) -> float:
    return plain(value, unit.replace("/decade", ""))


@dataclass(frozen=True, kw_only=True)
class Goodness:
    """How well the model follows the data.

    Attributes
    ----------
    points, parameters : int
    reduced : float
        Squared residuals in the noise of the data, over degrees of freedom: 1 for a model that is right.
    chance : float
        Of residuals as large as these or larger, were the model right.
    misfit_upper, misfit_lower : float
        Shares of the current by which the model misses the upper part of the curves (above 3 % of the largest current)
        and the lower, beyond the noise; 0 where the noise explains the residuals.
    runs : float
        By how many standard deviations the residuals change sign more often (less: negative) than by chance.
    widened : float
        Factor by which the standard deviations were widened for what the residuals show.
    suggests : tuple of str
        What their structure points to.
    """

    points: int
    parameters: int
    reduced: float
    chance: float
    misfit_upper: float
    misfit_lower: float
    runs: float
    widened: float
    suggests: tuple[str, ...] = ()

    @property
    def follows(self) -> bool:
        """Whether the noise explains what is left."""
        return self.misfit_lower == 0.0

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "points": self.points,
            "parameters": self.parameters,
            "reduced_chi_square": float(f"{self.reduced:.4g}"),
            "chance": float(f"{self.chance:.4g}"),
            "misfit_upper_percent": float(f"{100 * self.misfit_upper:.4g}"),
            "misfit_lower_percent": float(f"{100 * self.misfit_lower:.4g}"),
            "runs_in_standard_deviations": float(f"{self.runs:.3g}"),
            "errors_widened_by": float(f"{self.widened:.4g}"),
            "suggests": list(self.suggests),
        }


@dataclass(frozen=True, kw_only=True)
class FittedPoints:
    """The points of a family with the fit, in the signs of the device, arrays (n,).

    Attributes
    ----------
    gate_voltage, drain_voltage : array [V]
    measured, fitted : array [A]
    std : array [A]
        Of a point: noise, and what the model misses.
    band : array [A]
        Standard deviation of the fitted current, from the covariance of the parameters.
    residual : array
        Fitted less measured, in standard deviations.
    curve : array of int
    labels : tuple of str
        One for each curve.
    """

    gate_voltage: Array
    drain_voltage: Array
    measured: Array
    fitted: Array
    std: Array
    band: Array
    residual: Array
    curve: Array
    labels: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class FitResult:
    """A family of curves and the parameters of the channel current that were fitted to it.

    Attributes
    ----------
    file, device : str
    direction : "forward" or "backward"
    type : "n" or "p"
    bulk_voltage : float [V] or None
    curves : tuple of str
        What was fitted, in words.
    parameters : mapping from name to Parameter
    intervals : mapping from name to Interval
        95 %; from the profile of the cost where it is no parabola.
    correlation : mapping from pair of names to float
    goodness : Goodness or None
    points : FittedPoints or None
    cautions : tuple of str
    refused : str
        Why nothing was fitted; empty when it was.
    """

    file: str
    device: str
    direction: str
    type: Literal["n", "p"]
    bulk_voltage: float | None
    curves: tuple[str, ...]
    parameters: Mapping[str, Parameter]
    intervals: Mapping[str, Interval]
    correlation: Mapping[tuple[str, str], float]
    goodness: Goodness | None = None
    points: FittedPoints | None = None
    cautions: tuple[str, ...] = ()
    refused: str = ""


def fit_fields(result: FitResult) -> dict[str, Any]:
    """A fit for programs: JSON with the unit beside every number.

    Parameters
    ----------
    result : FitResult

    Returns
    -------
    dict
    """
    parameters = {}
    for name, parameter in result.parameters.items():
        interval = result.intervals.get(name)
        parameters[name] = {
            **parameter.fields(),
            "interval_95": None if interval is None else interval.fields(parameter.unit),
        }
    return {
        "file": result.file,
        "device": result.device,
        "direction": result.direction,
        "type": result.type,
        "bulk_voltage": result.bulk_voltage,
        "curves": list(result.curves),
        "refused": result.refused,
        "parameters": parameters,
        "correlation": [
            {"between": [one, other], "value": float(f"{value:.4g}")}
            for (one, other), value in result.correlation.items()
        ],
        "goodness": None if result.goodness is None else result.goodness.fields(),
        "cautions": list(result.cautions),
    }
