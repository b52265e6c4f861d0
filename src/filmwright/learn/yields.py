"""Which devices work, why the others do not, and whether two splits differ."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from filmwright.learn.belief import Z95
from filmwright.learn.robust import Robust, robust


@dataclass(frozen=True, kw_only=True)
class DeviceOutcome:
    """One device: why it does not work, or its parameters.

    Attributes
    ----------
    wafer, device : str
    cause : str
        Why it does not count as working, e.g. ``gate leakage``; empty when it works.
    parameters : mapping from name to float [SI]
        What could be extracted; a parameter that was refused is missing.
    """

    wafer: str
    device: str
    cause: str = ""
    parameters: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class CauseCount:
    """How many devices share one fate.

    Attributes
    ----------
    cause : str
        ``works`` or the cause.
    count : int
    share, low, high : float
        Fraction of all devices with its 95 % interval.
    """

    cause: str
    count: int
    share: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class YieldSummary:
    """Counts by cause first, then medians of the devices that work.

    Attributes
    ----------
    devices, wafers : int
    causes : tuple of CauseCount
        ``works`` first, then the causes, most frequent first; the counts add up to ``devices``.
    medians : mapping from parameter to Robust
        Over working devices only; each says how many values it has.
    warnings : tuple of str
    """

    devices: int
    wafers: int
    causes: tuple[CauseCount, ...]
    medians: Mapping[str, Robust]
    warnings: tuple[str, ...] = ()


def wilson_interval(count: int, total: int) -> tuple[float, float]:
    """95 % interval of a share, which stays sound at 0 and 1.

    Parameters
    ----------
    count, total : int
        0 ≤ count ≤ total, total at least 1.

    References
    ----------
    E. B. Wilson, J. Am. Stat. Assoc. 22, 209 (1927) (from memory).
    """
    if not 0 <= count <= total or total < 1:
        raise ValueError(f"a share needs 0 ≤ count ≤ total and a total of at least 1, got {count} of {total}")
    share, z2 = count / total, Z95**2
    middle = (share + z2 / (2 * total)) / (1 + z2 / total)
    half = Z95 / (1 + z2 / total) * math.sqrt(share * (1 - share) / total + z2 / (4 * total**2))
    return max(0.0, middle - half), min(1.0, middle + half)


def yield_by_cause(outcomes: Iterable[DeviceOutcome]) -> YieldSummary:
    """Count the devices by cause, then give medians and spreads of the working ones.

    Parameters
    ----------
    outcomes : iterable of DeviceOutcome, at least one, each device once
    """
    every = tuple(outcomes)
    if not every:
        raise ValueError("a yield needs at least one device")
    twice = [
        place for place, count in Counter((each.wafer, each.device) for each in every).items() if count > 1
    ]
    if twice:
        raise ValueError(
            f"each device counts once, got {twice[0][1]} of wafer {twice[0][0]} {len(twice) + 1} times"
        )
    counts = Counter(each.cause for each in every)
    ordered = sorted(counts, key=lambda cause: (cause != "", -counts[cause], cause))
    if "" not in counts:
        ordered.insert(0, "")
    wafers = len({each.wafer for each in every})
    return YieldSummary(
        devices=len(every),
        wafers=wafers,
        causes=tuple(_counted(cause, counts[cause], len(every)) for cause in ordered),
        medians=_medians([each for each in every if not each.cause]),
        warnings=(_one_wafer(len(every)),) if wafers == 1 and len(every) > 1 else (),
    )


def _counted(cause: str, count: int, total: int) -> CauseCount:
    low, high = wilson_interval(count, total)
    return CauseCount(cause=cause or "works", count=count, share=count / total, low=low, high=high)


def _medians(working: Sequence[DeviceOutcome]) -> dict[str, Robust]:
    names = sorted({name for each in working for name in each.parameters})
    columns = {name: [each.parameters[name] for each in working if name in each.parameters] for name in names}
    return {name: robust(column) for name, column in columns.items() if np.any(np.isfinite(column))}


def _one_wafer(devices: int) -> str:
    return f"{devices} devices on one wafer are one wafer: the interval says nothing about the next one"


@dataclass(frozen=True, kw_only=True)
class SplitValue:
    """One device of a split.

    Attributes
    ----------
    wafer : str
    value : float [SI]
    day : str
        Day on which the split step was run; empty when unknown.
    """

    wafer: str
    value: float
    day: str = ""


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
    """

    difference: float
    low: float
    high: float
    wafers: tuple[int, int]
    devices: tuple[int, int]
    differs: bool | None
    warnings: tuple[str, ...]


def compare_splits(first: Sequence[SplitValue], second: Sequence[SplitValue]) -> SplitComparison:
    """Compare two splits by the medians of their wafers, spreads unequal (Welch).

    Parameters
    ----------
    first, second : sequence of SplitValue, at least one each

    References
    ----------
    B. L. Welch, Biometrika 34, 28 (1947) (from memory).
    """
    one, two = _wafer_medians(first), _wafer_medians(second)
    difference = float(np.mean(two) - np.mean(one))
    wafers = (len(one), len(two))
    warnings = _split_warnings(first, second, wafers)
    low, high, differs = -math.inf, math.inf, None
    if min(wafers) >= 2:
        half = _welch_half_width(one, two)
        low, high = difference - half, difference + half
        differs = bool(low > 0 or high < 0)
    devices = (len(first), len(second))
    return SplitComparison(
        difference=difference,
        low=low,
        high=high,
        wafers=wafers,
        devices=devices,
        differs=differs,
        warnings=warnings,
    )


def _wafer_medians(values: Sequence[SplitValue]) -> list[float]:
    wafers: dict[str, list[float]] = {}
    for each in values:
        wafers.setdefault(each.wafer, []).append(each.value)
    if not wafers or not all(math.isfinite(each.value) for each in values):
        raise ValueError("a split needs at least one value, all finite")
    return [float(np.median(column)) for column in wafers.values()]


def _welch_half_width(one: Sequence[float], two: Sequence[float]) -> float:
    from scipy.special import stdtrit

    parts = [float(np.var(each, ddof=1)) / len(each) for each in (one, two)]
    total = sum(parts)
    if total == 0:
        return 0.0
    freedom = total**2 / sum(part**2 / (len(each) - 1) for part, each in zip(parts, (one, two), strict=True))
    return float(stdtrit(freedom, 0.975)) * math.sqrt(total)


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
    days = [{each.day for each in values if each.day} for values in (first, second)]
    if days[0] and days[1] and not days[0] & days[1]:
        warnings.append(
            "the splits were run on different days: what changed with the day looks like the split"
        )
    shared = {each.wafer for each in first} & {each.wafer for each in second}
    if shared:
        warnings.append(
            f"wafer {', '.join(sorted(shared))} is in both splits: compare within the wafer instead"
        )
    return tuple(warnings)
