"""A number with its citation, condition, spread and kind."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, get_args

Kind = Literal[
    "published",
    "published, read in a transcription",
    "common practice",
    "from memory",
    "lab",
    "fitted",
    "plan",
    "invented",
]
KINDS: tuple[str, ...] = get_args(Kind)


@dataclass(frozen=True, kw_only=True)
class Source:
    """Where a number was read.

    Attributes
    ----------
    citation : str
        Author, title, year; or who measured it.
    kind : Kind
        How far to trust it.
    where : str
        Table, page or equation.
    date : str
        ISO date of a measurement; empty for literature.
    """

    citation: str
    kind: Kind
    where: str = ""
    date: str = ""

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"kind must be one of {KINDS}, got {self.kind!r}")
        if not self.citation.strip():
            raise ValueError("citation must say who published or measured the number, got nothing")

    def __str__(self) -> str:
        parts = [self.citation, self.where, self.date]
        return ", ".join(part for part in parts if part) + f" ({self.kind})"


@dataclass(frozen=True, kw_only=True)
class Value:
    """A number in SI with its bounds, condition and source.

    Attributes
    ----------
    value : float [SI]
    low, high : float [SI]
        The range within which the number is expected (about 95 %).
    unit : str
        The unit in which people write it, e.g. ``nm/min``.
    condition : str
        What it holds for, e.g. ``20 °C``.
    source : Source
    """

    value: float
    low: float
    high: float
    unit: str
    source: Source
    condition: str = ""

    def __post_init__(self) -> None:
        if not (self.low <= self.value <= self.high):
            raise ValueError(f"bounds must enclose the value, got {self.low} ≤ {self.value} ≤ {self.high}")
        if not math.isfinite(self.value):
            raise ValueError(f"value must be finite, got {self.value}")

    @property
    def std(self) -> float:
        """One standard deviation [SI]: a quarter of the 95 % range."""
        return (self.high - self.low) / 4

    @property
    def relative_std(self) -> float:
        """Standard deviation over value; infinite for a value of zero."""
        return self.std / abs(self.value) if self.value else math.inf
