"""Whether the tables were given to the devices one row off, told from the currents against W/L."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

MOST_ROWS = 2
"""Rows by which an order is tried to be off."""

FEWEST_DEVICES = 8
"""Devices below which nobody can tell."""

ODDS = 1000.0
"""Likelihood ratio from which a shifted order is told."""

FOLLOWS = 0.8
"""Correlation that the shifted order must reach: else the current follows no size at all."""


@dataclass(frozen=True, kw_only=True)
class Shift:
    """What the currents say about the order of probing.

    Attributes
    ----------
    rows : int
        By how many rows the currents fit better when they are moved to later devices; 0 when nothing is noticed.
    aligned, shifted : float
        Correlation of log current with log W/L as given and at the best shift.
    odds : float
        Likelihood ratio of the best shift to the order as given.
    devices : int
        That were compared.
    """

    rows: int
    aligned: float
    shifted: float
    odds: float
    devices: int

    @property
    def words(self) -> str:
        """The evidence in words; empty when nothing is noticed."""
        if not self.rows:
            return ""
        way = "later" if self.rows > 0 else "earlier"
        count = abs(self.rows)
        return (
            f"the on currents of {self.devices} devices fit W/L {count} row{'s' if count > 1 else ''} {way} better: "
            f"correlation {self.shifted:.2f} against {self.aligned:.2f}, odds {min(self.odds, 1e9):.3g} to 1; "
            "the probing order may be off, nothing was changed"
        )


def probing_shift(width_over_length: ArrayLike, on_current: ArrayLike) -> Shift:
    """Whether currents in the order of probing fit W/L better when moved by a row or two.

    Equation: log I = log W/L + constant; the residual sums of squares S of the same number of devices are compared as
    (S_given / S_shifted)^(n/2), the likelihood ratio of normal residuals of unknown spread.

    Parameters
    ----------
    width_over_length : array (n_devices,)
        In the order of probing; NaN where not known.
    on_current : array (n_devices,) [A]
        Size of the on current; NaN where the device is dead or was not measured. Valid range: eight or more devices of three or
        more sizes, else nothing is noticed.

    Returns
    -------
    Shift

    References
    ----------
    Likelihood ratio of two regressions of equal size, e.g. G. Seber, A. Lee, Linear Regression Analysis (Wiley, 2003), ch. 4
    (from memory). That the current goes as W/L is the gradual-channel approximation.
    """
    size, current = (np.asarray(each, dtype=float) for each in (width_over_length, on_current))
    with np.errstate(divide="ignore", invalid="ignore"):
        size, current = np.log10(size), np.log10(np.abs(current))
    size, current = (np.where(np.isfinite(each), each, np.nan) for each in (size, current))
    nothing = Shift(
        rows=0,
        aligned=float("nan"),
        shifted=float("nan"),
        odds=1.0,
        devices=int(np.isfinite(size + current).sum()),
    )
    if len(size) < FEWEST_DEVICES + 2 * MOST_ROWS or np.unique(size[np.isfinite(size)]).size < 3:
        return nothing
    middle = slice(MOST_ROWS, len(size) - MOST_ROWS)
    shifts = range(-MOST_ROWS, MOST_ROWS + 1)
    moved = {rows: np.roll(size, -rows)[middle] for rows in shifts}
    measured = current[middle]
    good = np.isfinite(measured) & np.all([np.isfinite(each) for each in moved.values()], axis=0)
    count = int(good.sum())
    if count < FEWEST_DEVICES:
        return nothing
    left = {rows: _spread(measured[good] - each[good]) for rows, each in moved.items()}
    best = min(shifts, key=lambda rows: (left[rows], abs(rows)))
    odds = (
        float(np.exp(min(700.0, count / 2 * np.log(left[0] / left[best]))))
        if left[best] > 0
        else float("inf")
    )
    aligned, shifted = (_correlation(moved[rows][good], measured[good]) for rows in (0, best))
    told = best != 0 and odds >= ODDS and shifted >= FOLLOWS
    return Shift(rows=best if told else 0, aligned=aligned, shifted=shifted, odds=odds, devices=count)


def _spread(residual: NDArray[np.float64]) -> float:
    return float(np.sum((residual - residual.mean()) ** 2))


def _correlation(one: NDArray[np.float64], two: NDArray[np.float64]) -> float:
    if np.ptp(one) == 0 or np.ptp(two) == 0:
        return float("nan")
    return float(np.corrcoef(one, two)[0, 1])
