"""Whether a parameter goes with the channel length or width, and by how much."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from filmwright.learn.regression import clean_fit

Floats = NDArray[np.float64]
Axis = Literal["L", "1/L", "W", "1/W"]
AXES: tuple[Axis, ...] = ("L", "1/L", "W", "1/W")
Goes = Literal["goes with it", "not distinguishable from zero", "cannot tell"]

SMALLEST_RANGE = 2.0
"""Largest over smallest size below which nothing is said."""

FEWEST_SIZES = 3
"""Of two sizes a line fits always."""

_ALIKE = 0.95
"""Correlation of length and width beyond which one cannot be told from the other."""


@dataclass(frozen=True, kw_only=True)
class Sized:
    """One device of known size.

    Attributes
    ----------
    wafer, device : str
    width, length : float [m]
    value : float [SI]
    """

    wafer: str
    device: str
    width: float
    length: float
    value: float


@dataclass(frozen=True, kw_only=True)
class SizeEffect:
    """How a parameter goes with a size.

    Attributes
    ----------
    axis : Axis
        Against what it was fitted.
    change, low, high : float or None [SI]
        From the largest to the smallest size, with its 95 % interval.
    smallest, largest : float [m]
    relative : float or None
        ``change`` over the size of the fitted value at the largest size; None where that is not above its residual.
    residual : float or None [SI]
        Standard deviation about the fit.
    p_value : float or None
    verdict : Goes
    why_not : str
    outliers : tuple of (wafer, device)
    devices, wafers, sizes : int
    """

    axis: Axis
    smallest: float
    largest: float
    devices: int
    wafers: int
    sizes: int
    change: float | None = None
    low: float | None = None
    high: float | None = None
    relative: float | None = None
    residual: float | None = None
    p_value: float | None = None
    verdict: Goes = "cannot tell"
    why_not: str = ""
    outliers: tuple[tuple[str, str], ...] = ()


def size_effects(devices: Sequence[Sized]) -> tuple[SizeEffect, ...]:
    """The change of a parameter from the largest to the smallest size, against L, 1/L, W and 1/W.

    value = wafer + b·f(size) [+ c·the other size], by least squares without outliers; each wafer has a level of its
    own, so that what differs between wafers is not taken for a dependence on size. The other size is fitted along where
    it varies.

    Parameters
    ----------
    devices : sequence of Sized, at least one

    Returns
    -------
    tuple of SizeEffect, one for each of L, 1/L, W, 1/W
        ``cannot tell`` where there are fewer than three sizes, where they differ by less than a factor of two, or where
        length and width change together.
    """
    return tuple(_effect(devices, axis) for axis in AXES)


def _sizes(devices: Sequence[Sized], axis: str) -> Floats:
    return np.array([each.length if axis.endswith("L") else each.width for each in devices])


def _effect(devices: Sequence[Sized], axis: Axis) -> SizeEffect:
    own, other = _sizes(devices, axis), _sizes(devices, "W" if axis.endswith("L") else "L")
    wafers = sorted({each.wafer for each in devices})
    bare = SizeEffect(
        axis=axis,
        smallest=float(own.min()),
        largest=float(own.max()),
        devices=len(devices),
        wafers=len(wafers),
        sizes=len(np.unique(np.round(np.log(own), 3))),
    )
    regressor = _against(own, axis)
    columns = [np.array([each.wafer == name for each in devices], dtype=float) for name in wafers]
    why = _too_little(bare.sizes, own, other, "lengths" if axis.endswith("L") else "widths")
    if not why and len(devices) < len(wafers) + 5:
        why = f"{len(devices)} devices are too few for {len(wafers)} wafers and a slope"
    if why:
        return replace(bare, why_not=why)
    extra = [_against(other, axis[:-1])] if _varies(other) else []
    centred = [each - each.mean() for each in (regressor, *extra)]
    design = np.column_stack([*columns, *(each / np.abs(each).max() for each in centred)])
    try:
        fit = clean_fit(design, [each.value for each in devices])
        whole = np.linalg.matrix_rank(design[fit.kept]) == design.shape[1]
    except ValueError:
        whole = False
    if not whole:
        return replace(bare, why_not="within the wafers the sizes do not vary enough")
    at = len(wafers)
    ends = [_against(np.array([size]), axis)[0] for size in (own.max(), own.min())]
    weights = np.zeros(design.shape[1])
    weights[at] = (ends[1] - ends[0]) / np.abs(centred[0]).max()
    change, low, high = fit.interval(weights)
    at_largest = float(np.mean(fit.coefficients[:at])) + float(fit.coefficients[at]) * (
        ends[0] - regressor.mean()
    ) / float(np.abs(centred[0]).max())
    p = fit.p_value([at])
    return replace(
        bare,
        change=change,
        low=low,
        high=high,
        relative=change / abs(at_largest) if abs(at_largest) > fit.scale else None,
        residual=fit.scale,
        p_value=p,
        verdict="goes with it" if p < 0.05 else "not distinguishable from zero",
        outliers=tuple(
            (each.wafer, each.device) for each, kept in zip(devices, fit.kept, strict=True) if not kept
        ),
    )


def _against(sizes: Floats, axis: str) -> Floats:
    return 1 / sizes if axis.startswith("1/") else sizes


def _varies(sizes: Floats) -> bool:
    return bool(sizes.max() > 1.01 * sizes.min())


def _too_little(count: int, own: Floats, other: Floats, name: str) -> str:
    if count < FEWEST_SIZES:
        return f"{count} {name if count != 1 else name[:-1]}: at least {FEWEST_SIZES} are needed"
    if own.max() < SMALLEST_RANGE * own.min():
        return f"the {name} differ by a factor of {own.max() / own.min():.2g} only; at least {SMALLEST_RANGE:g} is needed"
    if _varies(other):
        together = float(np.corrcoef(np.log(own), np.log(other))[0, 1])
        if abs(together) > _ALIKE:
            return (
                f"length and width change together (correlation {together:.2f}): add devices that part them"
            )
    return ""
