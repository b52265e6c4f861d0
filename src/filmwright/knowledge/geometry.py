"""The geometry of a deposition tool: where its sources stand, how it holds the wafer, and how empty it gets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from filmwright.sources import Value

Motion = Literal["at rest", "turning", "planetary"]
"""Of the wafer: about its own middle, or about that and the axis of the tool."""

SourceKind = Literal["pocket", "gun"]


@dataclass(frozen=True, kw_only=True)
class SourcePlace:
    """A pocket of an evaporator or a gun of a sputter tool.

    Attributes
    ----------
    name : str
    kind : SourceKind
    holds : str
        Material in the pocket, or target on the gun; empty where it changes.
    values : mapping from name to Value
        Where it differs from the tool: ``throw``, ``offset`` …; ``volume`` of a pocket, ``most power`` of a gun.
    line : int
        Line of the lab file.
    """

    name: str
    kind: SourceKind
    holds: str = ""
    values: Mapping[str, Value] = field(default_factory=dict)
    line: int = 0


@dataclass(frozen=True, kw_only=True)
class Geometry:
    """What a lab says of one tool.

    Attributes
    ----------
    stage : Motion or ''
        Empty where the lab does not say.
    values : mapping from name to Value
        ``throw`` [m], ``source offset`` [m], ``source radius`` [m], ``cosine power``, ``wafer offset`` [m], ``tilt`` of the wafer
        [rad], ``base pressure`` [Pa] …; what is absent is taken from the facts as usual elsewhere.
    places : mapping from name to SourcePlace
        Pockets or guns.
    line : int
        Line of the lab file.
    """

    stage: Motion | Literal[""] = ""
    values: Mapping[str, Value] = field(default_factory=dict)
    places: Mapping[str, SourcePlace] = field(default_factory=dict)
    line: int = 0

    def holding(self, material: str) -> SourcePlace | None:
        """The one pocket or gun with a material; None where none or several have it."""
        found = [each for each in self.places.values() if each.holds == material]
        return found[0] if len(found) == 1 else None
