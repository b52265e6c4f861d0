"""What varies over a wafer: non-uniformity by a named formula, and a plane with a bowl through the points."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

Formula = Literal["(max − min) / (2 × mean)", "(max − min) / (max + min)", "standard deviation / mean"]
FORMULAS: tuple[Formula, ...] = get_args(Formula)


@dataclass(frozen=True, kw_only=True)
class NonUniformity:
    """A non-uniformity that says how it was computed.

    Attributes
    ----------
    value : float
        Fraction; 0.02 is 2 %.
    formula : Formula
    mean : float [SI]
    count : int
    """

    value: float
    formula: Formula
    mean: float
    count: int


def non_uniformity(values: ArrayLike, formula: Formula = "(max − min) / (2 × mean)") -> NonUniformity:
    """Non-uniformity over a wafer by one of the three usual formulas; they differ, so the name goes with
    the number.

    Parameters
    ----------
    values : array (n,) [SI], n at least 2, all finite and with a mean above 0
    formula : Formula
        The standard deviation is that of a sample (n − 1).
    """
    array = np.asarray(values, dtype=float).ravel()
    if array.size < 2 or not np.all(np.isfinite(array)):
        raise ValueError(f"a non-uniformity needs at least two finite values, got {array.size}")
    low, high, mean = float(array.min()), float(array.max()), float(array.mean())
    if not mean > 0 or not low + high > 0:
        raise ValueError(f"a non-uniformity needs a mean above 0, got {mean:g}")
    if formula == "(max − min) / (2 × mean)":
        value = (high - low) / (2 * mean)
    elif formula == "(max − min) / (max + min)":
        value = (high - low) / (high + low)
    elif formula == "standard deviation / mean":
        value = float(array.std(ddof=1)) / mean
    else:
        raise ValueError(f"the formula must be one of {', '.join(FORMULAS)}, got {formula}")
    return NonUniformity(value=value, formula=formula, mean=mean, count=int(array.size))


@dataclass(frozen=True, kw_only=True)
class MapFit:
    """centre + tilt_x·x/R + tilt_y·y/R + bowl·(r/R)², fitted by least squares.

    Attributes
    ----------
    centre, tilt_x, tilt_y, bowl : float [SI]
        Value at the centre, rise from the centre to the rim along x and y, and rim minus centre of the bowl.
    stds : tuple of float [SI]
        Standard errors of the four, in this order.
    radius : float [m]
        R, the rim to which the coefficients refer.
    area_mean, area_mean_std : float [SI]
        Mean over the area of the wafer, centre + bowl/2; a mean over the points weighs a crowded centre
        too much.
    residual : float [SI]
        Standard deviation of the points about the fit (n − 4).
    explained : float
        Share of the variance that the fit takes, 0 to 1.
    count : int
    """

    centre: float
    tilt_x: float
    tilt_y: float
    bowl: float
    stds: tuple[float, float, float, float]
    radius: float
    area_mean: float
    area_mean_std: float
    residual: float
    explained: float
    count: int

    def at(self, x: ArrayLike, y: ArrayLike) -> NDArray[np.float64]:
        """The fitted value at places of the wafer.

        Parameters
        ----------
        x, y : array (…) [m]
        """
        u, v = np.asarray(x, dtype=float) / self.radius, np.asarray(y, dtype=float) / self.radius
        fitted: NDArray[np.float64] = (
            self.centre + self.tilt_x * u + self.tilt_y * v + self.bowl * (u**2 + v**2)
        )
        return fitted


def fit_map(x: ArrayLike, y: ArrayLike, values: ArrayLike, radius: float) -> MapFit:
    """Fit a plane and a bowl to a wafer map by least squares.

    Parameters
    ----------
    x, y : array (n,) [m]
        Places from the centre of the wafer; n at least 5.
    values : array (n,) [SI]
    radius : float [m]
        Of the wafer.

    Raises
    ------
    ValueError
        For too few points, values that are not numbers, or places that cannot tell the four terms apart
        (all on one ring
        or one line).
    """
    u, v, z = (np.asarray(each, dtype=float).ravel() for each in (x, y, values))
    if not (u.size == v.size == z.size >= 5) or not np.all(np.isfinite(np.concatenate([u, v, z]))):
        raise ValueError(f"a map needs at least five finite points, got {z.size}")
    if not radius > 0:
        raise ValueError(f"the radius must be above 0, got {radius}")
    u, v = u / radius, v / radius
    design = np.stack([np.ones_like(u), u, v, u**2 + v**2], axis=1)
    scale = float(np.max(np.abs(design)))
    if np.linalg.matrix_rank(design, tol=1e-6 * scale) < 4:
        raise ValueError(
            "the places must not all lie on one ring or one line: add points at the centre and between"
        )
    solved = np.linalg.lstsq(design, z, rcond=None)[0]
    rest = z - design @ solved
    variance = float(rest @ rest) / (z.size - 4)
    covariance = np.linalg.inv(design.T @ design) * variance
    mean_weights = np.array([1.0, 0.0, 0.0, 0.5])
    about_mean = float(np.sum((z - z.mean()) ** 2))
    a, b, c, d = (float(each) for each in solved)
    ea, eb, ec, ed = (float(each) for each in np.sqrt(np.diag(covariance)))
    return MapFit(
        centre=a,
        tilt_x=b,
        tilt_y=c,
        bowl=d,
        stds=(ea, eb, ec, ed),
        radius=radius,
        area_mean=a + d / 2,
        area_mean_std=float(np.sqrt(mean_weights @ covariance @ mean_weights)),
        residual=float(np.sqrt(variance)),
        explained=1 - float(rest @ rest) / about_mean if about_mean > 0 else 0.0,
        count=int(z.size),
    )
