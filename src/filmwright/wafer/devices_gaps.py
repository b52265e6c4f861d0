"""The gaps of a board: semiconductor between contacts, with its size, its gate and what lies between."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from filmwright.numerics import Region, facing, gap_between, length_of
from filmwright.units import to_si
from filmwright.wafer import plan_memo
from filmwright.wafer.column import Column
from filmwright.wafer.nets_board import Board, Kind, Node, Sets, behind
from filmwright.wafer.plan_cells import square_metres

Stack = tuple[tuple[str, float], ...]
"""Materials and thicknesses [m], lowest first."""

SAME_LENGTH = 0.02
"""Two lengths of one gap that differ by less are one length (judgement)."""


@dataclass(frozen=True)
class Site:
    """A piece of the plan that has semiconductor: its place, what contacts it, and its gate."""

    semi: int
    contact: int | None
    gate: int | None
    gate_above: bool
    dielectric: Stack


@dataclass
class Gap:
    """A connected gap and the contacts around it: pieces, and for each net the contact edges and the contact pieces."""

    pieces: list[int]
    lines: dict[int, list[np.ndarray]] = field(default_factory=dict)
    contacts: dict[int, set[int]] = field(default_factory=dict)


def stack_of(column: Column, places: Sequence[int]) -> Stack:
    """Materials and thicknesses of some layers of a column."""
    return tuple((column.layers[k].material, column.layers[k].thickness) for k in places)


def past(kinds: Sequence[Kind], start: int, step: int) -> int:
    """The last layer of the contact that lies on a semiconductor; the semiconductor where there is none."""
    place = start
    while 0 <= place + step < len(kinds) and kinds[place + step] == "conductor":
        place += step
    return place


def through(kinds: Sequence[Kind], start: int, step: int) -> int | None:
    """The first conductor behind insulators, if nothing else lies between."""
    place = behind(kinds, start, step)
    return place if place is not None and kinds[place] == "conductor" else None


class Finder:
    """Looks for gaps on one board, with given nets.

    Parameters
    ----------
    board : Board
    nets : mapping from Node to net number
        Of every conductor.
    """

    def __init__(self, board: Board, nets: Mapping[Node, int]) -> None:
        self.board = board
        self.nets = nets
        self.sites = {
            piece: site for piece in range(len(board.columns)) if (site := self._site(piece)) is not None
        }
        self.gaps = self._gaps()
        self._sizes: dict[tuple[int, tuple[int, ...]], dict[str, Any]] = {}

    def _site(self, piece: int) -> Site | None:
        column = self.board.columns[piece]
        kinds = self.board.kinds_at[piece]
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
        foot, head = past(kinds, bottom, -1), past(kinds, semi, +1)
        down, up = through(kinds, foot, -1), through(kinds, head, +1)
        gate = down if down is not None else up
        between: Sequence[int] = ()
        if gate is not None:
            between = range(gate + 1, foot) if gate < semi else range(head + 1, gate)
        return Site(
            semi=semi,
            contact=None if contact is None else self.nets[piece, contact],
            gate=None if gate is None else self.nets[piece, gate],
            gate_above=gate is not None and gate > semi,
            dielectric=stack_of(column, between),
        )

    def _gaps(self) -> list[Gap]:
        """Connected pieces of semiconductor without contact, with the contacts around each; those between fewer than two nets left out."""
        free = {piece for piece, site in self.sites.items() if site.contact is None}
        sets = Sets((piece, 0) for piece in free)
        rims = []
        for border, touches in self.board.across:
            for one, other in touches:
                if self._is_semi(one) and self._is_semi(other) and one[0] in free and other[0] in free:
                    sets.join((one[0], 0), (other[0], 0))
            rims += [(border, *rim) for rim in self._rims(touches, free)]
        gaps = [Gap([node[0] for node in nodes]) for nodes in sets.groups()]
        home = {piece: gap for gap in gaps for piece in gap.pieces}
        for border, piece, net, contact in rims:
            gap = home[piece]
            gap.lines.setdefault(net, []).append(border.lines)
            gap.contacts.setdefault(net, set()).add(contact)
        return [gap for gap in gaps if len(gap.lines) > 1]

    def _is_semi(self, node: Node) -> bool:
        return node[0] in self.sites and self.board.kind(node) == "semiconductor" and node[1] > 0

    def _rims(self, touches: Sequence[tuple[Node, Node]], free: set[int]) -> set[tuple[int, int, int]]:
        """Free piece, contact net and contact piece for each side of a border that has one."""
        found = set()
        for pair in touches:
            for gap, other in (pair, pair[::-1]):
                if gap[0] not in free or not self._is_semi(gap):
                    continue
                if self._is_semi(other):
                    net = self.sites[other[0]].contact
                elif self.board.kind(other) == "conductor":
                    net = self.nets[other]
                else:
                    net = None
                if net is not None:
                    found.add((gap[0], net, other[0]))
        return found

    def gate_of(self, gap: Gap) -> int | None:
        """The gate that covers most of a gap."""
        areas: dict[int, float] = {}
        for piece in gap.pieces:
            gate = self.sites[piece].gate
            if gate is not None:
                areas[gate] = areas.get(gate, 0.0) + self.board.areas[piece]
        return max(sorted(areas), key=lambda gate: areas[gate]) if areas else None

    def size(self, number: int, ends: tuple[int, ...]) -> dict[str, Any]:
        """The numbers of a gap as fields of a device.

        Parameters
        ----------
        number : int
            Of the gap.
        ends : tuple of int
            Its nets in order, source before drain.
        """
        key = number, ends
        if key not in self._sizes:
            gap = self.gaps[number]
            self._sizes[key] = self._crossed(gap) if len(ends) > 2 else self._two_ended(gap, ends)
        return self._sizes[key]

    def _crossed(self, gap: Gap) -> dict[str, Any]:
        areas = self.board.areas
        regions = [self.board.regions[piece] for piece in gap.pieces]
        return {
            "place": middle_of(regions),
            "area": square_metres(sum(areas[piece] for piece in gap.pieces)),
            "perimeter": to_si(plan_memo.joined(regions).perimeter, "nm"),
            "semiconductor": self._semi(max(gap.pieces, key=lambda piece: areas[piece])),
        }

    def _two_ended(self, gap: Gap, ends: Sequence[int]) -> dict[str, Any]:
        areas = self.board.areas
        area = sum(areas[piece] for piece in gap.pieces)
        lines = [np.vstack(gap.lines[net]) for net in ends]
        width, length, fringe = channel_size(lines[0], lines[1], area)
        gate = self.gate_of(gap)
        gated = [piece for piece in gap.pieces if gate is not None and self.sites[piece].gate == gate]
        main = max(gated or gap.pieces, key=lambda piece: areas[piece])
        overlaps = {}
        if gate is not None:
            for role, net in zip(("source", "drain"), ends, strict=True):
                reach = sum(
                    areas[p] for p in gap.contacts[net] if p in self.sites and self.sites[p].gate == gate
                )
                overlaps[role] = to_si(reach / width, "nm") if width else 0.0
        return {
            "place": middle_of([self.board.regions[piece] for piece in gap.pieces]),
            "towards": direction(lines[0], lines[1]),
            "area": square_metres(area),
            "width": to_si(width, "nm"),
            "length": to_si(length, "nm"),
            "fringe": fringe,
            "overlaps": overlaps,
            "gated": self._gated(gap, gated, between(lines[0], lines[1], length) if fringe else None),
            "gate_above": self.sites[main].gate_above,
            "dielectric": self.sites[main].dielectric,
            "semiconductor": self._semi(main),
        }

    def _gated(self, gap: Gap, gated: Sequence[int], channel: Region | None) -> float:
        """The part of a gap that lies over the gate; of its straight channel alone where one is given."""

        def area(pieces: Sequence[int]) -> float:
            if channel is None or channel.empty:
                return sum(self.board.areas[piece] for piece in pieces)
            return sum(self.board.regions[piece].intersection(channel).area for piece in pieces)

        whole = area(gap.pieces)
        return area(gated) / whole if whole else 0.0

    def _semi(self, piece: int) -> Stack:
        column, kinds = self.board.columns[piece], self.board.kinds_at[piece]
        return stack_of(column, [k for k, kind in enumerate(kinds) if k and kind == "semiconductor"])


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


def between(source: np.ndarray, drain: np.ndarray, length: float) -> Region:
    """The straight channel between two contact edges: what both sweep over when each moves by the length towards the other [nm].

    Parameters
    ----------
    source, drain : array (n, 4) [nm]
        The contact edges as straight pieces; the longest of the source sets the direction.
    length : float [nm]
        Distance of the contacts.
    """
    along = source[:, 2:] - source[:, :2]
    dx, dy = along[np.argmax(np.hypot(*along.T))]
    step = length * np.array([-dy, dx]) / np.hypot(dx, dy)
    if np.dot(step, direction(source, drain)) < 0:
        step = -step
    return _swept(source, step).intersection(_swept(drain, -step))


def _swept(lines: np.ndarray, step: np.ndarray) -> Region:
    """What straight pieces sweep over when they move by a step; those along the step sweep over nothing."""
    along = lines[:, 2:] - lines[:, :2]
    across = along[:, 0] * step[1] != along[:, 1] * step[0]
    one, other = lines[across, :2], lines[across, 2:]
    return Region.of(list(np.stack([one, other, other + step, one + step], axis=1)))


def direction(source: np.ndarray, drain: np.ndarray) -> tuple[float, float]:
    """Unit vector from one contact edge to the other."""
    ends = [lines.reshape(-1, 2).mean(axis=0) for lines in (source, drain)]
    along = ends[1] - ends[0]
    size = float(np.hypot(*along))
    return (float(along[0] / size), float(along[1] / size)) if size > 0 else (1.0, 0.0)


def middle_of(regions: Sequence[Region]) -> tuple[float, float]:
    """The middle of the box round some regions [nm]."""
    boxes = np.array([region.bounds for region in regions])
    x0, y0 = boxes[:, :2].min(axis=0)
    x1, y1 = boxes[:, 2:].max(axis=0)
    return float(x0 + x1) / 2, float(y0 + y1) / 2
