"""Whether splits differ: wafers are the replicates, never the devices on them."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

LEVEL = 0.05
"""Chance of calling anything different although nothing is, over all comparisons that were made."""

POWER = 0.8
"""Chance of seeing a difference of the size that is called detectable."""

CORRECTION = "Holm's step-down correction over all pairs of splits and all parameters that were compared"

_MOST_WAFERS = 1000


@dataclass(frozen=True, kw_only=True)
class SplitValue:
    """One device of a split.

    Attributes
    ----------
    wafer : str
    value : float [SI]
    day : str
        Day (or any other block: a batch, a deposition) on which the split step was run; empty when unknown.
    tool, position : str
        On which the wafer was run, and where it lay in it; empty when unknown.
    """

    wafer: str
    value: float
    day: str = ""
    tool: str = ""
    position: str = ""


@dataclass(frozen=True, kw_only=True)
class SplitComparison:
    """Two splits, compared by wafer.

    Attributes
    ----------
    difference : float [SI]
        Mean of the wafer medians of the second split minus that of the first.
    low, high : float [SI]
        95 % interval; infinite when it cannot be told.
    wafers, devices : tuple of int
        Of the first and of the second split.
    differs : bool or None
        Whether zero lies outside the interval; None: cannot tell.
    warnings : tuple of str
    p_value : float or None
        Chance of such a difference between splits that do not differ.
    between : float or None [SI]
        Standard deviation of wafers of one split (of the differences within a block, when ``blocks`` is not 0).
    blocks : int
        How many days (or wafers) hold both splits and were compared within themselves; 0: wafers taken as they are.
    parameter, first, second : str
    adjusted : float or None
        ``p_value`` corrected for all comparisons made beside it.
    """

    difference: float
    low: float
    high: float
    wafers: tuple[int, int]
    devices: tuple[int, int]
    differs: bool | None
    warnings: tuple[str, ...]
    p_value: float | None = None
    between: float | None = None
    blocks: int = 0
    parameter: str = ""
    first: str = ""
    second: str = ""
    adjusted: float | None = None

    @property
    def detectable(self) -> float | None:
        """Smallest true difference that these wafers show in four of five lots [SI]; None when it cannot be told."""
        if self.between is None:
            return None
        if self.blocks:
            return detectable_difference(self.between, (self.blocks,))
        return detectable_difference(self.between, self.wafers)

    @property
    def called(self) -> bool | None:
        """Whether the splits are said to differ, the other comparisons counted in; None: cannot tell."""
        return None if self.adjusted is None else self.adjusted <= LEVEL


def compare_splits(first: Sequence[SplitValue], second: Sequence[SplitValue]) -> SplitComparison:
    """Compare two splits by the medians of their wafers, spreads unequal (Welch).

    Where at least three wafers, or three days, hold both splits, the difference is taken within each of them and their
    mean is held against its spread (Student's t for pairs).

    Parameters
    ----------
    first, second : sequence of SplitValue, at least one each

    References
    ----------
    B. L. Welch, Biometrika 34, 28 (1947) (from memory).
    """
    one, two = _wafer_medians(first), _wafer_medians(second)
    wafers, devices = (len(one), len(two)), (len(first), len(second))
    bare = SplitComparison(
        difference=float(np.mean(list(two.values())) - np.mean(list(one.values()))),
        low=-math.inf,
        high=math.inf,
        wafers=wafers,
        devices=devices,
        differs=None,
        warnings=_split_warnings(first, second, wafers),
    )
    within = _within_blocks(first, second, one, two)
    if within is not None:
        return _told(bare, *_one_sample(within), float(np.std(within, ddof=1)), len(within))
    if min(wafers) < 2 or set(one) & set(two):
        return bare
    values = list(one.values()), list(two.values())
    return _told(bare, *_welch(*values), _pooled(values), 0)


def _told(
    bare: SplitComparison, difference: float, error: float, freedom: float, between: float, blocks: int
) -> SplitComparison:
    from scipy.special import stdtr, stdtrit

    half = float(stdtrit(freedom, 0.975)) * error if error else 0.0
    low, high = difference - half, difference + half
    p = 2 * float(stdtr(freedom, -abs(difference) / error)) if error else float(difference == 0)
    return replace(
        bare,
        difference=difference,
        low=low,
        high=high,
        differs=bool(low > 0 or high < 0),
        p_value=p,
        between=between,
        blocks=blocks,
    )


def _wafer_medians(values: Sequence[SplitValue]) -> dict[str, float]:
    wafers: dict[str, list[float]] = {}
    for each in values:
        wafers.setdefault(each.wafer, []).append(each.value)
    if not wafers or not all(math.isfinite(each.value) for each in values):
        raise ValueError("a split needs at least one value, all finite")
    return {name: float(np.median(column)) for name, column in wafers.items()}


def _within_blocks(
    first: Sequence[SplitValue],
    second: Sequence[SplitValue],
    one: Mapping[str, float],
    two: Mapping[str, float],
) -> list[float] | None:
    """Differences within wafers that hold both splits, else within days that do; None with fewer than three."""
    both = sorted(set(one) & set(two))
    if both:
        return [two[name] - one[name] for name in both] if len(both) >= 3 else None
    days = []
    for values, medians in ((first, one), (second, two)):
        of_wafer = {each.wafer: each.day for each in values}
        found: dict[str, list[float]] = {}
        for wafer, median in medians.items():
            found.setdefault(of_wafer[wafer], []).append(median)
        days.append(found)
    shared = sorted(set(days[0]) & set(days[1]) - {""})
    every = set(days[0]) | set(days[1])
    if len(shared) < 3 or "" in every:
        return None
    return [float(np.mean(days[1][day]) - np.mean(days[0][day])) for day in shared]


def _one_sample(differences: Sequence[float]) -> tuple[float, float, float]:
    count = len(differences)
    return (
        float(np.mean(differences)),
        float(np.std(differences, ddof=1)) / math.sqrt(count),
        float(count - 1),
    )


def _welch(one: Sequence[float], two: Sequence[float]) -> tuple[float, float, float]:
    """Difference of means, its standard error and the degrees of freedom after Welch and Satterthwaite."""
    parts = [float(np.var(each, ddof=1)) / len(each) for each in (one, two)]
    total = sum(parts)
    freedom = 1.0
    if total > 0:
        freedom = total**2 / sum(
            part**2 / (len(each) - 1) for part, each in zip(parts, (one, two), strict=True)
        )
    return float(np.mean(two) - np.mean(one)), math.sqrt(total), freedom


def _pooled(groups: Iterable[Sequence[float]]) -> float:
    squares, freedom = 0.0, 0
    for each in groups:
        squares += float(np.var(each, ddof=1)) * (len(each) - 1)
        freedom += len(each) - 1
    return math.sqrt(squares / freedom)


def _split_warnings(
    first: Sequence[SplitValue], second: Sequence[SplitValue], wafers: tuple[int, int]
) -> tuple[str, ...]:
    warnings = []
    for name, values, count in (("first", first, wafers[0]), ("second", second, wafers[1])):
        if count == 1:
            warnings.append(
                f"{len(values)} devices on one wafer are one wafer: the {name} split has no spread "
                "between wafers, so the difference cannot be told from it"
            )
    for what, plural in (("day", "days"), ("tool", "tools"), ("position", "positions")):
        levels = [{getattr(each, what) for each in values} - {""} for values in (first, second)]
        if levels[0] and levels[1] and not levels[0] & levels[1]:
            warnings.append(
                f"the splits were run on different {plural}: what changed with the {what} looks like the split"
            )
    shared = {each.wafer for each in first} & {each.wafer for each in second}
    if shared:
        warnings.append(
            f"wafer {', '.join(sorted(shared))} is in both splits: compare within the wafer instead"
        )
    return tuple(warnings)


@dataclass(frozen=True, kw_only=True)
class SplitStudy:
    """All splits against one another, for all parameters.

    Attributes
    ----------
    comparisons : tuple of SplitComparison
        Each pair for each parameter, with ``adjusted`` filled where it can be told.
    overall : mapping from parameter to float
        Chance of such unequal splits if none differed (Welch's analysis of variance over wafers), where there are more
        than two splits of at least two wafers each.
    correction : str
    told : int
        How many comparisons the correction counts.
    """

    comparisons: tuple[SplitComparison, ...]
    overall: Mapping[str, float]
    correction: str
    told: int


def compare_all(
    values: Mapping[str, Mapping[str, Sequence[SplitValue]]],
    forbidden: Mapping[tuple[str, str], Mapping[str, str]] | None = None,
) -> SplitStudy:
    """Compare every pair of splits for every parameter, and correct for having made so many comparisons.

    Parameters
    ----------
    values : mapping from parameter to mapping from split to values
    forbidden : mapping from pair of splits to mapping from parameter to str, or None
        Why a pair must not be compared in a parameter; it keeps its place, without a result.

    References
    ----------
    S. Holm, Scand. J. Stat. 6, 65 (1979) (from memory).
    """
    found = []
    overall = {}
    for parameter, splits in values.items():
        for first, second in combinations(splits, 2):
            why = _forbidden(forbidden or {}, (first, second), parameter)
            pair = compare_splits(splits[first], splits[second])
            if why:
                pair = _withheld(pair, why)
            found.append(replace(pair, parameter=parameter, first=first, second=second))
        groups = [list(_wafer_medians(each).values()) for each in splits.values()]
        open_ = not any(_forbidden(forbidden or {}, pair, parameter) for pair in combinations(splits, 2))
        if open_ and len(groups) > 2 and min(map(len, groups)) >= 2 and min(map(np.ptp, groups)) > 0:
            overall[parameter] = welch_analysis(groups)
    adjusted = iter(holm([each.p_value for each in found if each.p_value is not None]))
    told = [each if each.p_value is None else replace(each, adjusted=next(adjusted)) for each in found]
    return SplitStudy(
        comparisons=tuple(told),
        overall=overall,
        correction=CORRECTION,
        told=sum(each.p_value is not None for each in found),
    )


def _forbidden(
    forbidden: Mapping[tuple[str, str], Mapping[str, str]], pair: tuple[str, str], parameter: str
) -> str:
    found = forbidden.get(pair) or forbidden.get((pair[1], pair[0])) or {}
    return found.get(parameter, "")


def _withheld(pair: SplitComparison, why: str) -> SplitComparison:
    """A comparison that must not be made: its counts and the reason alone."""
    return SplitComparison(
        difference=math.nan,
        low=-math.inf,
        high=math.inf,
        wafers=pair.wafers,
        devices=pair.devices,
        differs=None,
        warnings=(f"not compared: {why}",),
    )


def holm(p_values: Sequence[float]) -> list[float]:
    """Chances corrected so that all comparisons together call a false difference in at most the stated share.

    The k-th smallest of m is multiplied by m − k + 1, and none is smaller than one before it.

    Parameters
    ----------
    p_values : sequence of float

    References
    ----------
    S. Holm, Scand. J. Stat. 6, 65 (1979) (from memory).
    """
    order = sorted(range(len(p_values)), key=lambda at: p_values[at])
    found, largest = [0.0] * len(p_values), 0.0
    for rank, at in enumerate(order):
        largest = max(largest, min(1.0, p_values[at] * (len(p_values) - rank)))
        found[at] = largest
    return found


def welch_analysis(groups: Sequence[Sequence[float]]) -> float:
    """Chance of means at least as unequal if all groups had one mean, spreads unequal.

    Parameters
    ----------
    groups : sequence of sequences of float
        At least two of at least two values that are not all equal.

    References
    ----------
    B. L. Welch, Biometrika 38, 330 (1951) (from memory).
    """
    from scipy.special import fdtrc

    count = len(groups)
    weights = np.array([len(each) / np.var(each, ddof=1) for each in groups])
    means = np.array([np.mean(each) for each in groups])
    total = float(weights.sum())
    middle = float(weights @ means) / total
    slack = sum(
        (1 - weight / total) ** 2 / (len(each) - 1) for weight, each in zip(weights, groups, strict=True)
    )
    between = float(weights @ (means - middle) ** 2) / (count - 1)
    f = between / (1 + 2 * (count - 2) / (count**2 - 1) * slack)
    return float(fdtrc(count - 1, (count**2 - 1) / (3 * slack), f))


def power(difference: float, spread: float, wafers: tuple[int, ...]) -> float:
    """Chance that a t test at 5 % shows a true difference.

    Parameters
    ----------
    difference, spread : float [SI]
        Spread: standard deviation of wafers of one split, or of differences within blocks; above zero.
    wafers : tuple of int
        Of both splits, or (blocks,) for pairs.
    """
    from scipy.special import nctdtr, stdtrit

    freedom = sum(wafers) - len(wafers)
    if freedom < 1:
        return 0.0
    apart = abs(difference) / (spread * math.sqrt(sum(1 / count for count in wafers)))
    limit = float(stdtrit(freedom, 0.975))
    # Where a difference is far beyond the limit the distribution function ends below the smallest float.
    missed, far = (
        value if math.isfinite(value := float(nctdtr(freedom, apart, at))) else 0.0 for at in (limit, -limit)
    )
    return 1 - missed + far


def detectable_difference(spread: float, wafers: tuple[int, ...]) -> float | None:
    """Smallest true difference that is shown in 80 % of all lots [SI]; None without degrees of freedom.

    Parameters
    ----------
    spread : float [SI]
    wafers : tuple of int
        As for :func:`power`.
    """
    from scipy.optimize import brentq

    if sum(wafers) - len(wafers) < 1:
        return None
    if spread <= 0:
        return 0.0
    unit = spread * math.sqrt(sum(1 / count for count in wafers))
    found = brentq(lambda apart: power(apart * unit, spread, wafers) - POWER, 0.0, 60.0, xtol=1e-9)
    return float(found) * unit


def wafers_needed(difference: float, spread: float) -> int | None:
    """Wafers for each of two splits that show a difference in 80 % of all lots; None beyond a thousand.

    Parameters
    ----------
    difference, spread : float [SI]
        Spread: standard deviation of wafers of one split.

    References
    ----------
    J. Cohen, Psychol. Bull. 112, 155 (1992), doi:10.1037/0033-2909.112.1.155 (from memory).
    """
    if difference == 0:
        return None
    if spread <= 0:
        return 2
    low, high = 1, _MOST_WAFERS
    if power(difference, spread, (high, high)) < POWER:
        return None
    while high - low > 1:
        middle = (low + high) // 2
        if power(difference, spread, (middle, middle)) >= POWER:
            high = middle
        else:
            low = middle
    return high


def confounded(values: Mapping[str, Sequence[SplitValue]]) -> tuple[str, ...]:
    """What changed together with the splits, in words: then the split cannot be told from it.

    Parameters
    ----------
    values : mapping from split to its values
        Of any one parameter, or of all.
    """
    found = []
    for what in ("day", "tool", "position"):
        pairs = {(split, each.wafer, getattr(each, what)) for split, own in values.items() for each in own}
        known = [(split, level) for split, _, level in pairs if level]
        levels = {level for _, level in known}
        if len(levels) < 2 or len({split for split, _ in known}) < 2:
            continue
        splits_of = Counter(level for level, _ in {(level, split) for split, level in known})
        if max(splits_of.values()) == 1:
            found.append(
                f"each {what} has wafers of one split only: a difference may be that of the {what}s; run every split "
                f"at least once on each {what}"
            )
        elif any(count < len(values) for count in splits_of.values()):
            alone = sorted(level for level, count in splits_of.items() if count < len(values))
            found.append(
                f"not every {what} has all splits ({', '.join(alone)}): part of a difference may be that of the {what}s"
            )
    return tuple(found)
