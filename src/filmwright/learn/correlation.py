"""What goes with what: rank correlations of parameters across devices."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from filmwright.learn.belief import Z95

Floats = NDArray[np.float64]

FEWEST_PAIRS = 8
FALSE_SHARE = 0.05
FALSE_FOUND = (
    "Benjamini and Hochberg over all pairs of parameters: of the pairs that are named, 5 % at most are expected to be "
    "chance"
)
"""How many pairs were tried is counted in, in words to print."""


@dataclass(frozen=True, kw_only=True)
class Correlation:
    """Two parameters across devices.

    Attributes
    ----------
    first, second : str
    rank : float or None
        Spearman's coefficient, −1 to 1; None where there are too few pairs or one of them does not vary.
    low, high : float or None
        95 % interval.
    pairs : int
        Devices that have both.
    p_value, adjusted : float or None
        Alone, and with all pairs of parameters counted in.
    """

    first: str
    second: str
    pairs: int
    rank: float | None = None
    low: float | None = None
    high: float | None = None
    p_value: float | None = None
    adjusted: float | None = None

    @property
    def goes_together(self) -> bool | None:
        """Whether the two go together; None: cannot tell."""
        return None if self.adjusted is None else self.adjusted <= FALSE_SHARE


@dataclass(frozen=True, kw_only=True)
class CorrelationMatrix:
    """All parameters against all others.

    Attributes
    ----------
    names : tuple of str
    pairs : tuple of Correlation
        Each pair once, strongest first; those that cannot be told last.
    correction : str
    within : bool
        Whether the median of each wafer was taken off first.
    """

    names: tuple[str, ...]
    pairs: tuple[Correlation, ...]
    correction: str = FALSE_FOUND
    within: bool = False

    def array(self) -> Floats:
        """The coefficients, shape (n, n), 1 on the diagonal, not a number where it cannot be told."""
        found = np.eye(len(self.names))
        at = {name: k for k, name in enumerate(self.names)}
        for each in self.pairs:
            i, j = at[each.first], at[each.second]
            found[i, j] = found[j, i] = math.nan if each.rank is None else each.rank
        return found


def correlations(values: Mapping[str, ArrayLike], wafers: Sequence[str] = ()) -> CorrelationMatrix:
    """Spearman's rank correlation of every pair of parameters.

    Interval on the scale z = artanh(r) with variance (1 + r²/2) / (n − 3); chance from t = r·√((n − 2)/(1 − r²)). With
    several wafers the median of each is taken off first, so that two parameters that merely differ from wafer to wafer
    are not said to go together; then n is less by the wafers beyond the first.

    Parameters
    ----------
    values : mapping from parameter to array (n,)
        Not a number where a device has none; the same devices in the same order.
    wafers : sequence of str, length n, or empty

    References
    ----------
    D. G. Bonett, T. A. Wright, Psychometrika 65, 23 (2000), doi:10.1007/BF02294183 (from memory); Y. Benjamini,
    Y. Hochberg, J. R. Stat. Soc. B 57, 289 (1995) (from memory).
    """
    columns = {name: np.asarray(column, dtype=float) for name, column in values.items()}
    several = len(set(wafers)) > 1
    found = [
        _pair(first, second, columns[first], columns[second], wafers if several else ())
        for first, second in combinations(columns, 2)
    ]
    adjusted = iter(false_discovery([each.p_value for each in found if each.p_value is not None]))
    told = [
        each if each.p_value is None else Correlation(**{**vars(each), "adjusted": next(adjusted)})
        for each in found
    ]
    told.sort(key=lambda each: -abs(each.rank) if each.rank is not None else 2.0)
    return CorrelationMatrix(names=tuple(columns), pairs=tuple(told), within=several)


def _pair(first: str, second: str, x: Floats, y: Floats, wafers: Sequence[str]) -> Correlation:
    both = np.isfinite(x) & np.isfinite(y)
    x, y = x[both], y[both]
    count, levels = len(x), 1
    if wafers:
        own = np.array(wafers)[both]
        levels = max(1, len(set(own.tolist())))
        for name in set(own.tolist()):
            x[own == name] -= np.median(x[own == name])
            y[own == name] -= np.median(y[own == name])
    free = count - levels + 1
    bare = Correlation(first=first, second=second, pairs=count)
    if free < FEWEST_PAIRS or np.ptp(x) == 0 or np.ptp(y) == 0:
        return bare
    rank = rank_correlation(x, y)
    low, high, p = _told(rank, free)
    return Correlation(**{**vars(bare), "rank": rank, "low": low, "high": high, "p_value": p})


def rank_correlation(x: Floats, y: Floats) -> float:
    """Spearman's coefficient: that of Pearson on ranks, equal values sharing their mean rank."""
    from scipy.stats import rankdata

    return float(np.clip(np.corrcoef(rankdata(x), rankdata(y))[0, 1], -1.0, 1.0))


def _told(rank: float, count: int) -> tuple[float, float, float]:
    from scipy.special import stdtr

    if abs(rank) >= 1 - 1e-12:
        return rank, rank, 0.0
    middle, half = math.atanh(rank), Z95 * math.sqrt((1 + rank**2 / 2) / (count - 3))
    t = rank * math.sqrt((count - 2) / (1 - rank**2))
    return math.tanh(middle - half), math.tanh(middle + half), 2 * float(stdtr(count - 2, -abs(t)))


def false_discovery(p_values: Sequence[float]) -> list[float]:
    """Chances corrected so that at most the stated share of what is called is expected to be false.

    The k-th smallest of m is multiplied by m/k, and none is larger than one after it.

    Parameters
    ----------
    p_values : sequence of float
    """
    order = sorted(range(len(p_values)), key=lambda at: -p_values[at])
    found, smallest = [0.0] * len(p_values), 1.0
    for behind, at in enumerate(order):
        smallest = min(smallest, p_values[at] * len(p_values) / (len(p_values) - behind))
        found[at] = smallest
    return found
