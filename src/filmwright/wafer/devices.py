"""The devices that a die holds, read off its plan and nets, never declared.

* A **gap** is semiconductor that no conductor touches from above or below, between conductors that do. Between two nets it
  is a transistor if a gate conductor lies under or over it behind an insulator, else a resistor. Between more nets it is a
  cross if it has the ends and the shape of one, else a film between contacts (kind ``film``), as that under finger pairs.
* ``W`` is the mean length of the two contact edges and ``L`` the gap's area over W. Where that L differs from the shortest
  distance between the contacts, current also flows around them: L is then that distance, W the length of the edges
  that face each other, and the device is marked ``fringe``.
* A **capacitor** is two conductors of different nets with only insulators between, unless both belong to one transistor.
* A **track** is one conductor with several taps (labels I or V and a number). Where one line of one width joins its two wide
  ends, its width and length follow from its area and perimeter.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

from filmwright.wafer.devices_gaps import Stack

DeviceKind = Literal["transistor", "resistor", "cross", "film", "capacitor", "track"]
COVERED = 0.99
"""A channel of which the gate covers less cannot be turned on along its whole length (judgement)."""


@dataclass(frozen=True, kw_only=True)
class Device:
    """One device.

    Attributes
    ----------
    kind : DeviceKind
    name : str
        From the labels on its nets; empty when they do not agree on one.
    terminals : mapping from role to terminal
        Roles ``gate``, ``source``, ``drain``; ``top``, ``bottom``; ``end 1``, ``end 2`` …; empty text: no label of this device.
    nets : mapping from role to net number
    place : (x, y) [nm]
        Middle of the channel, gap or plate.
    towards : (dx, dy)
        From source to drain, length 1; (1, 0) where there is none.
    area : float [m²]
    width, length : float or None [m]
    overlaps : mapping from role to float [m]
        Length along the channel by which the gate reaches under source and drain.
    fringe : bool
        Semiconductor beside the contacts carries current too.
    gated : float
        Part of the channel that the gate covers.
    gate_above : bool
    dielectric, semiconductor : Stack
    perimeter : float or None [m]
    shorts : tuple of (role, role)
        Terminals that are one net.
    line : (width, length) or None [m]
        Of a track, where one line of one width joins its two wide ends; the length runs along the middle of the line.
    """

    kind: DeviceKind
    name: str
    terminals: Mapping[str, str]
    nets: Mapping[str, int]
    place: tuple[float, float]
    area: float
    towards: tuple[float, float] = (1.0, 0.0)
    width: float | None = None
    length: float | None = None
    overlaps: Mapping[str, float] = field(default_factory=dict)
    fringe: bool = False
    gated: float = 0.0
    gate_above: bool = False
    dielectric: Stack = ()
    semiconductor: Stack = ()
    perimeter: float | None = None
    shorts: tuple[tuple[str, str], ...] = ()
    line: tuple[float, float] | None = None

    @property
    def squares(self) -> float | None:
        """L/W of the line of a track; None where it is not known. A right-angled bend counts as a whole square."""
        return self.line[1] / self.line[0] if self.line else None


@dataclass(frozen=True, kw_only=True)
class Devices:
    """All devices of a die.

    Attributes
    ----------
    found : tuple of Device
        Ordered by name, then place.
    """

    found: tuple[Device, ...]

    @cached_property
    def _of_kind(self) -> dict[str, tuple[Device, ...]]:
        kinds = dict.fromkeys(device.kind for device in self.found)
        return {kind: tuple(device for device in self.found if device.kind == kind) for kind in kinds}

    @cached_property
    def _named(self) -> dict[str, Device]:
        return {device.name: device for device in reversed(self.found)}

    def of_kind(self, kind: DeviceKind) -> tuple[Device, ...]:
        """All devices of one kind."""
        return self._of_kind.get(kind, ())

    @property
    def transistors(self) -> tuple[Device, ...]:
        """All transistors, gated gaps of transfer-length sets included."""
        return self.of_kind("transistor")

    @property
    def capacitors(self) -> tuple[Device, ...]:
        """All capacitors."""
        return self.of_kind("capacitor")

    def named(self, name: str) -> Device | None:
        """The device with a name."""
        return self._named.get(name)

    def working(self, kind: DeviceKind, terminals: Mapping[str, str]) -> tuple[Device, ...]:
        """Devices without a short whose roles carry the terminals asked for.

        Source and drain are the same kind of contact and may be exchanged. A transistor must be gated along its whole
        channel (:data:`COVERED`).
        """
        return tuple(
            d
            for d in self.of_kind(kind)
            if not d.shorts and (d.kind != "transistor" or d.gated >= COVERED) and _answers(d, terminals)
        )


def _answers(device: Device, terminals: Mapping[str, str]) -> bool:
    ends = {"source", "drain"}
    asked = sorted(text for role, text in terminals.items() if role in ends)
    there = sorted(text for role, text in device.terminals.items() if role in ends)
    if len(asked) == 1:
        there = asked if asked[0] in there else there
    rest = {role: text for role, text in terminals.items() if role not in ends}
    return asked == (there if asked else asked) and all(
        device.terminals.get(role) == text for role, text in rest.items()
    )
