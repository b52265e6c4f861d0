"""Read and write quantities; the only place where a unit is converted."""

from __future__ import annotations

import difflib
import functools
import math
import re
from dataclasses import dataclass
from typing import Any

import pint

from filmwright.errors import Problem
from filmwright.units.constants import ZERO_CELSIUS
from filmwright.units.dimensions import DIMENSIONS, REGISTRY, Dimension

_BARE_FRACTION = 2.0
"""A fraction without % above this is taken for a slip: 5 is meant as 5 %, 1.2 (a tooling factor) is not."""
_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_WHOLE = re.compile(
    rf"^\s*(?P<value>{_NUMBER})\s*(?P<unit>.*?)\s*(?:±\s*(?P<spread>{_NUMBER})\s*(?P<spread_unit>.*?)\s*)?$"
)
_CLIMBS = re.compile(r"\*\*\s*-?\s*\d*\s*\*\*|\d{2,}")
_RANGE = re.compile(rf"^(?P<low>{_NUMBER})\s*(?:-|–|to|\.\.)\s*(?P<high>{_NUMBER})\s*(?P<unit>[^\d]*)$")
_CLOCK = re.compile(r"^(?:(?P<h>\d+)\s*h)?\s*(?:(?P<min>\d+)\s*min)?\s*(?:(?P<s>\d+)\s*s)?$")
_TWINS = (
    ("+/-", "±"),
    ("+-", "±"),
    ("\N{GREEK SMALL LETTER MU}", "u"),
    ("\N{MICRO SIGN}", "u"),
    ("\N{ANGSTROM SIGN}", "ang"),
    ("Å", "ang"),
    ("\N{OHM SIGN}", "ohm"),
    ("\N{GREEK CAPITAL LETTER OMEGA}", "ohm"),
    ("°C", "degC"),
    ("°", "deg"),
    ("·", "*"),
    ("−", "-"),
    ("⁻¹", "^-1"),
    ("⁻²", "^-2"),
    ("⁻³", "^-3"),
    ("²", "^2"),
    ("³", "^3"),
    ("%", "pct"),
)


class UnitProblem(ValueError):  # noqa: N818 - a problem, not yet placed in a file
    """A quantity that cannot be read; ``problem`` says why, without a place."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(str(problem))
        self.problem = problem


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """A number in SI with the way in which it was written.

    Attributes
    ----------
    value : float [SI]
    spread : float [SI] or None
        What stood behind ``±``.
    dimension : str
        A key of :data:`DIMENSIONS`.
    unit : str
        The unit as written, used to print it again.
    reading : str
        What was assumed in reading, e.g. ``A read as ångström``; empty when nothing was.
    """

    value: float
    dimension: str
    unit: str
    spread: float | None = None
    reading: str = ""

    def __str__(self) -> str:
        text = write(self.value, self.unit)
        if self.spread is None:
            return text
        number = _digits(self.spread * _scale(self.unit))
        return f"{text} ± {number} {pretty(self.unit)}".rstrip()


@functools.cache
def _registry() -> Any:
    registry: Any = pint.UnitRegistry(None, cache_folder=None, autoconvert_offset_to_baseunit=True)
    registry.load_definitions(REGISTRY.strip().splitlines())
    return registry


def _plain_unit(unit: str) -> str:
    text = unit.strip()
    for fancy, twin in _TWINS:
        text = text.replace(fancy, twin)
    text = re.sub(r"(?<=[a-zA-Z])\s+(?=[a-zA-Z])", "*", text)
    return text.replace("^", "**")


@functools.lru_cache(maxsize=512)
def _parsed(unit: str) -> tuple[float, float, tuple[tuple[str, float], ...]]:
    """Factor and offset to SI, and the dimensionality, of a unit as written."""
    text = _plain_unit(unit)
    if not text:
        return 1.0, 0.0, ()
    if len(text) > 60 or _CLIMBS.search(text) or (text != "pct" and re.search(r"pct(?![a-z])|percent", text)):
        raise ValueError(f"{unit!r} is no unit")
    registry = _registry()
    parsed = registry.parse_units(text)
    dims = tuple(sorted((str(k), float(v)) for k, v in registry.get_dimensionality(parsed).items()))
    if text == "degC":
        return 1.0, ZERO_CELSIUS, dims
    return float(registry.Quantity(1.0, parsed).to_base_units().magnitude), 0.0, dims


def _scale(unit: str) -> float:
    return 1.0 / _parsed(unit)[0]


@functools.lru_cache(maxsize=512)
def pretty(unit: str) -> str:
    """A unit as it is printed, e.g. ``um`` → ``µm``, ``cm^2`` → ``cm²``."""
    text = unit.replace("\N{GREEK SMALL LETTER MU}", "µ")
    text = re.sub(r"\b(k?)ang\b", r"\1Å", text).replace("degC", "°C").replace("^2", "²").replace("^3", "³")
    text = re.sub(r"\bu(?=[a-zA-Z])", "µ", text)
    text = text.replace("ohm", "Ω").replace("*", "·").replace("pct", "%")
    return "°" if text == "deg" else text


def _trouble(what: str, got: str, dimension: Dimension, hint: str) -> UnitProblem:
    unit = f"with a unit of {dimension.name}" if dimension.si else "without a unit or in %"
    why = f"{dimension.name} is carried as {dimension.si or 'a plain number'} inside and nothing is guessed"
    return UnitProblem(
        Problem(
            what=what,
            expected=f'{"an" if dimension.name[0] in "aeiou" else "a"} {dimension.name} {unit}, such as "{dimension.example}"',
            got=f'"{got}"',
            why=why,
            remedy=hint,
        )
    )


def _unit_hint(written: str, number: float, dimension: Dimension) -> str:
    """Teach: the nearest unit with what the number would be in it."""
    known = ("mTorr", "Torr", "Pa", "mbar", "nm", "um", "ang", "mm", "s", "min", "h", "rpm", "sccm", "degC", "mJ/cm^2",
             "mW/cm^2", "W", "kW", "V", "mV", "nA", "uA", "MPa", "GPa", "nF/cm^2", "nm/min", "ang/s", "nm/s")  # fmt: skip
    fitting = [each for each in known if _parsed(each)[2] == _parsed(dimension.si)[2]]
    small = {each.lower(): each for each in reversed(fitting)}
    near = difflib.get_close_matches(written.lower(), small, n=1, cutoff=0.5) if written[:1].isalpha() else []
    close = [small[each] for each in near]
    if close:
        factor, offset, _ = _parsed(close[0])
        si = number * factor + offset
        return f'did you mean "{close[0]}"? {number:g} {close[0]} = {si:.3g} {dimension.si}'
    return f'write it like "{dimension.example}"'


def read(text: str | float | int, dimension: str, what: str = "") -> Quantity:
    """Read a quantity as people write it.

    Parameters
    ----------
    text : str or number
        E.g. ``850 Å``, ``6 mTorr``, ``60 nm ± 5 %``. A bare number is taken only for numbers and fractions.
    dimension : str
        A key of :data:`DIMENSIONS`.
    what : str
        Name of the thing, for the message.

    Raises
    ------
    UnitProblem
        With what was expected, what came and what to do.
    """
    dim = DIMENSIONS[dimension]
    name = what or f"the {dimension}"
    written = re.sub(r"^\((.*)\)", r"\1", str(text).strip())
    for twin, sign in (("+/-", "±"), ("+-", "±"), ("−", "-")):
        written = written.replace(twin, sign)
    match = _WHOLE.match(written)
    hint = _shape_hint(written, dim)
    if match is None or isinstance(text, bool) or hint:
        raise _trouble(name, str(text), dim, hint or f'write a number and a unit, like "{dim.example}"')
    after = match["spread_unit"] or ""
    unit, reading = _customary(match["unit"] or (after if after != "%" else ""), dimension)
    value, base = _si(float(match["value"]), unit, dim, name, written)
    spread = None
    if match["spread"] is not None:
        if float(match["spread"]) < 0:
            half = match["spread"].lstrip("-")
            raise _trouble(
                name,
                str(text),
                dim,
                f"write what stands behind ± without its sign: ± {half} {after}".rstrip(),
            )
        spread = _spread(float(match["spread"]), after or unit, base, dim, name)
    if not math.isfinite(value) or not math.isfinite(spread or 0.0):
        raise _trouble(name, str(text), dim, "write a finite number")
    if dimension == "temperature" and value < 0:
        raise _trouble(name, str(text), dim, f"write one above {write(0.0, '°C')}, the absolute zero")
    if dimension == "fraction" and not unit and value > _BARE_FRACTION:
        raise _trouble(name, str(text), dim, f'write "{value:g} %" or "{value / 100:g}"')
    return Quantity(value=value, spread=spread, dimension=dimension, unit=unit, reading=reading)


def _shape_hint(written: str, dim: Dimension) -> str:
    """Teach how to write what people write in other ways: a decimal comma, a range, hours with minutes."""
    if re.search(r"\d,\d", written):
        return f'write a decimal point instead of a comma, like "{dim.example}"'
    if span := _RANGE.match(written):
        low, high, unit = float(span["low"]), float(span["high"]), f" {span['unit'].strip()}".rstrip()
        middle, half = (low + high) / 2, (high - low) / 2
        return f'write the middle and half the width: "{middle:g}{unit} ± {half:g}{unit}"'
    clock = _CLOCK.match(written)
    if dim.name == "time" and clock and sum(part is not None for part in clock.groups()) > 1:
        return (
            f'write it in one unit: "{sum(to_si(float(n), u) for u, n in clock.groupdict("0").items()):g} s"'
        )
    return ""


def _customary(unit: str, dimension: str) -> tuple[str, str]:
    """Readings that the trade takes for granted, each said aloud."""
    angstrom = re.fullmatch(r"(k?)A(\s*/\s*(?:s|min)|)", unit)
    if angstrom and dimension == ("rate" if angstrom[2] else "length"):
        return f"{angstrom[1]}Å{angstrom[2]}", "A read as ångström"
    if dimension == "temperature" and unit in {"C", "°"}:
        return "°C", f"{unit} read as °C"
    return unit, ""


def _si(number: float, unit: str, dim: Dimension, name: str, written: str) -> tuple[float, float]:
    if not unit and dim.si:
        raise _trouble(name, written, dim, f'add the unit, like "{dim.example}"')
    try:
        factor, offset, dims = _parsed(unit)
    except (pint.errors.PintError, AttributeError, ValueError, TypeError, SyntaxError, AssertionError):
        raise _trouble(name, written, dim, _unit_hint(unit, number, dim)) from None
    except Exception as trouble:  # the tokenizer raises whatever it likes on junk
        raise _trouble(name, written, dim, f'write it like "{dim.example}"') from trouble
    if dims != _parsed(dim.si)[2]:
        raise _trouble(name, written, dim, f'write it like "{dim.example}"')
    return number * factor + offset, number * factor


def _spread(number: float, unit: str, base: float, dim: Dimension, name: str) -> float:
    if unit.strip() == "%" and dim.name != "fraction":
        return abs(base) * number / 100
    _, delta = _si(number, unit, dim, name, f"± {number:g} {unit}")
    return abs(delta)


def to_si(value: float, unit: str) -> float:
    """A number in ``unit`` as SI float (absolute: °C becomes K)."""
    factor, offset, _ = _parsed(unit)
    return value * factor + offset


def convert(value: float, unit: str) -> float:
    """An SI float as a number in ``unit`` (absolute: K becomes °C)."""
    factor, offset, _ = _parsed(unit)
    return (value - offset) / factor


def plain(delta: float, unit: str) -> float:
    """A difference or spread in SI as a number in ``unit``; offsets do not count."""
    return delta / _parsed(unit)[0]


def _digits(number: float) -> str:
    """Three significant digits, four from 1000 on, without exponents where people would not write one."""
    if number == 0:
        return "0"
    size = abs(number)
    if 1e-3 <= size < 1e6:
        decimals = max(0, 2 - math.floor(math.log10(size)))
        text = f"{number:.{decimals}f}"
        return text.rstrip("0").rstrip(".") if "." in text else text
    return f"{number:.3g}"


def write(value: float, unit: str) -> str:
    """An SI float written in ``unit`` with three significant digits, e.g. ``60 nm``."""
    number, name = _digits(convert(value, unit)), pretty(unit)
    return f"{number} {name}{'s' if name == 'day' and number != '1' else ''}".rstrip()


def show(value: float, dimension: str) -> str:
    """An SI float written in the unit that reads best for its dimension, e.g. ``1.3 µm``.

    Parameters
    ----------
    value : float [SI]
    dimension : str
        A key of :data:`DIMENSIONS`.
    """
    units = DIMENSIONS[dimension].shown
    # A square millimetre is a million square micrometres: an area has four digits at most where the next unit takes over.
    least = 0.009999 if dimension == "area" else 0.9999
    for unit in reversed(units):
        if abs(convert(value, unit)) >= least:
            return write(value, unit)
    if dimension == "length" and abs(value) > 0:
        return write(value, "nm")
    return write(value, units[0])
