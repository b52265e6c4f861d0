"""How a fact is written in the data files, read into a :class:`~filmwright.sources.Value`.

``'4.51 g/cm³, 4.4 to 4.6 | bulk, 20 °C | handbook-densities, p. 12'`` is a value with its 95 % bounds, the
condition
that it holds for, and the key of its source with the place in it. ``± 20 %`` may stand for the bounds.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from filmwright.knowledge.types import Rate
from filmwright.sources import Source, Value
from filmwright.units import to_si

_NUMBER = r"[+-]?\d+(?:\.\d+)?(?:e[+-]?\d+)?"
_FACT = re.compile(
    rf"(?P<value>{_NUMBER})\s*(?P<unit>[^,±]*?)\s*"
    rf"(?:±\s*(?P<spread>{_NUMBER})\s*(?P<percent>%)?|,\s*(?P<low>{_NUMBER})\s+to\s+(?P<high>{_NUMBER}))"
)
_BELOW = re.compile(rf"none(?:,\s*below\s+(?P<high>{_NUMBER})\s*(?P<unit>.+))?")


class Sources:
    """The shipped sources by key; ``"key, place"`` names a place in one."""

    def __init__(self, known: Mapping[str, Source]) -> None:
        self._known = known
        self._seen: dict[str, Source] = {}

    def __getitem__(self, reference: str) -> Source:
        if reference not in self._seen:
            key, _, where = reference.partition(",")
            if key.strip() not in self._known:
                raise ValueError(f'no source has the key "{key.strip()}"')
            source = self._known[key.strip()]
            self._seen[reference] = replace(source, where=where.strip()) if where.strip() else source
        return self._seen[reference]


def _parts(text: str, least: int) -> list[str]:
    parts = [part.strip() for part in text.split("|")]
    if len(parts) < least:
        raise ValueError(f'"{text}" must be written "value | condition | source"')
    return parts


def fact(text: str, sources: Sources) -> Value:
    """Read one value.

    Raises
    ------
    ValueError
        When it has no bounds, no unit that is known, or no source on file.
    """
    written, condition, reference = _parts(text, 3)[:3]
    return _value(written, condition, sources[reference])


def _value(written: str, condition: str, source: Source) -> Value:
    match = _FACT.fullmatch(written)
    if match is None:
        raise ValueError(
            f'"{written}" must be a number with unit and bounds, such as "4.5 g/cm³, 4.4 to 4.6"'
        )
    unit = match["unit"]
    number = float(match["value"])
    value = to_si(number, unit)
    if match["low"] is not None:
        low, high = to_si(float(match["low"]), unit), to_si(float(match["high"]), unit)
    else:
        spread = float(match["spread"])
        half = (
            abs(value) * spread / 100
            if match["percent"] and unit != "%"
            else to_si(spread, unit) - to_si(0.0, unit)
        )
        low, high = value - half, value + half
    return Value(value=value, low=low, high=high, unit=unit, condition=condition, source=source)


def rate(text: str, sideways: float, sources: Sources) -> Rate:
    """Read what a medium does to a material.

    ``none | …`` does not attack, ``none, below 2 nm/min | …`` says up to which rate that was measured,
    ``attacks | …``
    is known to attack at a rate that is not on file. A fourth part is the activation energy: ``| 0.26 eV ±
    20 %``.
    """
    written, condition, reference, *more = _parts(text, 3)
    source = sources[reference]
    energy = _value(more[0], condition, source) if more else None
    if written == "attacks":
        return Rate(verdict="attacks", sideways=sideways, source=source, condition=condition)
    none = _BELOW.fullmatch(written)
    if none is None:
        value = _value(written, condition, source)
        return Rate(verdict="attacks", value=value, sideways=sideways, source=source, condition=condition,
                    activation_energy=energy)  # fmt: skip
    bound = None
    if none["high"] is not None:
        high = to_si(float(none["high"]), none["unit"])
        bound = Value(value=0.0, low=0.0, high=high, unit=none["unit"], condition=condition, source=source)
    return Rate(verdict="does not attack", value=bound, sideways=sideways, source=source, condition=condition)


def bare(text: str) -> float:
    """A number with unit and nothing else, in SI: what a medium is used at, not what is known of it."""
    match = re.fullmatch(rf"({_NUMBER})\s*(.*)", text.strip())
    if match is None:
        raise ValueError(f'"{text}" must be a number with its unit')
    return to_si(float(match[1]), match[2])
