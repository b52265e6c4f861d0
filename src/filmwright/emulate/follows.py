"""What follows from the settings of a deposition: nothing to dial in, but to have ready, to see on a dial, or to know."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from filmwright.knowledge import Belief
from filmwright.process import Derivation, Input, Setting
from filmwright.sources import Source


@dataclass(frozen=True, kw_only=True)
class Followed:
    """What a method's laws say of one film.

    Attributes
    ----------
    numbers : tuple of Setting
    look : tuple of str
        The few of them that are worth a line on the run sheet.
    warnings : tuple of str
    results : mapping from quantity to Belief
        What the lab's own runs say of the film.
    """

    numbers: tuple[Setting, ...] = ()
    look: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    results: Mapping[str, Belief] = field(default_factory=dict)


def follows(name: str, derived: Derivation) -> Setting:
    """A number that follows; it rests on its law."""
    return Setting.by_law(name, derived, derived.law.source)


def between(symbol: str, name: str, derived: Derivation) -> Input:
    """The result of one law that goes into the next."""
    return Input(
        symbol=symbol,
        name=name,
        value=derived.result or 0.0,
        unit=derived.unit,
        std=derived.std,
        source=derived.law.source,
        evidence=derived.law.name,
    )


def chosen(symbol: str, name: str, value: float, unit: str, why: str) -> Input:
    """A number that somebody chose: it has no spread."""
    return Input(symbol=symbol, name=name, value=value, unit=unit, source=Source(citation=why, kind="plan"))
