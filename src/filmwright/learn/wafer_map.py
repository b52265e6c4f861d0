"""One parameter over a wafer: what runs across it, what runs from the middle to the rim, and who does not fit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from filmwright.learn.regression import CRITERION, CleanFit, clean_fit

Floats = NDArray[np.float64]
Part = Literal["gradient", "bowl"]
There = Literal["there", "not distinguishable from zero", "cannot tell"]

EDGE = 0.9
"""A place beyond this share of the radius counts as at the edge."""

_FAR = 30.0
"""Standard errors from zero beyond which a length scatters like any number."""

FEWEST_PLACES = 7
"""A plane and a bowl have four numbers; with fewer places nothing is left to tell their errors from."""


@dataclass(frozen=True, kw_only=True)
class MapPoint:
    """One device at its place.

    Attributes
    ----------
    device : str
    x, y : float [m]
        From the middle of the wafer (or of the die).
    value : float or None [SI]
        None where the device gave none; ``cause`` says why.
    std : float or None [SI]
    cause : str
    fitted, residual : float or None [SI]
    outlier, edge : bool
    """

    device: str
    x: float
    y: float
    value: float | None = None
    std: float | None = None
    cause: str = ""
    fitted: float | None = None
    residual: float | None = None
    outlier: bool = False
    edge: bool = False


@dataclass(frozen=True, kw_only=True)
class MapPart:
    """One part of a map with its 95 % interval.

    Attributes
    ----------
    part : 'gradient' or 'bowl'
    rise : float [SI]
        From the middle to the rim: of the gradient along its steepest direction (never negative), of the bowl the rim
        less the middle.
    low, high : float [SI]
    direction : float [rad]
        In which the gradient rises, from the x axis; 0 for a bowl.
    p_value : float
        Chance of such a part in a wafer without it (F test).
    verdict : There
    """

    part: Part
    rise: float
    low: float
    high: float
    direction: float
    p_value: float
    verdict: There


@dataclass(frozen=True, kw_only=True)
class WaferMap:
    """A map with its parts, its residuals and the devices that do not fit.

    Attributes
    ----------
    parameter, wafer : str
    radius : float [m]
        To which the rises refer.
    points : tuple of MapPoint
        Every device, those without a value too.
    centre : float or None [SI]
    parts : tuple of MapPart
        Gradient, then bowl; empty where they cannot be told, see ``why_not``.
    edge : (difference, low, high) or None [SI]
        Mean residual of the devices at the edge less that of the others.
    residual : float or None [SI]
        Standard deviation about the fit, outliers left out.
    explained : float or None
        Share of the variance that the fit takes.
    criterion, why_not : str
    """

    parameter: str
    wafer: str
    radius: float
    points: tuple[MapPoint, ...]
    centre: float | None = None
    parts: tuple[MapPart, ...] = ()
    edge: tuple[float, float, float] | None = None
    residual: float | None = None
    explained: float | None = None
    criterion: str = CRITERION
    why_not: str = ""

    def at(self, x: ArrayLike, y: ArrayLike) -> Floats:
        """The fitted value at places; not a number where nothing was fitted.

        Parameters
        ----------
        x, y : array (…) [m]
        """
        u, v = np.asarray(x, dtype=float) / self.radius, np.asarray(y, dtype=float) / self.radius
        if self.centre is None or not self.parts:
            return np.full(np.broadcast(u, v).shape, math.nan)
        gradient, bowl = self.parts
        tilt = gradient.rise * (u * math.cos(gradient.direction) + v * math.sin(gradient.direction))
        return np.asarray(self.centre + tilt + bowl.rise * (u**2 + v**2))

    @property
    def outliers(self) -> tuple[str, ...]:
        """Names of the devices that do not fit."""
        return tuple(each.device for each in self.points if each.outlier)

    @property
    def count(self) -> int:
        """Devices with a value."""
        return sum(each.value is not None for each in self.points)


def wafer_map(parameter: str, wafer: str, points: Sequence[MapPoint], radius: float) -> WaferMap:
    """Fit a plane and a bowl to a map, without the devices that do not belong to the rest, and say whether each is
    there.

    z = centre + g·(x·cos φ + y·sin φ)/R + b·(r/R)²

    Parameters
    ----------
    parameter, wafer : str
    points : sequence of MapPoint
    radius : float [m], above zero

    Returns
    -------
    WaferMap
        Without parts and with ``why_not`` where there are fewer than seven places or they lie on one ring or line.
    """
    if not radius > 0:
        raise ValueError(f"the radius must be above 0, got {radius}")
    marked = [replace(each, edge=math.hypot(each.x, each.y) > EDGE * radius) for each in points]
    known = [at for at, each in enumerate(marked) if each.value is not None and math.isfinite(each.value)]
    bare = WaferMap(parameter=parameter, wafer=wafer, radius=radius, points=tuple(marked))
    if len(known) < FEWEST_PLACES:
        return replace(
            bare,
            why_not=f"{len(known)} devices with a value and a place; at least {FEWEST_PLACES} are needed",
        )
    u = np.array([marked[at].x for at in known]) / radius
    v = np.array([marked[at].y for at in known]) / radius
    z = np.array([marked[at].value for at in known], dtype=float)
    design = np.stack([np.ones_like(u), u, v, u**2 + v**2], axis=1)
    if np.linalg.matrix_rank(design, tol=1e-6 * max(1.0, float(np.abs(design).max()))) < 4:
        return replace(
            bare, why_not="the places lie on one ring or line: gradient and bowl cannot be told apart"
        )
    fit = clean_fit(design, z)
    if np.linalg.matrix_rank(design[fit.kept]) < 4:
        return replace(bare, why_not="without the outliers the places lie on one ring or line")
    for at, rest, kept in zip(known, fit.residuals, fit.kept, strict=True):
        value = marked[at].value or 0.0
        marked[at] = replace(marked[at], fitted=value - float(rest), residual=float(rest), outlier=not kept)
    about = z[fit.kept] - z[fit.kept].mean()
    total = float(about @ about)
    rest = fit.residuals[fit.kept]
    return WaferMap(
        parameter=parameter,
        wafer=wafer,
        radius=radius,
        points=tuple(marked),
        centre=float(fit.coefficients[0]),
        parts=(_gradient(fit), _bowl(fit)),
        edge=_edge_step(design, z, fit.kept, np.array([marked[at].edge for at in known])),
        residual=fit.scale,
        explained=1 - float(rest @ rest) / total if total > 0 else None,
    )


def _bowl(fit: CleanFit) -> MapPart:
    rise, low, high = fit.interval([0.0, 0.0, 0.0, 1.0])
    p = fit.p_value([3])
    return MapPart(part="bowl", rise=rise, low=low, high=high, direction=0.0, p_value=p, verdict=_verdict(p))


def _gradient(fit: CleanFit) -> MapPart:
    """Length of the tilt; a length is never negative, so ± two standard errors would miss near zero."""
    tilt, spread = fit.coefficients[1:3], fit.covariance[1:3, 1:3]
    rise = math.hypot(float(tilt[0]), float(tilt[1]))
    along = tilt / rise if rise > 0 else np.array([1.0, 0.0])
    std = math.sqrt(max(0.0, float(along @ spread @ along)))
    low, high = length_interval(rise, std, fit.freedom)
    p = fit.p_value([1, 2])
    return MapPart(
        part="gradient",
        rise=rise,
        low=low,
        high=high,
        direction=float(math.atan2(tilt[1], tilt[0])),
        p_value=p,
        verdict=_verdict(p),
    )


def _verdict(p: float) -> There:
    return "there" if p < 0.05 else "not distinguishable from zero"


def length_interval(length: float, std: float, freedom: int) -> tuple[float, float]:
    """95 % interval of the length of a vector in the plane whose two parts have the same standard error.

    length² / std² follows a noncentral χ² distribution with 2 degrees of freedom and noncentrality (true length / std)²
    (a Rice distribution of the length). The ends are the true lengths at which the part 1 − Φ(t) lies beyond, t being
    Student's t at 97.5 %: far from zero that is ± t·std, and near zero the lower end is zero. Valid range: checked by
    coverage down to eight degrees of freedom.

    Parameters
    ----------
    length, std : float [SI]
    freedom : int

    Returns
    -------
    low, high : float [SI]
    """
    from scipy.optimize import brentq
    from scipy.special import chndtr, ndtr, stdtrit

    if length > _FAR * std:
        half = float(stdtrit(freedom, 0.975)) * std
        return length - half, length + half

    beyond = float(ndtr(-stdtrit(freedom, 0.975)))
    seen = (length / std) ** 2

    def end(chance: float) -> float:
        def over(ratio: float) -> float:
            return float(chndtr(seen, 2, ratio**2)) - chance

        if over(0.0) <= 0:
            return 0.0
        far = length / std + 2.0
        while over(far) > 0:
            far += 4.0
        return float(brentq(over, 0.0, far, xtol=1e-6)) * std

    return end(1 - beyond), end(beyond)


def _edge_step(
    design: Floats, values: Floats, kept: NDArray[np.bool_], edge: NDArray[np.bool_]
) -> tuple[float, float, float] | None:
    """By how much the devices at the edge lie above plane and bowl; None with fewer than three of either kind."""
    own = edge[kept]
    if min(int(own.sum()), int((~own).sum())) < 3:
        return None
    wider = np.column_stack([design[kept], own.astype(float)])
    if np.linalg.matrix_rank(wider, tol=1e-6) < 5 or len(wider) < 7:
        return None
    fit = clean_fit(wider, values[kept])
    return fit.interval([0.0, 0.0, 0.0, 0.0, 1.0])
