"""The devices that a die holds, read off its plan and nets, never declared.

* A **gap** is semiconductor that no conductor touches from above or below, between conductors that do. Between two nets it
  is a transistor if a gate conductor lies under or over it behind an insulator, else a resistor; between more nets a cross.
* ``W`` is the mean length of the two contact edges and ``L`` the gap's area over W. Where that L differs from the shortest
  distance between the contacts, current also flows around them: L is then that distance, W the length of the edges
  that face each other, and the device is marked ``fringe``.
* A **capacitor** is two conductors of different nets with only insulators between, unless both belong to one transistor.
* A **track** is one conductor with several taps (labels I or V and a number).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from filmwright.numerics import Region, facing, gap_between, length_of
from filmwright.units import to_si
from filmwright.wafer import plan_memo
from filmwright.wafer.column import Column
from filmwright.wafer.nets import Kind, Map, Nets, Node, Sets, behind, is_tap, terminal
from filmwright.wafer.plan import Plan
from filmwright.wafer.plan_cells import square_metres

DeviceKind = Literal["transistor", "resistor", "cross", "capacitor", "track"]
Stack = tuple[tuple[str, float], ...]
"""Materials and thicknesses [m], lowest first."""

SAME_LENGTH = 0.02
"""Two lengths of one gap that differ by less are one length (judgement)."""

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


@dataclass(frozen=True, kw_only=True)
class Devices:
    """All devices of a die.

    Attributes
    ----------
    found : tuple of Device
        Ordered by name, then place.
    """

    found: tuple[Device, ...]

    def of_kind(self, kind: DeviceKind) -> tuple[Device, ...]:
        """All devices of one kind."""
        return tuple(device for device in self.found if device.kind == kind)

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
        return next((device for device in self.found if device.name == name), None)

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


def read_devices(plan: Plan, kinds: Mapping[str, Kind], nets: Nets) -> Devices:
    """Read off every device of the die.

    Parameters
    ----------
    plan : Plan
    kinds : mapping from material to Kind
    nets : Nets
        Of the same plan, with its labels.
    """
    if set(kinds.items()) != set(nets.map.kinds.items()) or len(plan.cells) > len(nets.map.regions):
        raise ValueError("nets and kinds must be those of the plan")
    finder = _Finder(nets)
    devices = [finder.across_gap(gap) for gap in finder.gaps()]
    found = [device for device in devices if device is not None]
    found += finder.capacitors(found)
    found += finder.tracks()
    return Devices(found=tuple(sorted(found, key=lambda d: (d.name == "", d.name, d.kind, d.place))))


@dataclass(frozen=True)
class _Site:
    """A piece of the plan that has semiconductor: its place, what contacts it, and its gate."""

    semi: int
    contact: int | None
    gate: int | None
    gate_above: bool
    dielectric: Stack


@dataclass
class _Gap:
    """A connected gap and the contacts around it."""

    pieces: list[int]
    lines: dict[int, list[np.ndarray]] = field(default_factory=dict)
    contacts: dict[int, set[int]] = field(default_factory=dict)


def _stack(column: Column, places: Sequence[int]) -> Stack:
    return tuple((column.layers[k].material, column.layers[k].thickness) for k in places)


class _Finder:
    """Looks for devices on one die."""

    def __init__(self, nets: Nets) -> None:
        self.nets = nets
        self.map: Map = nets.map
        self.labels = {net.number: net.labels for net in nets.nets}
        self.sites = {
            piece: site for piece in range(len(self.map.columns)) if (site := self._site(piece)) is not None
        }

    def _site(self, piece: int) -> _Site | None:
        column = self.map.columns[piece]
        kinds = self.map.kinds_at[piece]
        semis = [k for k, kind in enumerate(kinds) if kind == "semiconductor" and k > 0]
        if not semis:
            return None
        semi = semis[-1]
        bottom = semi
        while bottom > 1 and kinds[bottom - 1] == "semiconductor":
            bottom -= 1
        above = semi + 1 if semi + 1 < len(kinds) and kinds[semi + 1] == "conductor" else None
        below = bottom - 1 if kinds[bottom - 1] == "conductor" else None
        contact = above if above is not None else below
        foot, head = self._past(kinds, bottom, -1), self._past(kinds, semi, +1)
        down, up = self._through(kinds, foot, -1), self._through(kinds, head, +1)
        gate = down if down is not None else up
        between: Sequence[int] = ()
        if gate is not None:
            between = range(gate + 1, foot) if gate < semi else range(head + 1, gate)
        return _Site(
            semi=semi,
            contact=None if contact is None else self.nets.net_at((piece, contact)),
            gate=None if gate is None else self.nets.net_at((piece, gate)),
            gate_above=gate is not None and gate > semi,
            dielectric=_stack(column, between),
        )

    @staticmethod
    def _past(kinds: Sequence[Kind], start: int, step: int) -> int:
        """The last layer of the contact that lies on a semiconductor; the semiconductor where there is none."""
        place = start
        while 0 <= place + step < len(kinds) and kinds[place + step] == "conductor":
            place += step
        return place

    @staticmethod
    def _through(kinds: Sequence[Kind], start: int, step: int) -> int | None:
        """The first conductor behind insulators, if nothing else lies between."""
        place = behind(kinds, start, step)
        return place if place is not None and kinds[place] == "conductor" else None

    def gaps(self) -> list[_Gap]:
        """Connected pieces of semiconductor without contact, with the contacts around each."""
        free = {piece for piece, site in self.sites.items() if site.contact is None}
        sets = Sets((piece, 0) for piece in free)
        rims = []
        for border, touches in self.map.across:
            for one, other in touches:
                if self._is_semi(one) and self._is_semi(other) and one[0] in free and other[0] in free:
                    sets.join((one[0], 0), (other[0], 0))
            rims += [(border, *rim) for rim in self._rims(border.first, border.second, touches, free)]
        gaps = [_Gap([node[0] for node in nodes]) for nodes in sets.groups()]
        home = {piece: gap for gap in gaps for piece in gap.pieces}
        for border, piece, net, contact in rims:
            gap = home[piece]
            gap.lines.setdefault(net, []).append(border.lines)
            gap.contacts.setdefault(net, set()).add(contact)
        return gaps

    def _is_semi(self, node: Node) -> bool:
        site = self.sites.get(node[0])
        return site is not None and self.map.kind(node) == "semiconductor" and node[1] > 0

    def _rims(
        self, first: int, second: int, touches: Sequence[tuple[Node, Node]], free: set[int]
    ) -> set[tuple[int, int, int]]:
        """Free piece, contact net and contact piece for each side of a border that has one."""
        found = set()
        for pair in touches:
            for gap, other in (pair, pair[::-1]):
                if gap[0] not in free or not self._is_semi(gap):
                    continue
                if self._is_semi(other):
                    net = self.sites[other[0]].contact
                elif self.map.kind(other) == "conductor":
                    net = self.nets.net_at(other)
                else:
                    net = None
                if net is not None:
                    found.add((gap[0], net, other[0]))
        return found

    def across_gap(self, gap: _Gap) -> Device | None:
        """The device that a gap makes, if it lies between at least two nets, or between parts of one that it shorts."""
        if len(gap.lines) < 2:
            return None
        area = sum(self.map.regions[piece].area for piece in gap.pieces)
        main = max(gap.pieces, key=lambda piece: self.map.regions[piece].area)
        nets, name = self._ordered(list(gap.lines), self._gate_of(gap))
        place = _middle([self.map.regions[piece] for piece in gap.pieces])
        if len(nets) > 2:
            roles = {f"end {k}": net for k, net in enumerate(nets, start=1)}
            return self._device(
                "cross", name, roles, place=place, area=square_metres(area), semiconductor=self._semi(main)
            )
        return self._two_ended(gap, nets, name, place, area)

    def _two_ended(
        self, gap: _Gap, nets: Sequence[int], name: str, place: tuple[float, float], area: float
    ) -> Device:
        lines = [np.vstack(gap.lines[net]) for net in nets]
        width, length, fringe = channel_size(lines[0], lines[1], area)
        gate = self._gate_of(gap)
        gated = [piece for piece in gap.pieces if gate is not None and self.sites[piece].gate == gate]
        main = max(gated or gap.pieces, key=lambda piece: self.map.regions[piece].area)
        roles = dict(zip(("source", "drain"), nets, strict=True))
        overlaps = {}
        if gate is not None:
            roles = {"gate": gate, **roles}
            for role, net in zip(("source", "drain"), nets, strict=True):
                reach = sum(
                    self.map.regions[p].area
                    for p in gap.contacts[net]
                    if p in self.sites and self.sites[p].gate == gate
                )
                overlaps[role] = to_si(reach / width, "nm") if width else 0.0
        return self._device(
            "transistor" if gate is not None else "resistor",
            name,
            roles,
            place=place,
            towards=_direction(lines[0], lines[1]),
            area=square_metres(area),
            width=to_si(width, "nm"),
            length=to_si(length, "nm"),
            fringe=fringe,
            overlaps=overlaps,
            gated=sum(self.map.regions[piece].area for piece in gated) / area,
            gate_above=self.sites[main].gate_above,
            dielectric=self.sites[main].dielectric,
            semiconductor=self._semi(main),
        )

    def _gate_of(self, gap: _Gap) -> int | None:
        """The gate that covers most of a gap."""
        areas: dict[int, float] = {}
        for piece in gap.pieces:
            gate = self.sites[piece].gate
            if gate is not None:
                areas[gate] = areas.get(gate, 0.0) + self.map.regions[piece].area
        return max(sorted(areas), key=lambda gate: areas[gate]) if areas else None

    def _semi(self, piece: int) -> Stack:
        column = self.map.columns[piece]
        kinds = self.map.kinds
        return _stack(
            column, [k for k, f in enumerate(column.layers) if k and kinds[f.material] == "semiconductor"]
        )

    def _ordered(self, ends: Sequence[int], gate: int | None) -> tuple[list[int], str]:
        """Contact nets in the order of their terminals (source before drain), and the device's name."""
        name = self._name([*ends, *([] if gate is None else [gate])]) or self._name(ends)

        def rank(net: int) -> tuple[bool, str, int]:
            end = self._terminal(net, name)
            return end == "D", end, net

        return sorted(ends, key=rank), name

    def _name(self, nets: Sequence[int]) -> str:
        """The one device name that all nets carry, else empty."""
        names = [{terminal(label)[0] for label in self.labels[net]} for net in nets]
        common = set.intersection(*names) if names else set()
        return min(common) if common else ""

    def _terminal(self, net: int, name: str) -> str:
        return next((terminal(label)[1] for label in self.labels[net] if terminal(label)[0] == name), "")

    def _device(self, kind: DeviceKind, name: str, nets: Mapping[str, int], **what: object) -> Device:
        roles = list(nets)
        shorts = tuple((a, b) for k, a in enumerate(roles) for b in roles[k + 1 :] if nets[a] == nets[b])
        terminals = {role: self._terminal(net, name) for role, net in nets.items()}
        return Device(kind=kind, name=name, terminals=terminals, nets=dict(nets), shorts=shorts, **what)  # type: ignore[arg-type]

    def capacitors(self, transistors: Sequence[Device]) -> list[Device]:
        """Two conductors of different nets with only insulators between."""
        own = [set(device.nets.values()) for device in transistors if device.kind == "transistor"]
        plates: dict[tuple[int, int, Stack], list[int]] = {}
        for piece, column in enumerate(self.map.columns):
            kinds = self.map.kinds_at[piece]
            for low, kind in enumerate(kinds):
                high = self._through(kinds, low, +1) if kind == "conductor" else None
                if high is None:
                    continue
                nets = self.map.net_of[piece, low], self.map.net_of[piece, high]
                if nets[0] != nets[1] and not any(set(nets) <= taken for taken in own):
                    plates.setdefault((*nets, _stack(column, range(low + 1, high))), []).append(piece)
        found = []
        for (bottom, top, dielectric), where in plates.items():
            region = plan_memo.joined([self.map.regions[piece] for piece in where])
            found.append(
                self._device(
                    "capacitor",
                    self._name([bottom, top]),
                    {"bottom": bottom, "top": top},
                    place=_middle([region]),
                    area=square_metres(region.area),
                    perimeter=to_si(region.perimeter, "nm"),
                    dielectric=dielectric,
                )
            )
        return found

    def tracks(self) -> list[Device]:
        """Conductors with several taps."""
        found = []
        for net in self.nets.nets:
            taps: dict[str, list[str]] = {}
            for label in net.labels:
                name, end = terminal(label)
                if is_tap(end):
                    taps.setdefault(name, []).append(end)
            for name, ends in taps.items():
                if len(ends) < 2:
                    continue
                region = plan_memo.joined(
                    [self.map.regions[piece] for piece in sorted({node[0] for node in net.nodes})]
                )
                found.append(
                    Device(
                        kind="track",
                        name=name,
                        terminals={f"end {k}": end for k, end in enumerate(sorted(ends), start=1)},
                        nets={f"end {k}": net.number for k in range(1, len(ends) + 1)},
                        place=_middle([region]),
                        area=square_metres(region.area),
                        perimeter=to_si(region.perimeter, "nm"),
                    )
                )
        return found


def channel_size(source: np.ndarray, drain: np.ndarray, area: float) -> tuple[float, float, bool]:
    """Width and length of a gap between two contact edges, and whether current flows around them.

    Parameters
    ----------
    source, drain : array (n, 4) [nm]
        The contact edges as straight pieces.
    area : float [nm²]

    Returns
    -------
    width, length : float [nm]
    fringe : bool
    """
    width = (length_of(source) + length_of(drain)) / 2
    length = area / width
    nearest = gap_between(source, drain)
    if abs(length - nearest) <= SAME_LENGTH * nearest:
        return width, length, False
    reach = nearest * (1 + 1e-6)
    faced = (facing(source, drain, reach) + facing(drain, source, reach)) / 2
    if faced < SAME_LENGTH * width:
        # They are near each other only at corners: no straight channel, the mean is all that can be said.
        return width, length, True
    return faced, nearest, area > faced * nearest * (1 + SAME_LENGTH)


def _direction(source: np.ndarray, drain: np.ndarray) -> tuple[float, float]:
    """Unit vector from one contact edge to the other."""
    ends = [lines.reshape(-1, 2).mean(axis=0) for lines in (source, drain)]
    along = ends[1] - ends[0]
    size = float(np.hypot(*along))
    return (float(along[0] / size), float(along[1] / size)) if size > 0 else (1.0, 0.0)


def _middle(regions: Sequence[Region]) -> tuple[float, float]:
    boxes = np.array([region.bounds for region in regions])
    x0, y0 = boxes[:, :2].min(axis=0)
    x1, y1 = boxes[:, 2:].max(axis=0)
    return float(x0 + x1) / 2, float(y0 + y1) / 2
