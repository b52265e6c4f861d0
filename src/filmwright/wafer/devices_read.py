"""Read the devices off a die: once for each part of its plan, then at all the places where the part lies."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics import Border, Region, linked
from filmwright.units import to_si
from filmwright.wafer import plan_memo
from filmwright.wafer.column import Column
from filmwright.wafer.device_sets import is_sheet_cross
from filmwright.wafer.devices import Device, DeviceKind, Devices
from filmwright.wafer.devices_gaps import Finder, Stack, stack_of, through
from filmwright.wafer.devices_lines import line_size
from filmwright.wafer.nets import Nets, is_tap, terminal
from filmwright.wafer.nets_board import Board, Kind, Node
from filmwright.wafer.nets_map import Map
from filmwright.wafer.plan import Plan
from filmwright.wafer.plan_cells import square_metres

Ints = NDArray[np.int64]
Spot = tuple[int, int]
"""A board and one of its places."""

_Across = tuple[int, int, NDArray[np.float64], tuple[tuple[Node, Node], ...], int, int]
"""Two pieces, their common border, what touches there, and where the pieces of either board begin."""


def read_devices(plan: Plan, kinds: Mapping[str, Kind], nets: Nets) -> Devices:
    """Read off every device of the die.

    Parameters
    ----------
    plan : Plan
    kinds : mapping from material to Kind
    nets : Nets
        Of the same plan, with its labels.
    """
    if set(kinds.items()) != set(nets.map.kinds.items()) or plan.parts is not nets.map.plan.parts:
        raise ValueError("nets and kinds must be those of the plan")
    reading = _Reading(nets)
    found = reading.across_gaps()
    found += reading.capacitors(found)
    found += reading.tracks()
    return Devices(found=tuple(sorted(found, key=lambda d: (d.name == "", d.name, d.kind, d.place))))


class _Reading:
    """What is asked of the nets again and again while devices are read."""

    def __init__(self, nets: Nets) -> None:
        self.nets = nets
        self.map: Map = nets.map
        self.ends: dict[int, dict[str, str]] = {}
        for net in nets.nets:
            if net.labels:
                ends: dict[str, str] = {}
                for label in net.labels:
                    ends.setdefault(*terminal(label))
                self.ends[net.number] = ends

    def across_gaps(self) -> list[Device]:
        """The devices that gaps make."""
        found: list[Device] = []
        crossing = _crossing(self.map)
        apart: dict[int, set[int]] = {}
        for spots in crossing:
            for number, place in spots:
                apart.setdefault(number, set()).add(place)
            finder = Finder(*(whole := _together(self.map, spots)))
            nodes = whole[1]
            own = {net: net for net in set(nodes.values())}
            found += self._at(finder, own, (0.0, 0.0))
        for number, board in enumerate(self.map.boards):
            rows, offsets = self.map.nets[number], self.map.offsets[number]
            mine = np.array(
                [k for k in range(len(offsets)) if k not in apart.get(number, ())], dtype=np.int64
            )
            for pattern, places in _patterns(rows, mine):
                finder = Finder(board, {node: pattern[group] for node, group in board.group_of.items()})
                if not finder.gaps:
                    continue
                for place in places.tolist():
                    actual = dict(zip(pattern, rows[place].tolist(), strict=True))
                    dx, dy = offsets[place].tolist()
                    found += self._at(finder, actual, (dx, dy))
        return found

    def _at(self, finder: Finder, nets: Mapping[int, int], move: tuple[float, float]) -> list[Device]:
        """The devices of the gaps of a board at one place; ``nets`` are the nets of the die behind those of the finder."""
        found = []
        for number, gap in enumerate(finder.gaps):
            gate = finder.gate_of(gap)
            ends = {nets[net]: net for net in gap.lines}
            under = None if gate is None else nets[gate]
            order, name = self._ordered(list(ends), under)
            sizes = finder.size(number, tuple(ends[net] for net in order))
            if len(order) > 2:
                roles = {f"end {k}": net for k, net in enumerate(order, start=1)}
                named = [self._terminal(net, name) for net in order]
                cross = is_sheet_cross(named, sizes["area"], sizes["perimeter"])
                found.append(self._device("cross" if cross else "film", name, roles, sizes, move))
            else:
                roles = {} if under is None else {"gate": under}
                roles |= zip(("source", "drain"), order, strict=True)
                found.append(
                    self._device("resistor" if under is None else "transistor", name, roles, sizes, move)
                )
        return found

    def _ordered(self, ends: Sequence[int], gate: int | None) -> tuple[list[int], str]:
        """Contact nets in the order of their terminals (source before drain), and the device's name."""
        name = self._name([*ends, *([] if gate is None else [gate])]) or self._name(ends)

        def rank(net: int) -> tuple[bool, str, int]:
            end = self._terminal(net, name)
            return end == "D", end, net

        return sorted(ends, key=rank), name

    def _name(self, nets: Sequence[int]) -> str:
        """The one device name that all nets carry, else empty."""
        names = sorted((self.ends.get(net, {}) for net in nets), key=len)
        return min((name for name in names[0] if all(name in other for other in names[1:])), default="")

    def _terminal(self, net: int, name: str) -> str:
        return self.ends.get(net, {}).get(name, "")

    def _device(
        self,
        kind: DeviceKind,
        name: str,
        nets: dict[str, int],
        sizes: Mapping[str, Any],
        move: tuple[float, float],
    ) -> Device:
        shorts = tuple((a, b) for a, b in combinations(nets, 2) if nets[a] == nets[b])
        terminals = {role: self._terminal(net, name) for role, net in nets.items()}
        x, y = sizes["place"]
        fields = {**sizes, "place": (x + move[0], y + move[1])}
        return Device(kind=kind, name=name, terminals=terminals, nets=nets, shorts=shorts, **fields)

    def capacitors(self, devices: Sequence[Device]) -> list[Device]:
        """Two conductors of different nets with only insulators between."""
        taken: dict[int, set[int]] = {}
        for number, device in enumerate(devices):
            for net in device.nets.values() if device.kind == "transistor" else ():
                taken.setdefault(net, set()).add(number)
        plates: dict[tuple[int, int, Stack], dict[Spot, tuple[int, ...]]] = {}
        for number, board in enumerate(self.map.boards):
            rows = self.map.nets[number]
            for (low, high, dielectric), pieces in _plates(board).items():
                for place, (bottom, top) in enumerate(rows[:, [low, high]].tolist()):
                    if bottom == top or not taken.get(bottom, set()).isdisjoint(taken.get(top, ())):
                        continue
                    where = plates.setdefault((bottom, top, dielectric), {})
                    where[number, place] = tuple(sorted({*where.get((number, place), ()), *pieces}))
        found = []
        for (bottom, top, dielectric), where in plates.items():
            sizes = {**_extent(self.map, where), "dielectric": dielectric}
            nets = {"bottom": bottom, "top": top}
            found.append(self._device("capacitor", self._name([bottom, top]), nets, sizes, (0.0, 0.0)))
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
                where: dict[Spot, tuple[int, ...]] = {}
                for number, place, group in self.map.members[net.number]:
                    pieces = {piece for piece, _ in self.map.boards[number].groups[group]}
                    where[number, place] = tuple(sorted(pieces | set(where.get((number, place), ()))))
                roles = {f"end {k}": end for k, end in enumerate(sorted(ends), start=1)}
                size = line_size(_outline(self.map, where))
                found.append(
                    Device(
                        kind="track",
                        name=name,
                        terminals=roles,
                        nets=dict.fromkeys(roles, net.number),
                        line=None if size is None else (to_si(size[0], "nm"), to_si(size[1], "nm")),
                        **_extent(self.map, where),
                    )
                )
        return found


def _patterns(rows: Ints, places: Ints) -> list[tuple[list[int], Ints]]:
    """Places of a board at which the same of its groups are one net: for each group the first that is one with it."""
    if not len(places) or not rows.shape[1]:
        return [(list(range(rows.shape[1])), places)] if len(places) else []
    firsts = (
        (rows[places][:, :, None] == rows[places][:, None, :]).argmax(axis=2) if rows.shape[1] < 64 else None
    )
    if firsts is None:
        firsts = np.array(
            [
                np.unique(row, return_index=True)[1][np.unique(row, return_inverse=True)[1]]
                for row in rows[places]
            ]
        )
    kinds, which = np.unique(firsts, axis=0, return_inverse=True)
    return [(kind.tolist(), places[which.ravel() == k]) for k, kind in enumerate(kinds)]


def _plates(board: Board) -> dict[tuple[int, int, Stack], list[int]]:
    """Groups that face each other through insulators, with the insulators, and the pieces where they do."""
    found: dict[tuple[int, int, Stack], list[int]] = {}
    for piece, column in enumerate(board.columns):
        kinds = board.kinds_at[piece]
        for low, kind in enumerate(kinds):
            high = through(kinds, low, +1) if kind == "conductor" else None
            if high is not None:
                groups = board.group_of[piece, low], board.group_of[piece, high]
                found.setdefault((*groups, stack_of(column, range(low + 1, high))), []).append(piece)
    return found


def _outline(nets: Map, where: Mapping[Spot, tuple[int, ...]]) -> Region:
    """Pieces at some spots as one region of the die."""
    return Region.joined(
        nets.boards[number].regions[piece].moved(*nets.offsets[number][place].tolist())
        for (number, place), pieces in where.items()
        for piece in pieces
    )


def _extent(nets: Map, where: Mapping[Spot, tuple[int, ...]]) -> dict[str, Any]:
    """Middle, area and perimeter of pieces at some spots, all together."""
    area = perimeter = 0.0
    boxes = []
    for (number, place), pieces in where.items():
        whole = plan_memo.joined([nets.boards[number].regions[piece] for piece in pieces])
        area += whole.area
        perimeter += whole.perimeter
        boxes.append(np.array(whole.bounds) + np.tile(nets.offsets[number][place], 2))
    if len(where) > 1:
        perimeter -= 2 * _inner_border(nets, where)
    (x0, y0), (x1, y1) = np.min(boxes, axis=0)[:2], np.max(boxes, axis=0)[2:]
    return {
        "place": (float(x0 + x1) / 2, float(y0 + y1) / 2),
        "area": square_metres(area),
        "perimeter": to_si(perimeter, "nm"),
    }


def _inner_border(nets: Map, where: Mapping[Spot, tuple[int, ...]]) -> float:
    """Length of the borders of windows between pieces at different spots [nm]."""
    length = 0.0
    for joint, seams in nets.joints:
        for one, other in zip(joint.ones.tolist(), joint.others.tolist(), strict=True):
            here, there = where.get((joint.one, one), ()), where.get((joint.other, other), ())
            if here and there:
                length += sum(
                    float(np.hypot(*(lines[:, 2:] - lines[:, :2]).T).sum())
                    for a, b, lines, _ in seams
                    if a in here and b in there
                )
    return length


def _crossing(nets: Map) -> list[list[Spot]]:
    """Spots that hang together because a semiconductor other than the body touches something across the border of their windows."""
    counts = [len(o) for o in nets.offsets]
    starts = np.concatenate([[0], np.cumsum(counts)])
    ones, others = [], []
    for joint, seams in nets.joints:
        one, other = nets.boards[joint.one], nets.boards[joint.other]
        if any(
            (one.kind((a, low)) == "semiconductor" and low > 0)
            or (other.kind((b, high)) == "semiconductor" and high > 0)
            for a, b, _, touches in seams
            for low, high in touches
        ):
            ones.append(starts[joint.one] + joint.ones)
            others.append(starts[joint.other] + joint.others)
    if not ones:
        return []
    numbers = linked(int(starts[-1]), np.concatenate(ones), np.concatenate(others))
    touched = np.unique(np.concatenate([*ones, *others]))
    groups: dict[int, list[Spot]] = {}
    for item in touched.tolist():
        board = int(np.searchsorted(starts, item, side="right")) - 1
        groups.setdefault(int(numbers[item]), []).append((board, item - int(starts[board])))
    return list(groups.values())


def _together(nets: Map, spots: Sequence[Spot]) -> tuple[Board, dict[Node, int]]:
    """Boards at some spots as one board, pieces that a window's border cuts put together again; and the nets of its conductors."""
    first: dict[Spot, int] = {}
    columns: list[Column] = []
    regions: list[Region] = []
    vertical: list[tuple[Node, Node]] = []
    across: list[_Across] = []
    nodes: dict[Node, int] = {}
    for number, place in spots:
        board, start = nets.boards[number], len(columns)
        first[number, place] = start
        dx, dy = nets.offsets[number][place].tolist()
        columns += board.columns
        regions += [region.moved(dx, dy) for region in board.regions]
        for border, touches in board.across:
            lines = border.lines + np.array([dx, dy, dx, dy])
            across.append((border.first + start, border.second + start, lines, touches, start, start))
        vertical += [((a + start, j), (b + start, k)) for (a, j), (b, k) in board.vertical]
        row = nets.nets[number][place]
        for (piece, layer), group in board.group_of.items():
            nodes[piece + start, layer] = int(row[group])
    ones, others = [], []
    for joint, seams in nets.joints:
        for one, other in zip(joint.ones.tolist(), joint.others.tolist(), strict=True):
            a0, b0 = first.get((joint.one, one)), first.get((joint.other, other))
            if a0 is None or b0 is None:
                continue
            dx, dy = nets.offsets[joint.one][one].tolist()
            for a, b, lines, met in seams:
                if columns[a + a0] == columns[b + b0]:
                    ones.append(a + a0)
                    others.append(b + b0)
                else:
                    nodes_touching = tuple(((a, low), (b, high)) for low, high in met)
                    across.append(
                        (a + a0, b + b0, lines + np.array([dx, dy, dx, dy]), nodes_touching, a0, b0)
                    )
    home = linked(len(columns), np.array(ones, dtype=np.int64), np.array(others, dtype=np.int64)).tolist()
    return _merged(nets, home, columns, regions, across, vertical, nodes)


def _merged(
    nets: Map,
    home: list[int],
    columns: list[Column],
    regions: list[Region],
    across: list[_Across],
    vertical: list[tuple[Node, Node]],
    nodes: dict[Node, int],
) -> tuple[Board, dict[Node, int]]:
    """The board in which pieces with one home are one piece."""
    members: dict[int, list[int]] = {}
    for piece, to in enumerate(home):
        members.setdefault(to, []).append(piece)
    whole = [Region.joined([regions[piece] for piece in members[k]]) for k in range(len(members))]
    joined: dict[tuple[int, int], tuple[list[Any], set[Any]]] = {}
    for one, other, lines, touches, a0, b0 in across:
        pairs = [((home[a + a0], j), (home[b + b0], k)) for (a, j), (b, k) in touches]
        flip = home[one] > home[other]
        key = (home[other], home[one]) if flip else (home[one], home[other])
        kept, met = joined.setdefault(key, ([], set()))
        kept.append(lines)
        met.update((b, a) if flip else (a, b) for a, b in pairs)
    board = Board(
        columns=tuple(columns[members[k][0]] for k in range(len(members))),
        regions=tuple(whole),
        kinds=nets.kinds,
        vertical=tuple(dict.fromkeys(((home[a], j), (home[b], k)) for (a, j), (b, k) in vertical)),
        across=tuple(
            (Border(*key, np.vstack(lines)), tuple(sorted(met)))
            for key, (lines, met) in sorted(joined.items())
        ),
    )
    return board, {(home[piece], layer): net for (piece, layer), net in nodes.items()}
