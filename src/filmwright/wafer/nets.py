"""Which conductors touch which, read off the plan."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal, Protocol, get_args

from filmwright.numerics import Border, Region, holders
from filmwright.wafer import plan_memo
from filmwright.wafer.column import Column
from filmwright.wafer.column_edge import Edge, meet
from filmwright.wafer.plan import Plan

Kind = Literal["conductor", "semiconductor", "insulator", "organic"]
"""What a material is to a current."""

Node = tuple[int, int]
"""A layer at a place: piece of the plan, place in its column."""


class Text(Protocol):
    """A label of the drawing: a text at a point [nm]."""

    @property
    def text(self) -> str: ...
    @property
    def x_nm(self) -> float: ...
    @property
    def y_nm(self) -> float: ...


@dataclass(frozen=True, kw_only=True)
class Net:
    """Conductors that touch each other.

    Attributes
    ----------
    number : int
    labels : tuple of str
        Terminal names that lie on it.
    nodes : tuple of Node
    """

    number: int
    labels: tuple[str, ...]
    nodes: tuple[Node, ...]


@dataclass(frozen=True, kw_only=True)
class FilmClimb:
    """A conductor that climbs a step somewhere on the die.

    Attributes
    ----------
    film, material : str
    thickness : float [m]
        On the flat.
    step : float [m]
    wall : float [m]
        Thickness on the wall; for a film in line of sight, by how much it stands over the step.
    whole : bool
        In one piece.
    length_nm : float [nm]
        Of all edges where it does so.
    """

    film: str
    material: str
    thickness: float
    step: float
    wall: float
    whole: bool
    length_nm: float


@dataclass(frozen=True, kw_only=True)
class Nets:
    """What touches what on the die.

    Attributes
    ----------
    nets : tuple of Net
        Ordered by number.
    shorted : tuple of (label, label)
        Terminals of one device that must be apart and are on one net.
    shared : tuple of (label, label)
        Terminals of different devices on one net; a common line, or a short.
    parted : tuple of str
        Labels that stand on several nets which are not joined.
    unreachable : tuple of (label, material)
        Pads on which a probe meets that material instead of a conductor, or meets metal that the material keeps from the
        gate beneath, which has no other name.
    absent : tuple of str
        Labels with no conductor at their place at all.
    climbs : tuple of FilmClimb
    map : Map
        The pieces of the plan behind it.
    """

    nets: tuple[Net, ...]
    shorted: tuple[tuple[str, str], ...]
    shared: tuple[tuple[str, str], ...]
    parted: tuple[str, ...]
    unreachable: tuple[tuple[str, str], ...]
    absent: tuple[str, ...]
    climbs: tuple[FilmClimb, ...]
    map: Map

    def of_label(self, text: str) -> Net | None:
        """The net that carries a label."""
        return next((net for net in self.nets if text in net.labels), None)

    def joined(self, one: str, other: str) -> bool:
        """Whether two labels stand on one net."""
        first, second = self.of_label(one), self.of_label(other)
        return first is not None and second is not None and first.number == second.number

    def net_at(self, node: Node) -> int | None:
        """The number of the net of a conductor."""
        return self.map.net_of.get(node)


@dataclass(frozen=True, kw_only=True)
class Map:
    """The plan as pieces, nodes and touching pairs.

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
    net_of : mapping from Node to net number
    """

    columns: tuple[Column, ...]
    regions: tuple[Region, ...]
    kinds: Mapping[str, Kind]
    vertical: tuple[tuple[Node, Node], ...]
    across: tuple[tuple[Border, tuple[tuple[Node, Node], ...]], ...]
    net_of: dict[Node, int] = field(default_factory=dict)

    @cached_property
    def kinds_at(self) -> tuple[tuple[Kind, ...], ...]:
        """What each layer of each piece is, lowest first."""
        kinds = {
            id(column): tuple(self.kinds[layer.material] for layer in column.layers)
            for column in self.columns
        }
        return tuple(kinds[id(column)] for column in self.columns)

    def kind(self, node: Node) -> Kind:
        """What the layer of a node is."""
        return self.kinds_at[node[0]][node[1]]


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


def read_nets(
    plan: Plan,
    kinds: Mapping[str, Kind],
    labels: Sequence[Text] = (),
    edges: Callable[[Column, Column], Edge] = meet,
) -> Nets:
    """Read off which conductors touch each other.

    Conductors touch where they lie on each other and where ``edges`` finds them touching across an edge. The
    wafer body takes part only if it is a conductor.

    Parameters
    ----------
    plan : Plan
    kinds : mapping from material to Kind
        Every material on the die; a missing one raises ValueError.
    labels : sequence of objects with text, x_nm, y_nm
        Terminals as ``NAME:TERMINAL``. Terminals that are called I or V and a number are taps of one conductor and may be joined.
    edges : callable (Column, Column) → Edge
        What two neighbouring columns share; by default what the columns alone say.
    """
    board, climbs = _board(plan, kinds, edges)
    conducting = Sets(
        (piece, place)
        for piece, kinds_here in enumerate(board.kinds_at)
        for place, kind in enumerate(kinds_here)
        if kind == "conductor"
    )
    for one, other in _pairs(board):
        if board.kind(one) == board.kind(other) == "conductor":
            conducting.join(one, other)
    groups = conducting.groups()
    for number, nodes in enumerate(groups):
        board.net_of.update(dict.fromkeys(nodes, number))
    texts: dict[int, list[str]] = {}
    unreachable, absent = [], []
    landings = list(_landings(board, labels))
    for label, node, cover in landings:
        if node is None:
            absent.append(label.text)
            continue
        texts.setdefault(board.net_of[node], []).append(label.text)
        if cover:
            unreachable.append((label.text, cover))
    nets = tuple(
        Net(number=number, labels=tuple(sorted(set(texts.get(number, ())))), nodes=tuple(nodes))
        for number, nodes in enumerate(groups)
    )
    shorted, shared = _conflicts(nets)
    unreachable += _cut_off(board, nets, landings)
    return Nets(
        nets=nets,
        shorted=shorted,
        shared=shared,
        parted=_parted(nets),
        unreachable=tuple(sorted(unreachable)),
        absent=tuple(sorted(absent)),
        climbs=climbs,
        map=board,
    )


def terminal(label: str) -> tuple[str, str]:
    """Device name and terminal of a label; the terminal is empty when the label has none."""
    name, _, end = label.partition(":")
    return name.strip(), end.strip()


def _check_kinds(plan: Plan, kinds: Mapping[str, Kind]) -> None:
    there = {layer.material for cell in plan.cells for layer in cell.column.layers}
    unknown = sorted(material for material in there if kinds.get(material) not in get_args(Kind))
    if unknown:
        raise ValueError(
            f"every material on the wafer needs a kind out of {get_args(Kind)}, missing: {', '.join(unknown)}"
        )


def _board(
    plan: Plan, kinds: Mapping[str, Kind], meeting: Callable[[Column, Column], Edge]
) -> tuple[Map, tuple[FilmClimb, ...]]:
    """The touching pairs of the plan, and how conductors climb."""
    _check_kinds(plan, kinds)
    pieces = plan_memo.pieces([cell.region for cell in plan.cells])
    columns = tuple(plan.cells[owner].column for owner in pieces.owner)
    carries = [
        [kinds[layer.material] in ("conductor", "semiconductor") for layer in cell.column.layers]
        for cell in plan.cells
    ]
    edges: dict[tuple[int, int], tuple[Edge, list[tuple[int, int]]]] = {}
    lengths: dict[tuple[object, ...], float] = {}
    across = []
    for border in pieces.borders:
        pair = (pieces.owner[border.first], pieces.owner[border.second])
        if pair not in edges:
            edge = meeting(plan.cells[pair[0]].column, plan.cells[pair[1]].column)
            touching = {
                (t.first, t.second)
                for t in edge.touches
                if carries[pair[0]][t.first] and carries[pair[1]][t.second]
            }
            edges[pair] = (edge, sorted(touching))
        edge, touches = edges[pair]
        if touches:
            across.append((border, tuple(((border.first, a), (border.second, b)) for a, b in touches)))
        for climb in edge.climbs:
            layer = plan.cells[pair[0]].column.layers[climb.first]
            if kinds[layer.material] == "conductor":
                key = (layer.film, layer.material, layer.thickness, climb.step, climb.wall, climb.whole)
                lengths[key] = lengths.get(key, 0.0) + border.length
    names = ("film", "material", "thickness", "step", "wall", "whole")
    climbs = tuple(
        FilmClimb(**dict(zip(names, key, strict=True)), length_nm=length)  # type: ignore[arg-type]
        for key, length in sorted(lengths.items(), key=lambda item: str(item[0]))
    )
    vertical = tuple(
        ((piece, place), (piece, place + 1))
        for piece, owner in enumerate(pieces.owner)
        for place in range(len(carries[owner]) - 1)
        if carries[owner][place] and carries[owner][place + 1]
    )
    board = Map(columns=columns, regions=pieces.regions, kinds=kinds, vertical=vertical, across=tuple(across))
    return board, climbs


def _pairs(board: Map) -> Iterable[tuple[Node, Node]]:
    yield from board.vertical
    for _, touches in board.across:
        yield from touches


def _landings(board: Map, labels: Sequence[Text]) -> Iterable[tuple[Text, Node | None, str]]:
    """For each label the uppermost conductor at its place, and what covers it (empty: nothing)."""
    if not labels:
        return
    held = holders(board.regions, [(label.x_nm, label.y_nm) for label in labels])
    for label, where in zip(labels, held, strict=True):
        best: tuple[int, Node | None, str] = (2, None, "")
        for piece in where:
            column = board.columns[piece]
            place = next(
                (k for k in reversed(range(len(column.layers))) if board.kind((piece, k)) == "conductor"),
                None,
            )
            if place is None:
                continue
            covered = place < len(column.layers) - 1
            if covered < best[0]:
                best = (int(covered), (piece, place), column.top.material if covered else "")
        yield label, best[1], best[2]


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


def _cut_off(
    board: Map, nets: Sequence[Net], landings: Sequence[tuple[Text, Node | None, str]]
) -> list[tuple[str, str]]:
    """Labels on metal that touches no semiconductor and lies over a gate without a name of its own."""
    over = [
        (label, net, node, material)
        for label, node, cover in landings
        if node is not None and not cover and (lower := _lower_net(board, node)) is not None
        for net, material in (lower,)
        if not nets[net].labels
    ]
    if not over:
        return []
    gates, contacts = _gates(board), _contacts(board)
    return [
        (label.text, material)
        for label, net, node, material in over
        if net in gates and board.net_of[node] not in contacts
    ]


def _lower_net(board: Map, node: Node) -> tuple[int, str] | None:
    """The net of the conductor that insulators part from the metal at a node, and the lowest of those insulators."""
    piece, foot = node
    kinds = board.kinds_at[piece]
    while foot > 0 and kinds[foot - 1] == "conductor":
        foot -= 1
    below = behind(kinds, foot, -1)
    if not below or kinds[below] != "conductor":
        return None
    return board.net_of[piece, below], board.columns[piece].layers[below + 1].material


def _gates(board: Map) -> set[int]:
    """Nets with a semiconductor behind insulators."""
    return {
        board.net_of[piece, place]
        for piece, column in enumerate(board.kinds_at)
        for place, kind in enumerate(column)
        if kind == "conductor"
        for step in (1, -1)
        if (far := behind(column, place, step)) and column[far] == "semiconductor"
    }


def _contacts(board: Map) -> set[int]:
    """Nets that touch a semiconductor other than the body."""
    return {
        board.net_of[one]
        for pair in _pairs(board)
        for one, other in (pair, pair[::-1])
        if board.kind(one) == "conductor" and board.kind(other) == "semiconductor" and other[1] > 0
    }


def is_tap(end: str) -> bool:
    """Whether a terminal is a current or voltage tap of one conductor (I or V and a number)."""
    return end[:1] in {"I", "V"} and end[1:].isdigit()


def _conflicts(nets: Sequence[Net]) -> tuple[tuple[tuple[str, str], ...], tuple[tuple[str, str], ...]]:
    shorted, shared = [], []
    for net in nets:
        for k, one in enumerate(net.labels):
            for other in net.labels[k + 1 :]:
                (name, end), (name2, end2) = terminal(one), terminal(other)
                if name != name2:
                    shared.append((one, other))
                elif not (is_tap(end) and is_tap(end2)):
                    shorted.append((one, other))
    return tuple(shorted), tuple(shared)


def _parted(nets: Sequence[Net]) -> tuple[str, ...]:
    seen: dict[str, int] = {}
    for net in nets:
        for label in net.labels:
            seen[label] = seen.get(label, 0) + 1
    return tuple(sorted(label for label, count in seen.items() if count > 1))
