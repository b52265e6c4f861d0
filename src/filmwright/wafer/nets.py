"""Which conductors touch which, read off the plan."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations
from typing import Protocol, get_args

import numpy as np

from filmwright.wafer.column_edge import meet
from filmwright.wafer.nets_board import Kind as Kind
from filmwright.wafer.nets_board import Meeting
from filmwright.wafer.nets_board import Node as Node
from filmwright.wafer.nets_board import Sets as Sets
from filmwright.wafer.nets_map import Map, map_of
from filmwright.wafer.plan import Plan


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
    map : Map
        What it was read off.
    """

    number: int
    labels: tuple[str, ...]
    map: Map = field(repr=False, compare=False)

    @cached_property
    def nodes(self) -> tuple[Node, ...]:
        """Its layers: piece of the map, place in the column of that piece."""
        return self.map.nodes_of(self.number)


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
        Terminals of different devices on one net, a common line or a short: the first label of the net (by name) with each
        label of another device.
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

    @cached_property
    def _by_label(self) -> dict[str, Net]:
        found: dict[str, Net] = {}
        for net in self.nets:
            for label in net.labels:
                found.setdefault(label, net)
        return found

    def of_label(self, text: str) -> Net | None:
        """The net that carries a label."""
        return self._by_label.get(text)

    def joined(self, one: str, other: str) -> bool:
        """Whether two labels stand on one net."""
        first, second = self.of_label(one), self.of_label(other)
        return first is not None and second is not None and first.number == second.number

    def net_at(self, node: Node) -> int | None:
        """The number of the net of a conductor."""
        return self.map.net_at(node)


def read_nets(
    plan: Plan,
    kinds: Mapping[str, Kind],
    labels: Sequence[Text] = (),
    edges: Meeting = meet,
) -> Nets:
    """Read off which conductors touch each other.

    Conductors touch where they lie on each other and where ``edges`` finds them touching across an edge. The
    wafer body takes part only if it is a conductor. Parts of the plan that repeat are read once.

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
    _check_kinds(plan, kinds)
    board = map_of(plan, kinds, edges)
    landed = _landed(board, labels)
    texts: dict[int, set[str]] = {}
    for at in landed:
        if at.net is not None:
            texts.setdefault(at.net, set()).add(at.text)
    count = max((int(nets.max()) + 1 for nets in board.nets if nets.size), default=0)
    nets = tuple(
        Net(number=number, labels=tuple(sorted(texts.get(number, ()))), map=board) for number in range(count)
    )
    shorted, shared = _conflicts(nets)
    unreachable = [(at.text, at.cover) for at in landed if at.net is not None and at.cover]
    unreachable += _cut_off(board, nets, landed)
    return Nets(
        nets=nets,
        shorted=shorted,
        shared=shared,
        parted=_parted(nets),
        unreachable=tuple(sorted(unreachable)),
        absent=tuple(sorted(at.text for at in landed if at.net is None)),
        climbs=_climbs(board),
        map=board,
    )


def terminal(label: str) -> tuple[str, str]:
    """Device name and terminal of a label; the terminal is empty when the label has none."""
    name, _, end = label.partition(":")
    return name.strip(), end.strip()


def is_tap(end: str) -> bool:
    """Whether a terminal is a current or voltage tap of one conductor (I or V and a number)."""
    return end[:1] in {"I", "V"} and end[1:].isdigit()


def _check_kinds(plan: Plan, kinds: Mapping[str, Kind]) -> None:
    there = {layer.material for column in plan.columns for layer in column.layers}
    unknown = sorted(material for material in there if kinds.get(material) not in get_args(Kind))
    if unknown:
        raise ValueError(
            f"every material on the wafer needs a kind out of {get_args(Kind)}, missing: {', '.join(unknown)}"
        )


def _climbs(board: Map) -> tuple[FilmClimb, ...]:
    names = ("film", "material", "thickness", "step", "wall", "whole")
    return tuple(
        FilmClimb(**dict(zip(names, key, strict=True)), length_nm=length)  # type: ignore[arg-type]
        for key, length in sorted(board.climbs.items(), key=lambda item: str(item[0]))
    )


@dataclass(frozen=True, slots=True)
class _Landed:
    """A label, the net on which it lands, what covers the conductor there, and below what insulator another net lies."""

    text: str
    net: int | None
    cover: str = ""
    below: int | None = None
    insulator: str = ""


def _landed(board: Map, labels: Sequence[Text]) -> list[_Landed]:
    """Where the labels land: on the uppermost conductor at their places."""
    points = np.array([(label.x_nm, label.y_nm) for label in labels], dtype=float).reshape(-1, 2)
    found = []
    below: dict[tuple[int, int], tuple[int, str] | None] = {}
    for label, where in zip(labels, board.landing(points) if len(points) else (), strict=True):
        number, place, piece = where or (0, 0, 0)
        own = board.boards[number]
        _, layer, cover = own.landings[piece] if where is not None else (2, None, "")
        if layer is None:
            found.append(_Landed(label.text, None))
            continue
        net = int(board.nets[number][place, own.group_of[piece, layer]])
        if (number, piece) not in below:
            below[number, piece] = own.lower((piece, layer)) if not cover else None
        lower = below[number, piece]
        if lower is None:
            found.append(_Landed(label.text, net, cover))
        else:
            found.append(_Landed(label.text, net, cover, int(board.nets[number][place, lower[0]]), lower[1]))
    return found


def _cut_off(board: Map, nets: Sequence[Net], landed: Sequence[_Landed]) -> list[tuple[str, str]]:
    """Labels on metal that touches no semiconductor and lies over a gate without a name of its own."""
    over = [at for at in landed if at.below is not None and not nets[at.below].labels]
    if not over:
        return []
    gates = _nets_of(board, [own.gates for own in board.boards])
    contacts = _nets_of(board, [own.contacts for own in board.boards]) | _contacts_beside(board)
    return [(at.text, at.insulator) for at in over if at.below in gates and at.net not in contacts]


def _nets_of(board: Map, groups: Iterable[frozenset[int]]) -> set[int]:
    """The nets of some groups of each board."""
    return {
        net
        for nets, mine in zip(board.nets, groups, strict=True)
        for group in mine
        for net in nets[:, group].tolist()
    }


def _contacts_beside(board: Map) -> set[int]:
    """Nets that touch a semiconductor other than the body across the border of a window."""
    found: set[int] = set()
    for joint, seams in board.joints:
        one, other = board.boards[joint.one], board.boards[joint.other]
        for a, b, _, touches in seams:
            for low, high in touches:
                kinds = one.kind((a, low)), other.kind((b, high))
                if kinds == ("conductor", "semiconductor") and high > 0:
                    found.update(board.nets[joint.one][joint.ones, one.group_of[a, low]].tolist())
                elif kinds == ("semiconductor", "conductor") and low > 0:
                    found.update(board.nets[joint.other][joint.others, other.group_of[b, high]].tolist())
    return found


def _conflicts(nets: Sequence[Net]) -> tuple[tuple[tuple[str, str], ...], tuple[tuple[str, str], ...]]:
    shorted, shared = [], []
    for net in nets:
        if len(net.labels) < 2:
            continue
        devices: dict[str, list[str]] = {}
        for label in net.labels:
            devices.setdefault(terminal(label)[0], []).append(label)
        first = terminal(net.labels[0])[0]
        shared += [(net.labels[0], label) for label in net.labels if terminal(label)[0] != first]
        for mine in devices.values():
            shorted += [
                (one, other)
                for one, other in combinations(mine, 2)
                if not (is_tap(terminal(one)[1]) and is_tap(terminal(other)[1]))
            ]
    return tuple(shorted), tuple(shared)


def _parted(nets: Sequence[Net]) -> tuple[str, ...]:
    seen: dict[str, int] = {}
    for net in nets:
        for label in net.labels:
            seen[label] = seen.get(label, 0) + 1
    return tuple(sorted(label for label, count in seen.items() if count > 1))
