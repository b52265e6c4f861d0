"""How a number came about: the law with its inputs put in, so that whoever dials it in can check it by hand."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from filmwright.knowledge import Belief
from filmwright.process.ranges import Noted
from filmwright.sources import Source, Value
from filmwright.units import plain, write

Real = NDArray[np.float64]

NORMAL_95 = 1.96
"""Standard deviations that enclose 95 % of a normal distribution on either side."""

_STEP = 1e-4
"""Part of an input by which it is moved to find its slope."""

_WIDE = 0.1
"""Relative standard deviation from which a result above zero is taken for log-normal: its band then stays above zero."""

_FACTOR = 2.0
"""High over low bound from which the two are taken for factors about the value."""

_LETTER = r"A-Za-z0-9_\u0370-\u03ff\u2080-\u2089\u2090-\u209c"
Band = Literal["95 % band", "usual range"]


@dataclass(frozen=True, kw_only=True)
class Law:
    """An equation with its name, where it was read and where it stops.

    Attributes
    ----------
    name : str
        What it is called in the trade, or its author and year.
    equation : str
        Plain text, e.g. ``t = d / R``; empty for a choice.
    source : Source
    valid : str
        The limits within which it was tried, in words.
    implicit : bool
        The result is an unknown inside the equation, which is solved for it.
    """

    name: str
    equation: str
    source: Source
    valid: str = ""
    implicit: bool = False

    def derive_at_once(
        self, of: Callable[..., Real], inputs: Mapping[str, Input], *, unit: str, notes: tuple[str, ...] = ()
    ) -> Derivation:
        """As :meth:`derive`, of an equation that takes rows of inputs, each an array (n,), and answers all of them in one call."""
        moved = [(name, way) for name, each in inputs.items() if each.std for way in (1.0, -1.0)]
        rows = {name: np.full(1 + len(moved), each.value) for name, each in inputs.items()}
        steps = {name: abs(each.value) * _STEP or each.std * _STEP for name, each in inputs.items()}
        for k, (name, way) in enumerate(moved):
            rows[name][k + 1] += way * steps[name]
        found = np.asarray(of(**rows), dtype=float)
        ends = dict(zip(moved, found[1:], strict=True))
        slopes = {
            name: (ends[name, 1.0] - ends[name, -1.0]) / (2 * steps[name]) for name, way in moved if way > 0
        }
        parts = {each.symbol: float(slopes.get(name, 0.0)) * each.std for name, each in inputs.items()}
        return self._with_parts(float(found[0]), parts, inputs, unit, notes)

    def derive(
        self,
        of: Callable[..., float | Noted],
        inputs: Mapping[str, Input],
        *,
        unit: str,
        notes: tuple[str, ...] = (),
    ) -> Derivation:
        """The result of this law for its inputs, with the spread that theirs brings: σ² = Σ (∂f/∂xᵢ · σᵢ)².

        Parameters
        ----------
        of : callable
            The equation; takes the inputs by the keys of ``inputs``, answers in SI.
        inputs : mapping from argument of ``of`` to Input
        unit : str
            In which the result is written.
        notes : tuple of str

        Notes
        -----
        Source: Guide to the Expression of Uncertainty in Measurement, JCGM 100:2008, 5.1.2: first order, inputs that do not hang
        together. Slopes are central differences.
        """
        values = {name: each.value for name, each in inputs.items()}
        found = of(**values)
        result, own = (found.value, found.notes) if isinstance(found, Noted) else (found, ())
        parts = {each.symbol: self._part(of, values, name, each) for name, each in inputs.items()}
        return self._with_parts(result, parts, inputs, unit, (*own, *notes))

    def _with_parts(
        self,
        result: float,
        parts: Mapping[str, float],
        inputs: Mapping[str, Input],
        unit: str,
        notes: tuple[str, ...],
    ) -> Derivation:
        """A result with the part of its spread that each input brings."""
        variance = math.fsum(part**2 for part in parts.values())
        return Derivation(
            law=self,
            inputs=tuple(inputs.values()),
            result=result,
            unit=unit,
            std=math.sqrt(variance),
            shares={symbol: part**2 / variance for symbol, part in parts.items()} if variance > 0 else {},
            notes=notes,
        )

    @staticmethod
    def _part(
        of: Callable[..., float | Noted], values: Mapping[str, float], name: str, given: Input
    ) -> float:
        """Slope times standard deviation for one input."""
        if given.std == 0.0:
            return 0.0
        move = abs(given.value) * _STEP or given.std * _STEP
        # What is zero may be unable to be less: there the slope is taken on one side.
        ways = (1.0, -1.0) if given.value else (1.0, 0.0)
        ends = []
        for way in ways:
            found = of(**{**values, name: given.value + way * move})
            ends.append(found.value if isinstance(found, Noted) else found)
        return (ends[0] - ends[1]) / ((ways[0] - ways[1]) * move) * given.std


@dataclass(frozen=True, kw_only=True)
class Input:
    """One number that goes into a law.

    Attributes
    ----------
    symbol : str
        As it stands in the equation.
    name : str
    value : float [SI]
    unit : str
        In which it is written.
    source : Source
    std : float [SI]
        One standard deviation; 0 where it is a choice.
    evidence : str
        What it rests on, with its date and condition.
    """

    symbol: str
    name: str
    value: float
    unit: str
    source: Source
    std: float = 0.0
    evidence: str = ""

    @classmethod
    def known(cls, symbol: str, name: str, number: Value | Belief) -> Input:
        """A fact of the book, or what is believed of a rate today.

        Bounds of a fact that lie more than a factor of two apart are taken for factors: σ = value·ln(high/low)/(2 × 1.96).
        """
        evidence = number.evidence if isinstance(number, Belief) else number.condition
        std = number.std
        if isinstance(number, Value) and number.low > 0 and number.high > _FACTOR * number.low:
            std = number.value * math.log(number.high / number.low) / (2 * NORMAL_95)
        return cls(
            symbol=symbol,
            name=name,
            value=number.value,
            unit=number.unit,
            source=number.source,
            std=std,
            evidence=evidence,
        )

    @property
    def shown(self) -> str:
        """Value with unit."""
        return write(self.value, self.unit)

    @property
    def spread(self) -> str:
        """One standard deviation with its sign; empty for a choice."""
        if not self.std:
            return ""
        return f"± {plain(self.std, self.unit):.2g}" + (" %" if self.unit == "%" else "")


@dataclass(frozen=True, kw_only=True)
class Derivation:
    """A number with the law that gave it.

    Attributes
    ----------
    law : Law
    inputs : tuple of Input
    result : float [SI] or None
        None for a choice in words.
    unit : str
    std : float [SI]
        One standard deviation; 0 where nothing is known of it.
    shares : mapping from symbol to float
        Part of the variance that an input brings; empty without spread.
    notes : tuple of str
        What must be said beside it, e.g. an input outside the range of the law.
    low, high : float [SI] or None
        A band that is known otherwise than from the inputs: the usual range of a set point.
    text : str
        The choice in words.
    signed : bool
        The result may have either sign, so its band is even about it however wide it is.
    """

    law: Law
    unit: str
    inputs: tuple[Input, ...] = ()
    result: float | None = None
    std: float = 0.0
    shares: Mapping[str, float] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    text: str = ""
    signed: bool = False

    @property
    def band(self) -> tuple[float, float] | None:
        """Low and high [SI], None where no spread is known: result ± 1.96·σ, or result·exp(±1.96·σ/result) where σ is wide."""
        if self.low is not None and self.high is not None:
            return self.low, self.high
        if self.result is None or not self.std:
            return None
        relative = self.std / abs(self.result) if self.result else math.inf
        if self.result > 0 and relative > _WIDE and not self.signed:
            return self.result * math.exp(-NORMAL_95 * relative), self.result * math.exp(NORMAL_95 * relative)
        return self.result - NORMAL_95 * self.std, self.result + NORMAL_95 * self.std

    @property
    def band_is(self) -> Band:
        """What the band encloses."""
        return "95 % band" if self.low is None else "usual range"

    @property
    def shown(self) -> str:
        """The result with its unit, or the choice in words."""
        return self.text if self.result is None else write(self.result, self.unit)

    @cached_property
    def with_numbers(self) -> str:
        """The right-hand side of the equation, the whole of it where it is implicit, with the inputs put in for their symbols;
        empty where nothing can be put in."""
        _, equals, right = self.law.equation.partition(" = ")
        right = self.law.equation if self.law.implicit else right
        if not equals or not self.inputs:
            return ""
        shown = {each.symbol: each.shown for each in self.inputs}
        names = "|".join(sorted(map(re.escape, shown), key=len, reverse=True))
        text, count = re.subn(
            rf"(?<![{_LETTER}])(?:{names})(?![{_LETTER}])", lambda found: _bracketed(shown[found[0]]), right
        )
        return text if count else ""

    @property
    def worked(self) -> str:
        """The equation with its numbers and its result; empty where nothing can be put in."""
        if not self.with_numbers:
            return ""
        return f"{self.with_numbers}{', so' if self.law.implicit else ' ='} {self.shown}"


def _bracketed(text: str) -> str:
    return f"({text})" if " " in text or text.startswith("-") else text
