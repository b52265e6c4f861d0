"""Facts that are more than one number, and the two ways of having none."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from filmwright.sources import Source

Nothing = Literal["does not apply", "not known"]
State = Literal["gas", "liquid", "solid"]


@dataclass(frozen=True, kw_only=True)
class Absence:
    """That there is no number, said aloud: two different things.

    Attributes
    ----------
    says : Nothing
        ``does not apply``: the question has no answer for this thing. ``not known``: it has one, and nobody
        wrote it down here.
    why : str
    """

    says: Nothing
    why: str


@dataclass(frozen=True, kw_only=True)
class VapourCurve:
    """Vapour pressure over one phase: log₁₀(p / 101 325 Pa) = A + B/T + C·log₁₀T + D·T/1000.

    Attributes
    ----------
    phase : 'solid' or 'liquid'
    coefficients : (A, B, C, D)
        B in K.
    low, high : float [K]
        Range in which the published equation holds.
    source : Source
    """

    phase: Literal["solid", "liquid"]
    coefficients: tuple[float, float, float, float]
    low: float
    high: float
    source: Source


@dataclass(frozen=True, kw_only=True)
class YieldCoefficients:
    """What an empirical law of sputtering takes for one target.

    Attributes
    ----------
    law : str
        Author and year of the equation, e.g. ``Yamamura 1996``.
    ion : str
    coefficients : mapping from name in the publication to float [SI]
    low, high : float [J]
        Energies for which it was fitted.
    source : Source
    """

    law: str
    ion: str
    coefficients: Mapping[str, float]
    low: float
    high: float
    source: Source


@dataclass(frozen=True, kw_only=True)
class Exposure:
    """A number that somebody set or found: a limit of exposure or of flammability, an alarm, a warming potential.

    Attributes
    ----------
    what : str
        Who set it and over which time, e.g. ``NIOSH, 8 h average``.
    value : float
        A part of the air by volume, kg/m³, or a plain number, as ``unit`` says.
    unit : str
    source : Source
    """

    what: str
    value: float
    unit: str
    source: Source


@dataclass(frozen=True, kw_only=True)
class Substance:
    """A chemical or gas and how it is classified; the site's own safety data sheet goes first.

    Attributes
    ----------
    name : str
    formula : str
    registry_number : str
        Number in the registry of chemical abstracts.
    state : State
        As it is supplied.
    classes : tuple of str
        Hazard classes and categories of the globally harmonised system, e.g. ``Acute Tox. 2 (inhaled)``.
    phrases : tuple of str
        Hazard statements by number, e.g. ``H330``.
    classified_by : Source
    limits : tuple of Exposure or Absence
    alarm : Exposure or Absence
        Level at which a gas alarm is usually set.
    flammable : tuple of Exposure or Absence
        Lower and upper limit in air.
    never_with : tuple of str
        What it must never meet.
    warming : Exposure or Absence
        Global warming potential over a hundred years, relative to carbon dioxide.
    condition : str
        For which strength the classification holds.
    """

    name: str
    formula: str
    registry_number: str
    state: State
    classes: tuple[str, ...]
    phrases: tuple[str, ...]
    classified_by: Source
    limits: tuple[Exposure, ...] | Absence
    alarm: Exposure | Absence
    flammable: tuple[Exposure, ...] | Absence
    warming: Exposure | Absence
    never_with: tuple[str, ...] = ()
    condition: str = ""
