"""How a fact is written in the data files, read into a :class:`~filmwright.sources.Value`.

``'4.51 g/cm³, 4.4 to 4.6 | bulk, 20 °C | handbook-densities, p. 12'`` is a value with its 95 % bounds, the
condition
that it holds for, and the key of its source with the place in it. ``± 20 %`` may stand for the bounds.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Literal, get_args

from filmwright.knowledge.facts import Absence, Exposure, Nothing, VapourCurve, YieldCoefficients
from filmwright.knowledge.types import Rate
from filmwright.sources import Source, Value
from filmwright.units import to_si

_NUMBER = r"[+-]?\d+(?:\.\d+)?(?:e[+-]?\d+)?"
_FACT = re.compile(
    rf"(?P<value>{_NUMBER})\s*(?P<unit>[^,±]*?)\s*"
    rf"(?:±\s*(?P<spread>{_NUMBER})\s*(?P<percent>%)?|,\s*(?P<low>{_NUMBER})\s+to\s+(?P<high>{_NUMBER}))"
)
_NOTHINGS: tuple[Nothing, ...] = get_args(Nothing)
_PHASES: tuple[Literal["solid", "liquid"], ...] = ("solid", "liquid")
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


def absence(text: str) -> Absence | None:
    """``does not apply | why`` and ``not known | why``; None when it is written otherwise.

    Raises
    ------
    ValueError
        When it says so without the reason.
    """
    said, _, why = (part.strip() for part in text.partition("|"))
    found = next((nothing for nothing in _NOTHINGS if nothing == said), None)
    if found is None:
        return None
    if not why:
        raise ValueError(f'"{text}" must say why, such as "{said} | a conductor"')
    return Absence(says=found, why=why)


def curve(phase: str, text: str, sources: Sources) -> VapourCurve:
    """``11.925, -24991, -1.3376, 0 | 298 K to 1930 K | source``: A, B, C, D and the range that they hold for.

    Raises
    ------
    ValueError
        When the phase, the four numbers or the range are not there.
    """
    written, span, reference = _parts(text, 3)[:3]
    numbers = [float(number) for number in written.split(",")]
    low, high = _span(span)
    if len(numbers) != 4:
        raise ValueError(f'"{written}" must be the four numbers A, B, C, D')
    known = next((each for each in _PHASES if each == phase), None)
    if known is None:
        raise ValueError(f'"{phase}" must be solid or liquid')
    return VapourCurve(
        phase=known,
        coefficients=(numbers[0], numbers[1], numbers[2], numbers[3]),
        low=low,
        high=high,
        source=sources[reference],
    )


def yields(law: str, text: str, sources: Sources) -> YieldCoefficients:
    """``binding energy 4.85 eV; Q 0.54; W 2.57; s 2.5 | argon, 30 eV to 100000 eV | source``.

    Raises
    ------
    ValueError
        When a coefficient has no name or number, or the range is not there.
    """
    written, condition, reference = _parts(text, 3)[:3]
    ion, _, span = condition.partition(",")
    low, high = _span(span)
    coefficients = {}
    for each in written.split(";"):
        match = re.fullmatch(
            rf"(?P<name>[A-Za-z][A-Za-z ]*?)\s+(?P<number>{_NUMBER}(?:\s+\S+)?)", each.strip()
        )
        if match is None:
            raise ValueError(f'"{each.strip()}" must be a name and a number, such as "Q 0.54"')
        coefficients[match["name"]] = bare(match["number"])
    return YieldCoefficients(
        law=law, ion=ion.strip(), coefficients=coefficients, low=low, high=high, source=sources[reference]
    )


def exposure(text: str, sources: Sources) -> Exposure:
    """``25 ppm | NIOSH, 8 h average | source``: a limit stands as it was set, so that it has no bounds.

    Raises
    ------
    ValueError
        When the number has no unit or nothing says who set it.
    """
    written, what, reference = _parts(text, 3)[:3]
    value = bare(written)
    if not what:
        raise ValueError(f'"{text}" must say who set it and over which time')
    unit = written[re.match(_NUMBER, written).end() :].strip()  # type: ignore[union-attr]
    return Exposure(what=what, value=value, unit=unit, source=sources[reference])


def _span(text: str) -> tuple[float, float]:
    low, _, high = text.partition(" to ")
    bounds = bare(low), bare(high)
    if bounds[0] >= bounds[1]:
        raise ValueError(f'"{text}" must be a range, such as "298 K to 1930 K"')
    return bounds


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
    20 %``, and a fifth its source where that is another one.
    """
    written, condition, reference, *more = _parts(text, 3)
    source = sources[reference]
    origin = sources[more[1]] if len(more) > 1 else source
    energy = _value(more[0], condition, origin) if more else None
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
