"""The boards of all parts of a die put together: groups of conductors at every place, joined to nets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics import Region, holding, linked
from filmwright.wafer.column import Column
from filmwright.wafer.nets_board import Board, Climbing, Kind, Meeting, Node, board_of, field_board, touching
from filmwright.wafer.plan import Plan
from filmwright.wafer.plan_cells import square_metres
from filmwright.wafer.plan_joints import Joint, side_by_side

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

Seam = tuple[int, int, Floats, tuple[tuple[int, int], ...]]
"""Two pieces of two parts, their common border, and which of their layers touch there."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Map:
    """The plan as pieces, nodes and touching pairs, at all places.

    Attributes
    ----------
    plan : Plan
    kinds : mapping from material to Kind
    boards : tuple of Board
        Of each part, then of each piece of the field.
    offsets : tuple of array (n, 2) [nm]
        Where each board lies, from its first place.
    joints : tuple of (Joint, tuple of Seam)
        How they hang together.
    nets : tuple of array (places, groups)
        The net of each group of conductors of each board at each place.
    climbs : mapping from a climb to float [nm]
        Over what length conductors climb, all places together.
    """

    plan: Plan
    kinds: Mapping[str, Kind]
    boards: tuple[Board, ...]
    offsets: tuple[Floats, ...]
    joints: tuple[tuple[Joint, tuple[Seam, ...]], ...]
    nets: tuple[Ints, ...]
    climbs: Mapping[Climbing, float]

    @cached_property
    def starts(self) -> tuple[int, ...]:
        """The number of the first piece of each board at its first place; pieces are numbered place by place."""
        sizes = [len(b.columns) * len(o) for b, o in zip(self.boards, self.offsets, strict=True)]
        return tuple(int(n) for n in np.concatenate([[0], np.cumsum(sizes)]))

    @cached_property
    def columns(self) -> tuple[Column, ...]:
        """The column of every piece at every place."""
        return tuple(
            column
            for board, o in zip(self.boards, self.offsets, strict=True)
            for column in board.columns * len(o)
        )

    @cached_property
    def regions(self) -> tuple[Region, ...]:
        """Every piece at every place; put together when asked for."""
        return tuple(
            region.moved(dx, dy)
            for board, offsets in zip(self.boards, self.offsets, strict=True)
            for dx, dy in offsets.tolist()
            for region in board.regions
        )

    def home(self, piece: int) -> tuple[int, int, int]:
        """Board, place and number on the board of a piece."""
        board = int(np.searchsorted(self.starts, piece, side="right")) - 1
        place, own = divmod(piece - self.starts[board], len(self.boards[board].columns))
        return board, place, own

    def net_at(self, node: Node) -> int | None:
        """The number of the net of a conductor; None for what is no conductor."""
        board, place, own = self.home(node[0])
        group = self.boards[board].group_of.get((own, node[1]))
        return None if group is None else int(self.nets[board][place, group])

    @cached_property
    def net_of(self) -> Mapping[Node, int]:
        """The net of every conductor at every place; put together when asked for."""
        return {
            (self.starts[number] + place * len(board.columns) + piece, layer): net
            for number, board in enumerate(self.boards)
            for place, row in enumerate(self.nets[number].tolist())
            for net, nodes in zip(row, board.groups, strict=True)
            for piece, layer in nodes
        }

    @cached_property
    def areas(self) -> Mapping[int, float]:
        """The area of the die that each net covers [m²]."""
        found: dict[int, float] = {}
        for number, board in enumerate(self.boards):
            for row in self.nets[number].tolist():
                pieces: dict[int, set[int]] = {}
                for net, nodes in zip(row, board.groups, strict=True):
                    pieces.setdefault(net, set()).update(piece for piece, _ in nodes)
                for net, mine in pieces.items():
                    found[net] = found.get(net, 0.0) + square_metres(
                        sum(board.areas[piece] for piece in mine)
                    )
        return found

    @cached_property
    def members(self) -> dict[int, list[tuple[int, int, int]]]:
        """Net → its groups: board, place, group."""
        found: dict[int, list[tuple[int, int, int]]] = {}
        for number, nets in enumerate(self.nets):
            for place, row in enumerate(nets.tolist()):
                for group, net in enumerate(row):
                    found.setdefault(net, []).append((number, place, group))
        return found

    def nodes_of(self, net: int) -> tuple[Node, ...]:
        """The conductors of a net."""
        return tuple(
            (self.starts[number] + place * len(self.boards[number].columns) + piece, layer)
            for number, place, group in self.members.get(net, ())
            for piece, layer in self.boards[number].groups[group]
        )

    def landing(self, points: Floats) -> list[tuple[int, int, int] | None]:
        """Where points (n, 2) [nm] fall: board, place and piece with the most open conductor; None outside the die."""
        best: list[tuple[int, int, int, int] | None] = [None] * len(points)
        for board, place, piece, number in self._fallen(points):
            rank = self.boards[board].landings[piece][0]
            known = best[number]
            if known is None or (rank, board, place, piece) < (
                self.boards[known[0]].landings[known[2]][0],
                *known[:3],
            ):
                best[number] = (board, place, piece, number)
        return [None if each is None else each[:3] for each in best]

    def _fallen(self, points: Floats) -> list[tuple[int, int, int, int]]:
        """Board, place, piece and number of each point that falls on a piece."""
        found: list[tuple[int, int, int, int]] = []
        places = self.plan.places
        point, window = places.holding(points)
        lone = np.ones(len(points), dtype=bool)
        lone[point] = False
        for part in range(len(self.plan.parts)):
            mine = places.part[window] == part
            asked, where = point[mine], places.place[window[mine]]
            if len(asked):
                hit, piece = holding(self.boards[part].regions, points[asked] - self.offsets[part][where])
                rows = zip(where[hit].tolist(), piece.tolist(), asked[hit].tolist(), strict=True)
                found += [(part, at, on, number) for at, on, number in rows]
        rest = np.flatnonzero(lone)
        if len(rest) and self.plan.field:
            hit, piece = holding([cell.region for cell in self.plan.field], points[rest])
            first = len(self.plan.parts)
            found += [
                (first + field, 0, 0, number)
                for field, number in zip(piece.tolist(), rest[hit].tolist(), strict=True)
            ]
        return found


def map_of(plan: Plan, kinds: Mapping[str, Kind], meeting: Meeting) -> Map:
    """Read a plan: the boards of its parts, how they hang together, and the nets."""
    boards: list[Board] = []
    climbs: dict[Climbing, float] = {}
    for part in plan.parts:
        board, lengths = board_of(part.core, kinds, meeting)
        boards.append(board)
        for climb, length in lengths.items():
            climbs[climb] = climbs.get(climb, 0.0) + length * part.place.count
    boards += [field_board(cell, kinds) for cell in plan.field]
    offsets = [part.place.offsets for part in plan.parts] + [np.zeros((1, 2))] * len(plan.field)
    joints: tuple[tuple[Joint, tuple[Seam, ...]], ...] = ()
    if plan.divided:
        pieces = [board.regions for board in boards[: len(plan.parts)]]
        found = side_by_side(plan.parts, [cell.region for cell in plan.field], pieces)
        joints = tuple((joint, _seams(joint, boards, kinds, meeting)) for joint in found)
    return Map(
        plan=plan,
        kinds=kinds,
        boards=tuple(boards),
        offsets=tuple(offsets),
        joints=joints,
        nets=_nets(boards, [len(o) for o in offsets], joints),
        climbs=climbs,
    )


def _seams(
    joint: Joint, boards: list[Board], kinds: Mapping[str, Kind], meeting: Meeting
) -> tuple[Seam, ...]:
    one, other = boards[joint.one], boards[joint.other]
    found = []
    for a, b, lines in joint.pairs:
        first, second = one.columns[a], other.columns[b]
        found.append((a, b, lines, touching(first, second, kinds, meeting(first, second))))
    return tuple(found)


def _nets(
    boards: list[Board], counts: list[int], joints: tuple[tuple[Joint, tuple[Seam, ...]], ...]
) -> tuple[Ints, ...]:
    """The net of each group at each place, numbered in the order of parts, places and groups."""
    sizes = [len(board.groups) for board in boards]
    starts = np.concatenate([[0], np.cumsum([size * n for size, n in zip(sizes, counts, strict=True)])])
    ones, others = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    for joint, seams in joints:
        one, other = boards[joint.one], boards[joint.other]
        for a, b, _, touches in seams:
            for low, high in touches:
                first, second = one.group_of.get((a, low)), other.group_of.get((b, high))
                if first is not None and second is not None:
                    ones.append(starts[joint.one] + joint.ones * sizes[joint.one] + first)
                    others.append(starts[joint.other] + joint.others * sizes[joint.other] + second)
    numbers = linked(int(starts[-1]), np.concatenate(ones), np.concatenate(others))
    return tuple(numbers[starts[k] : starts[k + 1]].reshape(counts[k], sizes[k]) for k in range(len(boards)))
