"""What an extraction says: each parameter with definition, error, window and, if need be, why not."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from filmwright import units

Bound = Literal["", "at least", "at most"]


_ROUNDING = 1e-12
"""A spread below this part of its value is what floats leave behind, not noise."""


@dataclass(frozen=True, kw_only=True)
class Geometry:
    """What is known about a device beside its curve; None where it is not known.

    Attributes
    ----------
    width, length : float [m] or None
    areal_capacitance : float [F/m²] or None
    temperature : float [K]
    gate : "", "dielectric" or "ionic"
        What the gate couples through; empty lets the data tell whether it looks ionic.
    contact_resistance, contact_resistance_std : float [Ω·m] or None
        Of one contact, normalised by the width (R·W), from a set of lengths, and its error.
    fringe : bool or None
        The channel film is wider than the contacts: current flows beside them and mobilities are overstated.
    """

    width: float | None = None
    length: float | None = None
    areal_capacitance: float | None = None
    temperature: float = units.ROOM_TEMPERATURE
    gate: Literal["", "dielectric", "ionic"] = ""
    contact_resistance: float | None = None
    contact_resistance_std: float | None = None
    fringe: bool | None = None

    def __post_init__(self) -> None:
        for name in ("contact_resistance", "contact_resistance_std"):
            value = getattr(self, name)
            if value is not None and not (math.isfinite(value) and value >= 0):
                raise ValueError(f"{name} must be finite and zero or above, got {value}")
        for name in ("width", "length", "areal_capacitance", "temperature"):
            value = getattr(self, name)
            if value is not None and not (math.isfinite(value) and value > 0):
                raise ValueError(f"{name} must be finite and above zero, got {value}")

    def missing(self) -> str:
        """What a mobility would need and is not known, in words; empty when all is known."""
        known = (("W", self.width), ("L", self.length), ("areal capacitance", self.areal_capacitance))
        return ", ".join(name for name, value in known if value is None)


@dataclass(frozen=True, kw_only=True)
class Parameter:
    """One parameter of one curve.

    Attributes
    ----------
    value : float [SI] or None
        None where nothing can be said.
    std : float [SI] or None
        From the noise in the data, such that the value ± 1.96 of it holds the truth in 95 of 100 cases (it is widened where the noise
        itself is known from few points); None where the data do not give it, or have no noise and
        only rounding would be told.
    unit : str
        In which it is printed.
    method : str
        The definition.
    window : tuple of float [V] or None
        Gate voltages between which it was read.
    valid : bool
    why_not : str
        Why it is not valid; empty when it is.
    bound : "", "at least" or "at most"
        The value is a bound only (it is then not valid as a value).
    interval : tuple of float [SI] or None
        Of 95 %, where it is not simply two standard deviations to both sides; an end may be infinite.
    window_unit : str
        Of the window, where it is not a gate voltage.
    note : str
        What else the value says, e.g. which way a hysteresis loop is run; mostly empty.
    """

    value: float | None
    std: float | None
    unit: str
    method: str
    window: tuple[float, float] | None
    valid: bool
    why_not: str = ""
    bound: Bound = ""
    interval: tuple[float, float] | None = None
    window_unit: str = "V"
    note: str = ""

    def __post_init__(self) -> None:
        if self.std is not None and self.value and self.std < _ROUNDING * abs(self.value):
            object.__setattr__(self, "std", None)

    def fields(self) -> dict[str, Any]:
        """The parameter for programs, in its printed unit."""
        found: dict[str, Any] = {
            "value": None if self.value is None else _printed(self.value, self.unit),
            "std": None if self.std is None else _printed(self.std, self.unit),
            "unit": self.unit,
            "method": self.method,
            "window": None
            if self.window is None
            else {
                "from": units.plain(self.window[0], self.window_unit),
                "to": units.plain(self.window[1], self.window_unit),
                "unit": self.window_unit,
            },
            "valid": self.valid,
            "why_not": self.why_not,
            "bound": self.bound,
            "note": self.note,
        }
        if self.interval is not None:
            ends = (_printed(end, self.unit) if math.isfinite(end) else None for end in self.interval)
            found["interval_95"] = list(ends)
        return found


def _printed(value: float, unit: str) -> float:
    return units.plain(value, unit.replace("/decade", ""))


@dataclass(frozen=True, kw_only=True)
class CurveResult:
    """All parameters of one transfer curve.

    Attributes
    ----------
    file, sweep : str
    drain_voltage, bulk_voltage : float [V] or None
    direction : "forward" or "backward"
        Forward turns the device on.
    type : "n" or "p"
    parameters : mapping from name to Parameter
    classes : mapping from class to evidence
        E.g. ``{"leaky gate": "the gate current is 12 % of the drain current at VG 6 V"}``.
    warnings : tuple of str
    """

    file: str
    sweep: str
    drain_voltage: float | None
    bulk_voltage: float | None = None
    direction: str
    type: Literal["n", "p"]
    parameters: Mapping[str, Parameter]
    classes: Mapping[str, str] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()

    def _repr_html_(self) -> str:
        from filmwright.measure.notebook_text import result_html

        return result_html(self)


def curve_fields(result: CurveResult) -> dict[str, Any]:
    """A curve's result for programs: JSON with the unit beside every number.

    Parameters
    ----------
    result : CurveResult

    Returns
    -------
    dict
    """
    return {
        "file": result.file,
        "sweep": result.sweep,
        "drain_voltage": result.drain_voltage,
        "bulk_voltage": result.bulk_voltage,
        "direction": result.direction,
        "type": result.type,
        "parameters": {name: parameter.fields() for name, parameter in result.parameters.items()},
        "classes": dict(result.classes),
        "warnings": list(result.warnings),
    }
