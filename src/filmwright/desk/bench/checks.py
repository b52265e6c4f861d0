"""Plain checks of a number before it is saved: a slip of the unit or the point, a value outside its band, an impossible one."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

from filmwright.errors import BadInput, Problem, nearest
from filmwright.flow import LOGGED, SPREAD
from filmwright.units import UnitProblem, convert, plain, pretty, read, to_si, write

Verdict = Literal["in band", "slip", "out of band", "no plan"]

UNITS: dict[str, tuple[str, ...]] = {
    "time": ("s", "min", "h"),
    "length": ("nm", "Å", "µm"),
    "temperature": ("°C",),
    "pressure": ("Pa", "mTorr", "Torr", "mbar"),
    "power": ("W", "kW"),
    "dose": ("mJ/cm²",),
    "intensity": ("mW/cm²",),
    "speed": ("rpm",),
    "number": ("",),
    "gas flow": ("sccm",),
    "resistance": ("Ω", "kΩ"),
    "fraction": ("%",),
    "areal capacitance": ("nF/cm²",),
}
"""Units that a keypad offers, by dimension; a slip is looked for among them."""

_SIGNED = frozenset({"temperature"})
"""Dimensions of which zero or less can be read in the unit in which they are written."""
_ZERO = frozenset({"temperature", "fraction"})
_FAR = 4.0
"""A value this many times off its plan is asked about as a slip; closer ones are out of band. Judgement."""
_NEAR = 1.5
"""What is proposed instead must be this near to the plan, as a ratio. Judgement."""
_POINTS = (10.0, 0.1, 100.0, 0.01, 1000.0, 0.001)
_CUSTOM = 0.1
"""Half width of the band, as a share of the number in its unit, where the plan gives none. Judgement."""
_SIGMAS = 2.0
"""Half width of a 95 % band in standard deviations."""


@dataclass(frozen=True, kw_only=True)
class Plan:
    """What was planned of one number, to hold an entry against.

    Attributes
    ----------
    name : str
        A name of :data:`filmwright.flow.LOGGED`.
    value : float [SI]
    unit : str
        The unit in which it is dialled in.
    spread : float [SI] or None
        One standard deviation; None where none is known.
    """

    name: str
    value: float
    unit: str
    spread: float | None = None

    @property
    def half(self) -> float:
        """Half width of the band, as a number in ``unit``."""
        if self.spread:
            return _SIGMAS * plain(self.spread, self.unit)
        return _CUSTOM * abs(convert(self.value, self.unit))

    @property
    def band(self) -> tuple[float, float]:
        """Lowest and highest value that is not asked about [SI]."""
        middle = convert(self.value, self.unit)
        return to_si(middle - self.half, self.unit), to_si(middle + self.half, self.unit)

    @property
    def shown(self) -> str:
        """The plan as it is printed, e.g. ``41 s``."""
        return write(self.value, self.unit)


@dataclass(frozen=True, kw_only=True)
class Check:
    """What a plain look at one number says.

    Attributes
    ----------
    verdict : Verdict
    name : str
    value : float [SI]
    unit : str
        As it was entered.
    said : str
        One sentence for the person; empty when there is nothing to ask.
    meant : float or None [SI]
        What was probably meant, of a slip.
    meant_unit : str
    """

    verdict: Verdict
    name: str
    value: float
    unit: str
    said: str = ""
    meant: float | None = None
    meant_unit: str = ""

    @property
    def asks(self) -> bool:
        """Whether a person should look at it again before it is saved."""
        return bool(self.said)

    def fields(self) -> dict[str, Any]:
        """For programs."""
        meant = None if self.meant is None else _short(convert(self.meant, self.meant_unit))
        return {
            "verdict": self.verdict,
            "name": self.name,
            "value": _short(convert(self.value, self.unit)),
            "unit": self.unit,
            "said": self.said,
            "meant": meant,
            "meant_unit": self.meant_unit,
        }


def _short(number: float) -> float:
    return float(f"{number:.9g}")


def dimension_of(name: str) -> str:
    """The dimension of what can be written down with a number.

    Raises
    ------
    BadInput
        When nothing is logged under this name.
    """
    plain_name = name.removesuffix(SPREAD)
    if plain_name not in LOGGED:
        raise BadInput(
            Problem(
                what="what was entered",
                expected="a number with a known name",
                got=f'"{name}"',
                why="a number without a name is lost",
                remedy=nearest(plain_name, LOGGED),
            )
        )
    return LOGGED[plain_name]


def units_of(name: str, planned: str = "") -> tuple[str, ...]:
    """The units that a keypad offers for a name, the planned one first."""
    offered = UNITS[dimension_of(name)]
    first = pretty(planned)
    return (first, *(each for each in offered if each != first)) if first else offered


def read_value(name: str, text: str, unit: str) -> tuple[float, str]:
    """A number as it was typed, in SI, and the unit in which it was written.

    Parameters
    ----------
    name : str
    text : str
        Digits with a point or a comma, or a number with its unit.
    unit : str
        The chosen unit; empty when it stands in ``text``.

    Raises
    ------
    BadInput
        When it is no number, has the wrong unit, or cannot be.
    """
    dimension = dimension_of(name)
    typed = text.strip().replace(",", ".", 1) if text.count(",") == 1 and "." not in text else text.strip()
    try:
        quantity = read(f"{typed} {unit}".strip(), dimension, name)
    except UnitProblem as trouble:
        raise BadInput(trouble.problem) from None
    if name.endswith(SPREAD):
        return quantity.value, quantity.unit
    least = "zero or more" if dimension in _ZERO else "more than zero"
    too_low = quantity.value < 0 if dimension in _ZERO else quantity.value <= 0
    too_high = name == "humidity" and quantity.value > 1
    if (too_low and dimension not in _SIGNED) or too_high:
        raise BadInput(
            Problem(
                what=name,
                expected="100 % or less" if too_high else least,
                got=f'"{typed} {pretty(quantity.unit)}"'.replace(' "', '"'),
                why="the record is never changed afterwards and the wafer is followed from it",
                remedy="write what was really set or read; a step that was not done is marked as skipped",
            )
        )
    return quantity.value, quantity.unit


def check_value(name: str, value: float, unit: str, planned: Plan | None = None) -> Check:
    """Hold a number against its plan: in band, a slip of unit or point, or out of band.

    Parameters
    ----------
    name : str
    value : float [SI]
    unit : str
        As it was entered.
    planned : Plan or None
    """
    if planned is None:
        return Check(verdict="no plan", name=name, value=value, unit=unit)
    low, high = planned.band
    slack = 1e-9 * max(abs(low), abs(high))
    if low - slack <= value <= high + slack:
        return Check(verdict="in band", name=name, value=value, unit=unit)
    got = write(value, unit)
    found = _slip(value, unit, planned)
    if found is not None:
        meant, meant_unit = found
        said = f"{got} entered, {planned.shown} planned: did you mean {write(meant, meant_unit)}?"
        return Check(
            verdict="slip", name=name, value=value, unit=unit, said=said, meant=meant, meant_unit=meant_unit
        )
    limit, word = (low, "below") if value < low else (high, "above")
    said = (
        f"{name} {got} is {word} {write(limit, planned.unit)}, the limit of the band around {planned.shown}"
    )
    return Check(verdict="out of band", name=name, value=value, unit=unit, said=said)


def _ratio(value: float, planned: Plan) -> float:
    """Of the numbers in the planned unit, so that degrees count from the zero of their scale; 0 when there is none."""
    number, middle = convert(value, planned.unit), convert(planned.value, planned.unit)
    return number / middle if middle and number / middle > 0 else 0.0


def _near(value: float, planned: Plan) -> float:
    ratio = _ratio(value, planned)
    return abs(math.log(ratio)) if ratio > 0 else math.inf


def _slip(value: float, unit: str, planned: Plan) -> tuple[float, str] | None:
    """The same digits in another unit, or with the point elsewhere, that come near to the plan."""
    ratio = _ratio(value, planned)
    if ratio <= 0 or 1 / _FAR < ratio < _FAR:
        return None
    digits = convert(value, unit)
    offered = units_of(planned.name, planned.unit)
    in_unit = [(to_si(digits, each), each) for each in offered if each != pretty(unit)]
    moved = [(to_si(digits * factor, unit), unit) for factor in _POINTS]
    low, high = planned.band
    near = [each for each in (*in_unit, *moved) if _near(each[0], planned) <= math.log(_NEAR)]
    # What falls into the band is likelier than what comes near it; of two such, the same digits in another unit.
    inside = [each for each in near if low <= each[0] <= high]
    return next(iter(inside), None) or min(near, key=lambda each: _near(each[0], planned), default=None)
