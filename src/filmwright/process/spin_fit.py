"""A spin curve through the lab's own points."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from filmwright.process.ranges import positive


@dataclass(frozen=True, kw_only=True)
class SpinCurve:
    """ln d = a − n·ln(ω/ω₀), with the spread of both.

    Attributes
    ----------
    speed : float [1/s]
        ω₀, geometric mean of the speeds, weighted.
    thickness : float [m]
        d₀ = exp(a).
    exponent : float
        n.
    variances : tuple of float
        Of a, of n, and their covariance.
    slowest, fastest : float [1/s]
        Ends of the points.
    """

    speed: float
    thickness: float
    exponent: float
    variances: tuple[float, float, float]
    slowest: float
    fastest: float

    def thickness_at(self, speed: float) -> tuple[float, float]:
        """Thickness [m] at a speed [1/s] and its standard deviation: σ² = σ_a² + x²·σ_n² − 2x·σ_an, x = ln(ω/ω₀)."""
        x = math.log(speed / self.speed)
        found = self.thickness * math.exp(-self.exponent * x)
        of_a, of_n, both = self.variances
        return found, found * math.sqrt(max(of_a + x * x * of_n - 2 * x * both, 0.0))

    def speed_for(self, thickness: float) -> tuple[float, float]:
        """Speed [1/s] for a thickness [m], and its standard deviation: that of the thickness over its slope n."""
        positive(thickness=thickness)
        speed = self.speed * (self.thickness / thickness) ** (1 / self.exponent)
        _, std = self.thickness_at(speed)
        return speed, speed * (std / thickness) / self.exponent

    def beyond(self, speed: float) -> bool:
        """Whether a speed lies outside the points, so that the thickness there is extrapolated."""
        slack = 1e-6
        return not self.slowest * (1 - slack) <= speed <= self.fastest * (1 + slack)


def fitted_spin_curve(
    speeds: Sequence[float],
    thicknesses: Sequence[float],
    relative_stds: Sequence[float],
    exponent: float,
    exponent_std: float,
) -> SpinCurve:
    """The power law through points, by weighted least squares in logarithms with the usual exponent as one more reading.

    Minimises Σ ((ln dᵢ − a + n·xᵢ)/sᵢ)² + ((n − n₀)/σ₀)².

    Parameters
    ----------
    speeds : sequence of float [1/s], above 0
    thicknesses : sequence of float [m], above 0
    relative_stds : sequence of float [1], above 0
        Standard deviation of each point over its thickness, with what the bottle may have drifted since.
    exponent, exponent_std : float [1], above 0
        n₀ and σ₀: with a single point they are all that is known of the slope.

    Returns
    -------
    curve : SpinCurve

    Raises
    ------
    ValueError
        When one is not above zero or the lists differ in length or are empty.

    Notes
    -----
    Source: D. Meyerhofer, J. Appl. Phys. 49, 3993-3997 (1978) (from memory), for the power law; Gauss and Markov for the fit. Points
    that scatter more than they say widen the band by the square root of χ² per degree of freedom.
    """
    if not len(speeds) or not len(speeds) == len(thicknesses) == len(relative_stds):
        raise ValueError("each point must have a speed, a thickness and a spread")
    numbers = {"speed": speeds, "thickness": thicknesses, "spread": relative_stds}
    positive(**{f"{name}_{k}": v for name, each in numbers.items() for k, v in enumerate(each)})
    positive(exponent=exponent, exponent_std=exponent_std)
    weight = 1 / np.asarray(relative_stds, dtype=float) ** 2
    logs = np.log(np.asarray(speeds, dtype=float))
    middle = float((weight * logs).sum() / weight.sum())
    x, y = logs - middle, np.log(np.asarray(thicknesses, dtype=float))
    matrix = np.array(
        [
            [weight.sum(), -(weight * x).sum()],
            [-(weight * x).sum(), (weight * x * x).sum() + exponent_std**-2],
        ]
    )
    right = np.array([(weight * y).sum(), -(weight * x * y).sum() + exponent / exponent_std**2])
    a, n = np.linalg.solve(matrix, right)
    inverse = np.linalg.inv(matrix)
    chi2 = float((weight * (y - a + n * x) ** 2).sum()) + ((n - exponent) / exponent_std) ** 2
    wider = max(1.0, chi2 / (len(speeds) - 1)) if len(speeds) > 1 else 1.0
    return SpinCurve(
        speed=math.exp(middle),
        thickness=math.exp(float(a)),
        exponent=float(n),
        variances=(
            float(inverse[0, 0] * wider),
            float(inverse[1, 1] * wider),
            float(inverse[0, 1] * wider),
        ),
        slowest=float(min(speeds)),
        fastest=float(max(speeds)),
    )
