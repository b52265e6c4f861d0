"""Resistance against length: one line through the devices of a set, with its scatter, its intervals and its outliers."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from filmwright.measure.results import Parameter
from filmwright.numerics import contour, line_cost, profile_interval, scatter_beyond, straight_line

Array = NDArray[np.float64]

FEWEST_LENGTHS = 4
"""Different lengths below which what follows is called apparent."""
CONFIDENCE = 0.95
_RARE = 0.05
"""Chance that a sound set names any outlier at all."""
_ROUNDS = 2


@dataclass(frozen=True, kw_only=True)
class FittedLine:
    """R·W = intercept + slope·L through the devices of a set.

    Attributes
    ----------
    intercept, slope : float [Ω·m], [Ω]
    covariance : array (2, 2)
    places : array (n, 2)
        Contour at the edge of the 95 % interval of one unknown.
    quantile : float
        By which a standard deviation is multiplied for that interval.
    scatter : float
        Of devices beyond the stated errors, as a share of R.
    cost, freedom : float, int
    """

    intercept: float
    slope: float
    covariance: Array
    places: Array
    quantile: float
    scatter: float
    cost: float
    freedom: int

    def band(self, lengths: Array) -> tuple[Array, Array, Array]:
        """Middle, lower and upper 95 % bound of the line itself at lengths [m]."""
        middle = self.intercept + self.slope * lengths
        c = self.covariance
        half = self.quantile * np.sqrt(c[0, 0] + 2 * lengths * c[0, 1] + lengths**2 * c[1, 1])
        return middle, middle - half, middle + half


def quantile_of(freedom: int, confidence: float = CONFIDENCE) -> float:
    """Student's two-sided quantile; infinite without freedom, the normal one at None."""
    from scipy.special import stdtrit

    return float(stdtrit(freedom, (1 + confidence) / 2)) if freedom > 0 else math.inf


def fitted_line(
    length: Array, normalised: Array, length_std: Array, normalised_std: Array, walked: bool = True
) -> FittedLine:
    """The likeliest line; scatter beyond the stated errors is estimated and widens every interval.

    Parameters
    ----------
    length, length_std : array (n,) [m]
    normalised, normalised_std : array (n,) [Ω·m]
        R·W; an error of zero is one that is not known.
    walked : bool
        Whether the contour for intervals is wanted.
    """
    from scipy.special import ndtri

    size = np.full(length.shape, float(np.median(normalised)))
    scatter, wide = 0.0, normalised_std
    for _ in range(_ROUNDS):
        scatter = scatter_beyond(length, normalised, length_std, normalised_std, size)
        wide = np.hypot(normalised_std, max(scatter, 1e-9) * size)
        line = straight_line(length, normalised, length_std, wide)
        # The scatter goes with what the line says, not with what one device happened to show.
        size = np.maximum(np.abs(line.intercept + line.slope * length), 0.05 * float(np.median(normalised)))
    freedom = len(length) - 2
    known = scatter == 0 and bool(np.all(normalised_std > 0))
    quantile = float(ndtri((1 + CONFIDENCE) / 2)) if known else quantile_of(freedom)
    best = (line.intercept, line.slope)
    places = np.full((1, 2), np.inf)
    if walked and math.isfinite(quantile):
        places = contour(
            lambda a, b: line_cost(a, b, length, normalised, length_std, wide),
            best,
            line.covariance,
            quantile**2,
        )
    return FittedLine(
        intercept=line.intercept,
        slope=line.slope,
        covariance=line.covariance,
        places=places,
        quantile=quantile,
        scatter=scatter,
        cost=line.cost,
        freedom=freedom,
    )


def outliers(
    names: Sequence[str], length: Array, normalised: Array, length_std: Array, normalised_std: Array
) -> dict[str, str]:
    """Devices that the line through the others does not foresee, with the evidence; none is left out.

    Equation: t = (yᵢ − a₍ᵢ₎ − b₍ᵢ₎·xᵢ)/σ against Student's quantile of n − 3, shared out over the n devices
    """
    from scipy.special import stdtr

    found: dict[str, str] = {}
    count = len(names)
    if count < FEWEST_LENGTHS + 1:
        return found
    for at, name in enumerate(names):
        rest = np.arange(count) != at
        if np.ptp(length[rest]) <= 0:
            continue
        line = fitted_line(
            length[rest], normalised[rest], length_std[rest], normalised_std[rest], walked=False
        )
        c, x = line.covariance, length[at]
        foreseen = line.intercept + line.slope * x
        own = normalised_std[at] ** 2 + (line.scatter * foreseen) ** 2 + (line.slope * length_std[at]) ** 2
        spread = math.sqrt(own + c[0, 0] + 2 * x * c[0, 1] + x * x * c[1, 1])
        t = (normalised[at] - foreseen) / spread
        chance = 2 * (1 - float(stdtr(count - 3, abs(t))))
        if chance * count < _RARE:
            more = normalised[at] / foreseen - 1
            found[name] = (
                f"{100 * more:+.3g} % off the line through the others, {abs(t):.2g} standard deviations "
                f"(by chance {chance:.1g}); named, not left out"
            )
    return found


def interval_of(line: FittedLine, function: object) -> tuple[float, float]:
    """Profile-likelihood interval of a function of intercept and slope."""
    return profile_interval(function, line.places, (line.intercept, line.slope))  # type: ignore[arg-type]


def never_negative(value: float, std: float, freedom: int) -> float:
    """Upper bound of a quantity that cannot be negative, given a reading of it that can.

    Equation: b with [T((b − x)/σ) − T(−x/σ)] / [1 − T(−x/σ)] = 95 %, T Student's distribution
    """
    from scipy.special import stdtr, stdtrit

    freedom = freedom if freedom > 0 else 1
    below = float(stdtr(freedom, -value / std))
    share = below + CONFIDENCE * (1 - below)
    return value + std * float(stdtrit(freedom, min(share, 1 - 1e-15)))


def contact_parameter(
    value: float, std: float, interval: tuple[float, float], freedom: int, unit: str, method: str
) -> Parameter:
    """A contact resistance as a value, as "not distinguishable from zero" with a bound, or refused as negative."""
    low, high = interval
    if low > 0:
        return Parameter(
            value=value, std=std, unit=unit, method=method, window=None, valid=True, interval=interval
        )
    if not (math.isfinite(std) and std > 0 and math.isfinite(high)):
        return Parameter(
            value=None,
            std=None,
            unit=unit,
            method=method,
            window=None,
            valid=False,
            interval=interval,
            why_not="not identifiable: the interval is open",
        )
    bound = never_negative(value, std, freedom)
    if high < 0:
        why = (
            "negative beyond its error: lengths or thresholds are off, or mobility changes with length; no contact resistance "
            "is negative, and what can be said is the bound, given that the errors are as stated"
        )
    elif value < 0:
        why = "not distinguishable from zero (the line meets the axis below it)"
    else:
        why = "not distinguishable from zero"
    return Parameter(
        value=bound,
        std=None,
        unit=unit,
        method=method,
        window=None,
        valid=False,
        why_not=why,
        bound="at most",
        interval=interval,
    )


def apparent(lengths: Array) -> str:
    """Why what follows from so few lengths is apparent only; empty with enough of them."""
    count = len(np.unique(np.round(lengths, 12)))
    if count >= FEWEST_LENGTHS:
        return ""
    return (
        f"apparent: {count} different length{'s' if count != 1 else ''}, at least {FEWEST_LENGTHS} are wanted"
    )


def fields_of(parameters: Mapping[str, Parameter]) -> dict[str, object]:
    """Parameters for programs."""
    return {name: each.fields() for name, each in parameters.items()}
