"""Which devices work, and why the others do not."""

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
    """One device: why it does not work, or its parameters, and what is known of it beside.

    Attributes
    ----------
    wafer, device : str
    cause : str
        Why it does not count as working, e.g. ``gate leakage``; empty when it works.
    parameters, stds : mapping from name to float [SI]
        What could be extracted, and its standard error; a parameter that was refused is missing.
    kind : str
        Kind of device, as its maker names it.
    polarity : str
        ``n`` or ``p``; empty when unknown.
    width, length : float or None [m]
    drawn : str
        Its size as drawn, e.g. ``W 20 µm, L 5 µm``; devices of one drawn size belong together. Empty: as ``width``
        and ``length`` say.
    area, edge : float or None [m², m]
        Through which the gate may leak: its area, and the length of its edge over the channel.
    x, y : float or None [m]
        From the middle of the wafer (of the die, where no place on the wafer is known).
    split, day, tool, position : str
        The variant that its wafer got, and when, on what and where it got it.
    conditions : mapping from name to str
        Under which it was measured, as printed.
    left_out : str
        Why it is excluded (reason, who, when); empty when it is not.
    """

    wafer: str
    device: str
    cause: str = ""
    parameters: Mapping[str, float] = field(default_factory=dict)
    stds: Mapping[str, float] = field(default_factory=dict)
    kind: str = ""
    polarity: str = ""
    width: float | None = None
    length: float | None = None
    drawn: str = ""
    area: float | None = None
    edge: float | None = None
    x: float | None = None
    y: float | None = None
    split: str = ""
    day: str = ""
    tool: str = ""
    position: str = ""
    conditions: Mapping[str, str] = field(default_factory=dict)
    left_out: str = ""

    @property
    def size(self) -> tuple[str, str, float | None, float | None]:
        """Kind and size: devices that are alike share it."""
        own = (None, None) if self.drawn else (self.width, self.length)
        return self.kind, self.drawn, *own


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
