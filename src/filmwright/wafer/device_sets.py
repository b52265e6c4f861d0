"""Sets of devices that are measured together: gaps of one width and different lengths, and crosses for the sheet resistance."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from filmwright.units import convert
from filmwright.wafer.devices import COVERED, Device, Devices
from filmwright.wafer.nets import is_tap

SAME = 0.02
"""Two widths or lengths that differ by less are one (judgement)."""

FEWEST = 3
"""Lengths needed for a line with a residual."""

COMPACT = 2e-3
"""Area over squared perimeter from which on one with four ends is a cross, not a line to and fro or a film under fingers (judgement)."""

_TAPS = 4


@dataclass(frozen=True, kw_only=True)
class LengthSet:
    """Gaps of one width and different lengths: the resistance over the length tells contacts from channel.

    Attributes
    ----------
    name : str
        Of the devices where they share one; empty otherwise.
    arranged : 'row' or 'apart'
        ``row``: neighbours share a contact. ``apart``: each has contacts of its own.
    gated : bool
        A gate turns the gaps on; else they are resistors.
    width : float [m]
        Mean of the members.
    members : tuple of Device
        Shortest first.
    """

    name: str
    arranged: Literal["row", "apart"]
    gated: bool
    width: float
    members: tuple[Device, ...]

    @property
    def lengths(self) -> tuple[float, ...]:
        """The different lengths [m], shortest first."""
        return _different(each.length or 0.0 for each in self.members)


def length_sets(devices: Devices) -> tuple[LengthSet, ...]:
    """Every set of a die: rows first, then devices that stand apart and are alike but for their length.

    Only gaps without a short count, and of transistors those that are gated along their whole channel.

    Parameters
    ----------
    devices : Devices
        Of one die.
    """
    gaps = [each for each in devices.found if _is_gap(each)]
    rows = [row for row in _rows(gaps) if _telling(row)]
    placed = {id(member) for row in rows for member in row}
    alike: dict[tuple[object, ...], list[Device]] = {}
    for each in gaps:
        if id(each) not in placed:
            films = tuple(m for m, _ in (*each.semiconductor, *each.dielectric))
            alike.setdefault((each.kind, films, each.gate_above), []).append(each)
    apart = [group for each in alike.values() for group in _of_one_width(each) if _telling(group)]
    return tuple(
        sorted(
            [_set(row, "row") for row in rows] + [_set(group, "apart") for group in apart],
            key=lambda each: (each.arranged != "row", each.name, each.gated, each.width),
        )
    )


def sheet_crosses(devices: Devices) -> tuple[Device, ...]:
    """Structures with four ends for the sheet resistance after van der Pauw.

    Crosses of a semiconductor whose ends are taps or have no name, and compact conductors with four taps.

    Parameters
    ----------
    devices : Devices
        Of one die.
    """
    return tuple(
        each
        for each in devices.found
        if each.kind in ("cross", "track")
        and is_sheet_cross(tuple(each.terminals.values()), each.area, each.perimeter or 0.0)
    )


def is_sheet_cross(ends: Sequence[str], area: float, perimeter: float) -> bool:
    """Whether a film has the ends and the shape of a structure for the sheet resistance after van der Pauw.

    Parameters
    ----------
    ends : sequence of str
        Terminals; empty where one has no name.
    area : float [m²]
    perimeter : float [m]
    """
    taps = len(ends) == _TAPS and all(is_tap(end) or not end for end in ends)
    return taps and perimeter > 0 and area > COMPACT * perimeter**2


def _is_gap(device: Device) -> bool:
    if not device.width or not device.length or device.shorts:
        return False
    return device.kind == "resistor" or (device.kind == "transistor" and device.gated >= COVERED)


def _near(one: float, other: float) -> bool:
    return abs(one - other) <= SAME * max(one, other)


def _different(values: Iterable[float]) -> tuple[float, ...]:
    found: list[float] = []
    for value in sorted(values):
        if not found or not _near(found[-1], value):
            found.append(value)
    return tuple(found)


def _telling(members: Sequence[Device]) -> bool:
    return len(_different(each.length or 0.0 for each in members)) >= FEWEST


def _rows(gaps: Sequence[Device]) -> list[list[Device]]:
    """Gaps linked by a contact that two of them share in one line."""
    by_net: dict[int, list[int]] = {}
    for k, each in enumerate(gaps):
        for role in ("source", "drain"):
            by_net.setdefault(each.nets[role], []).append(k)
    home = list(range(len(gaps)))

    def root(k: int) -> int:
        while home[k] != k:
            home[k] = home[home[k]]
            k = home[k]
        return k

    for members in by_net.values():
        # A line common to a whole array joins thousands of gaps: only those beside each other across their axis are compared.
        ordered = sorted(members, key=lambda k: _axis(gaps[k]))
        for at, one in enumerate(ordered):
            reach = SAME * convert(gaps[one].width or 0.0, "nm")
            for other in ordered[at + 1 :]:
                (turn, aside), (turn2, aside2) = _axis(gaps[one]), _axis(gaps[other])
                if turn2 != turn or aside2 - aside > reach:
                    break
                if _in_line(gaps[one], gaps[other]):
                    home[root(other)] = root(one)
    rows: dict[int, list[Device]] = {}
    for k, each in enumerate(gaps):
        rows.setdefault(root(k), []).append(each)
    return list(rows.values())


def _axis(device: Device) -> tuple[float, float]:
    """Direction of a gap, to a hundredth of a radian and without its sense, and how far its axis passes the origin [nm]."""
    dx, dy = device.towards
    turn = round(math.atan2(dy, dx) % math.pi, 2) % round(math.pi, 2)
    x, y = device.place
    return turn, y * math.cos(turn) - x * math.sin(turn)


def _in_line(one: Device, other: Device) -> bool:
    """Whether two gaps have one kind and one width; that they share an axis and a contact is known."""
    return one.kind == other.kind and _near(one.width or 0.0, other.width or 0.0)


def _of_one_width(members: Sequence[Device]) -> list[list[Device]]:
    groups: list[list[Device]] = []
    for each in sorted(members, key=lambda device: device.width or 0.0):
        if groups and _near(groups[-1][0].width or 0.0, each.width or 0.0):
            groups[-1].append(each)
        else:
            groups.append([each])
    return groups


def _set(members: Sequence[Device], arranged: Literal["row", "apart"]) -> LengthSet:
    names = {each.name for each in members}
    return LengthSet(
        name=min(names) if len(names) == 1 else "",
        arranged=arranged,
        gated=members[0].kind == "transistor",
        width=sum(each.width or 0.0 for each in members) / len(members),
        members=tuple(sorted(members, key=lambda each: (each.length or 0.0, each.name, each.place))),
    )
