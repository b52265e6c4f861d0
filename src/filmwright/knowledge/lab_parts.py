"""Parts of the lab's own file that stand beside its tools: axes of admission, recipes, maintenance."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from filmwright.units import Quantity

FAMILY_AXIS = "material family"
"""The axis that ``refuses:`` speaks of: each family that some tool refuses is a class of it."""


@dataclass(frozen=True, kw_only=True)
class AdmissionClass:
    """A class of wafers on an axis that the site defines, and what puts a wafer into it.

    A wafer may be in several classes of one axis at a time; a tool must admit every one of them.

    Attributes
    ----------
    axis, name : str
    materials : frozenset of str
        Names; a wafer on which one of them is uncovered, at its edge and on its back too, is in the class.
    families : frozenset of str
        Of materials, likewise.
    baths : frozenset of str
        Names of media: a wafer that was in one of them stays in the class.
    also_covered : bool
        Whether materials count that lie covered, too.
    cleared_by : frozenset of str
        Names of media that take a wafer out of the class again, where a tool or a bath put it there.
    otherwise : bool
        Whether it is the class of a wafer that is in no other class of the axis.
    line : int
        Line of the lab file.
    """

    axis: str
    name: str
    materials: frozenset[str] = frozenset()
    families: frozenset[str] = frozenset()
    baths: frozenset[str] = frozenset()
    also_covered: bool = False
    cleared_by: frozenset[str] = frozenset()
    otherwise: bool = False
    line: int = 0


@dataclass(frozen=True, kw_only=True)
class ToolRecipe:
    """A named recipe of a tool: what it sets.

    Attributes
    ----------
    name : str
    material, medium : str
        What it is for; empty where it does not matter.
    settings : mapping from setting to Quantity
        ``temperature``, ``pressure``, ``power``, ``time`` …, and ``argon flow`` of each of its gases; what stands behind ± is how far
        a plan may be off it.
    note : str
    line : int
    """

    name: str
    material: str = ""
    medium: str = ""
    settings: Mapping[str, Quantity] = field(default_factory=dict)
    note: str = ""
    line: int = 0


@dataclass(frozen=True, kw_only=True)
class Maintenance:
    """Once that a tool was opened, cleaned or repaired: what was measured before holds no longer.

    Attributes
    ----------
    date : str
        ISO date.
    done : str
        What was done.
    by : str
    line : int
    """

    date: str
    done: str
    by: str = ""
    line: int = 0
