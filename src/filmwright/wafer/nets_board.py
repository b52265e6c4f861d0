"""The pieces of one part of a plan: which of its layers carry current, and which of them touch within the part."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from filmwright.numerics import Border, Region
from filmwright.wafer import plan_memo
from filmwright.wafer.column import Column
from filmwright.wafer.column_edge import Edge
from filmwright.wafer.plan_cells import Cell

Kind = Literal["conductor", "semiconductor", "insulator", "organic"]
"""What a material is to a current."""

Node = tuple[int, int]
"""A layer at a place: piece of the plan, place in its column."""

Meeting = Callable[[Column, Column], Edge]
"""What two neighbouring columns share."""

Climbing = tuple[str, str, float, float, float, bool]
"""Film, material, thickness, step and wall [m], whole."""


class Sets:
    """Disjoint sets of nodes (union–find with path halving)."""

    def __init__(self, items: Iterable[Node]) -> None:
        self.parent = {item: item for item in items}

    def find(self, item: Node) -> Node:
        """The representative of a node's set."""
        parent = self.parent
        while parent[item] != item:
            parent[item] = parent[parent[item]]
            item = parent[item]
        return item

    def join(self, one: Node, other: Node) -> None:
        """Make two sets one."""
        first, second = self.find(one), self.find(other)
        if first != second:
            self.parent[max(first, second)] = min(first, second)

    def groups(self) -> list[list[Node]]:
        """All sets, ordered by their first node."""
        found: dict[Node, list[Node]] = {}
        for item in sorted(self.parent):
            found.setdefault(self.find(item), []).append(item)
        return list(found.values())


@dataclass(frozen=True, kw_only=True, eq=False)
class Board:
    """A part as pieces, nodes and touching pairs.

    Attributes
    ----------
    columns : tuple of Column
        Of each piece.
    regions : tuple of Region
    kinds : mapping from material to Kind
    vertical : tuple of (Node, Node)
        Current-carrying layers that lie on each other.
    across : tuple of (Border, tuple of (Node, Node))
        Current-carrying layers that touch across an edge.
    """

    columns: tuple[Column, ...]
    regions: tuple[Region, ...]
    kinds: Mapping[str, Kind]
    vertical: tuple[tuple[Node, Node], ...]
    across: tuple[tuple[Border, tuple[tuple[Node, Node], ...]], ...]

    @cached_property
    def kinds_at(self) -> tuple[tuple[Kind, ...], ...]:
        """What each layer of each piece is, lowest first."""
        known = {
            column: tuple(self.kinds[layer.material] for layer in column.layers)
            for column in set(self.columns)
        }
        return tuple(known[column] for column in self.columns)

    def kind(self, node: Node) -> Kind:
        """What the layer of a node is."""
        return self.kinds_at[node[0]][node[1]]

    @cached_property
    def areas(self) -> tuple[float, ...]:
        """Of each piece [nm²]."""
        return tuple(region.area for region in self.regions)

    def pairs(self) -> Iterable[tuple[Node, Node]]:
        """All touching pairs."""
        yield from self.vertical
        for _, touches in self.across:
            yield from touches

    @cached_property
    def groups(self) -> tuple[tuple[Node, ...], ...]:
        """Conductors that touch each other within the part, ordered by their first node."""
        conducting = Sets(
            (piece, place)
            for piece, kinds_here in enumerate(self.kinds_at)
            for place, kind in enumerate(kinds_here)
            if kind == "conductor"
        )
        for one, other in self.pairs():
            if self.kind(one) == self.kind(other) == "conductor":
                conducting.join(one, other)
        return tuple(tuple(group) for group in conducting.groups())

    @cached_property
    def group_of(self) -> dict[Node, int]:
        """The number of the group of each conductor."""
        return {node: number for number, nodes in enumerate(self.groups) for node in nodes}

    @cached_property
    def gates(self) -> frozenset[int]:
        """Groups with a semiconductor behind insulators."""
        return frozenset(
            self.group_of[piece, place]
            for piece, column in enumerate(self.kinds_at)
            for place, kind in enumerate(column)
            if kind == "conductor"
            for step in (1, -1)
            if (far := behind(column, place, step)) and column[far] == "semiconductor"
        )

    @cached_property
    def contacts(self) -> frozenset[int]:
        """Groups that touch a semiconductor other than the body."""
        return frozenset(
            self.group_of[one]
            for pair in self.pairs()
            for one, other in (pair, pair[::-1])
            if self.kind(one) == "conductor" and self.kind(other) == "semiconductor" and other[1] > 0
        )

    @cached_property
    def landings(self) -> tuple[tuple[int, int | None, str], ...]:
        """For each piece what a label on it lands on: 0 on an open conductor, 1 on a covered one, 2 on none; its place; its cover."""
        found: list[tuple[int, int | None, str]] = []
        for column, kinds in zip(self.columns, self.kinds_at, strict=True):
            place = next((k for k in reversed(range(len(kinds))) if kinds[k] == "conductor"), None)
            if place is None:
                found.append((2, None, ""))
            else:
                covered = place < len(kinds) - 1
                found.append((int(covered), place, column.top.material if covered else ""))
        return tuple(found)

    def lower(self, node: Node) -> tuple[int, str] | None:
        """The group of the conductor that insulators part from the metal at a node, and the lowest of those insulators."""
        piece, foot = node
        kinds = self.kinds_at[piece]
        while foot > 0 and kinds[foot - 1] == "conductor":
            foot -= 1
        below = behind(kinds, foot, -1)
        if not below or kinds[below] != "conductor":
            return None
        return self.group_of[piece, below], self.columns[piece].layers[below + 1].material


def behind(kinds: Sequence[Kind], start: int, step: int) -> int | None:
    """The first conductor or semiconductor behind insulators, seen from a layer of a column; None if nothing is between.

    Parameters
    ----------
    kinds : sequence of Kind
        Of the layers, lowest first.
    start : int
    step : int
        1 looks up, -1 down.
    """
    place = start + step
    while 0 <= place < len(kinds) and kinds[place] in ("insulator", "organic"):
        place += step
    return place if 0 <= place < len(kinds) and abs(place - start) > 1 else None


def carrying(column: Column, kinds: Mapping[str, Kind]) -> tuple[bool, ...]:
    """Which layers of a column carry current."""
    return tuple(kinds[layer.material] in ("conductor", "semiconductor") for layer in column.layers)


def touching(
    one: Column, other: Column, kinds: Mapping[str, Kind], edge: Edge
) -> tuple[tuple[int, int], ...]:
    """Which current-carrying layers of two neighbouring columns touch."""
    first, second = carrying(one, kinds), carrying(other, kinds)
    return tuple(sorted({(t.first, t.second) for t in edge.touches if first[t.first] and second[t.second]}))


def field_board(cell: Cell, kinds: Mapping[str, Kind]) -> Board:
    """The board of a piece of the field: one piece with one column."""
    return Board(
        columns=(cell.column,),
        regions=(cell.region,),
        kinds=kinds,
        vertical=tuple(((0, low), (0, low + 1)) for low in _stacked(cell.column, kinds)),
        across=(),
    )


def board_of(
    cells: Sequence[Cell], kinds: Mapping[str, Kind], meeting: Meeting
) -> tuple[Board, dict[Climbing, float]]:
    """The touching pairs of some cells, and how conductors climb: over what length [nm]."""
    pieces = plan_memo.pieces([cell.region for cell in cells])
    columns = [cell.column for cell in cells]
    edges: dict[tuple[int, int], tuple[Edge, tuple[tuple[int, int], ...]]] = {}
    lengths: dict[Climbing, float] = {}
    across = []
    for border in pieces.borders:
        pair = (pieces.owner[border.first], pieces.owner[border.second])
        one, other = columns[pair[0]], columns[pair[1]]
        if pair not in edges:
            edge = meeting(one, other)
            edges[pair] = (edge, touching(one, other, kinds, edge))
        edge, touches = edges[pair]
        if touches:
            across.append((border, tuple(((border.first, a), (border.second, b)) for a, b in touches)))
        for climb in edge.climbs:
            layer = one.layers[climb.first]
            if kinds[layer.material] == "conductor":
                key = (layer.film, layer.material, layer.thickness, climb.step, climb.wall, climb.whole)
                lengths[key] = lengths.get(key, 0.0) + border.length
    stacked = [_stacked(column, kinds) for column in columns]
    vertical = tuple(
        ((piece, low), (piece, low + 1)) for piece, owner in enumerate(pieces.owner) for low in stacked[owner]
    )
    board = Board(
        columns=tuple(columns[owner] for owner in pieces.owner),
        regions=pieces.regions,
        kinds=kinds,
        vertical=vertical,
        across=tuple(across),
    )
    return board, lengths


def _stacked(column: Column, kinds: Mapping[str, Kind]) -> list[int]:
    """Places of layers that carry current and have such a layer on them."""
    carries = carrying(column, kinds)
    return [k for k in range(len(carries) - 1) if carries[k] and carries[k + 1]]
