"""What a section across an edge says about contacts, beside what the two columns say; the section wins.

The layers of the columns along a cut are found again as pieces of the section. Conductors that hang together there are one
net; where the columns alone (``column_edge.meet``) come to another answer, the edge is written anew from the section and the
disagreement is told.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from itertools import combinations, pairwise, product

from filmwright.units import to_si
from filmwright.wafer.column import FENCE, Column
from filmwright.wafer.column_edge import Climb, Edge, Touch, meet
from filmwright.wafer.edge_profile import TOUCH_NM, EdgeReader, Stretch, name_of
from filmwright.wafer.nets import Node, Sets

Edges = Mapping[tuple[Column, Column], Edge]
"""Edges by their two columns, in both orders."""

_SHIFT_NM = 60.0
"""By how much a strip of the plan may lie beside the film that the section finds (tapers, rounding) [nm]."""

_CARRIES = ("conductor", "semiconductor")


class EdgeJoins:
    """Contacts across one edge.

    Parameters
    ----------
    reader : EdgeReader
    """

    def __init__(self, reader: EdgeReader) -> None:
        self.reader = reader
        self.columns = [stretch.column for stretch in reader.stretches]
        self.by_columns = [meet(one, other) for one, other in pairwise(self.columns)]

    def pieces_of(self, node: Node) -> frozenset[int]:
        """The pieces of the section that are a layer of a column; empty when the section has none there."""
        reader, (place, layer) = self.reader, node
        film = name_of(self.columns[place].layers[layer])
        last = len(self.columns) - 1
        if place in (0, last):
            end = reader.ends[0 if place == 0 else 1]
            return frozenset({end[film]} if film in end else ())
        inside = self._within(film, reader.stretches[place], 0.0)
        return inside or self._within(film, reader.stretches[place], _SHIFT_NM)

    def _within(self, film: str, stretch: Stretch, aside: float) -> frozenset[int]:
        """The pieces of a film that lie in a strip rather than beside it."""
        low, high = stretch.start - aside, stretch.end + aside
        shares = {
            k: min(piece.shape.bounds[2], high) - max(piece.shape.bounds[0], low)
            for k, piece in enumerate(self.reader.pieces)
            if piece.film == film
        }
        most = max(shares.values(), default=0.0)
        return frozenset(k for k, share in shares.items() if share > max(most / 2, TOUCH_NM))

    def carriers(self, place: int, kinds: Iterable[str] = _CARRIES) -> list[Node]:
        """The layers of a column that carry current, the wafer body left out."""
        wanted = tuple(kinds)
        return [
            (place, k)
            for k, layer in enumerate(self.columns[place].layers)
            if k and self.reader.kinds[layer.material] in wanted
        ]

    def groups_by_columns(self) -> frozenset[frozenset[Node]]:
        """Conductors of the two sides that hang together, as the columns alone say."""
        return self._groups(self.by_columns)

    def _groups(self, edges: Iterable[Edge]) -> frozenset[frozenset[Node]]:
        nodes = [node for place in range(len(self.columns)) for node in self.carriers(place, ("conductor",))]
        sets, known = Sets(nodes), set(nodes)
        for place, layer in nodes:
            if (place, layer + 1) in known:
                sets.join((place, layer), (place, layer + 1))
        for place, edge in enumerate(edges):
            for touch in edge.touches:
                pair = (place, touch.first), (place + 1, touch.second)
                if known.issuperset(pair):
                    sets.join(*pair)
        return self._outer(sets.groups())

    def groups_by_section(self) -> frozenset[frozenset[Node]]:
        """Conductors of the two sides that hang together, as the section says."""
        reader = self.reader
        metal = [k for k, piece in enumerate(reader.pieces) if reader.kinds[piece.material] == "conductor"]
        found: list[list[Node]] = []
        left = set(metal)
        nodes = [
            node for place in (0, len(self.columns) - 1) for node in self.carriers(place, ("conductor",))
        ]
        while left:
            together = reader.reached([min(left)], metal)
            left -= together
            found.append([node for node in nodes if self.pieces_of(node) & together])
        placed = {node for group in found for node in group}
        return self._outer([*found, *([node] for node in nodes if node not in placed)])

    def _outer(self, groups: Iterable[Iterable[Node]]) -> frozenset[frozenset[Node]]:
        ends = (0, len(self.columns) - 1)
        kept = (frozenset(node for node in group if node[0] in ends) for group in groups)
        return frozenset(group for group in kept if group)

    @property
    def disagree(self) -> bool:
        """Whether section and columns join different conductors."""
        return self.groups_by_columns() != self.groups_by_section()

    def words(self) -> str:
        """The disagreement in words: what the section finds and the columns do not say."""
        found, thought = (_pairs(groups) for groups in (self.groups_by_section(), self.groups_by_columns()))
        joined = {self._named(pair): True for pair in found - thought}
        parted = {self._named(pair): False for pair in thought - found}
        return "; ".join(_said(*films, together) for films, together in sorted((joined | parted).items()))

    def _named(self, pair: frozenset[Node]) -> tuple[str, str]:
        one, other = sorted(name_of(self.columns[place].layers[layer]) for place, layer in pair)
        return one, other

    @property
    def missing(self) -> frozenset[Column]:
        """Strips of which the columns say that a fence stands there, and the section that none does."""
        return frozenset(
            column
            for place, column in enumerate(self.columns)
            for layer, each in enumerate(column.layers)
            if FENCE in each.marks and not self.pieces_of((place, layer))
        )

    def edges(self) -> dict[tuple[Column, Column], Edge]:
        """Every pair of neighbouring columns with its edge as the section has it."""
        differ = self.disagree
        found: dict[tuple[Column, Column], Edge] = {}
        for place, by_columns in enumerate(self.by_columns):
            edge = replace(by_columns, climbs=tuple(self._climbs(place, by_columns)))
            if differ:
                edge = replace(edge, touches=self._touches(place, by_columns))
            one, other = self.columns[place], self.columns[place + 1]
            found[one, other], found[other, one] = edge, turned(edge)
        return found

    def _touches(self, place: int, by_columns: Edge) -> tuple[Touch, ...]:
        """Contacts as in the section; what carries no current stays as the columns say."""
        one, other = self.carriers(place), self.carriers(place + 1)
        carry = {layer for _, layer in one}, {layer for _, layer in other}
        rest = [t for t in by_columns.touches if t.first not in carry[0] or t.second not in carry[1]]
        measured = (Touch(a[1], b[1], self._height(a, b)) for a, b in product(one, other))
        return (*rest, *(touch for touch in measured if touch.height > 0))

    def _height(self, one: Node, other: Node) -> float:
        """How much of two layers is in contact [m]; 0 when they are apart."""
        mine, theirs = self.pieces_of(one), self.pieces_of(other)
        if mine & theirs:
            return min(self.columns[place].layers[layer].thickness for place, layer in (one, other))
        lengths = self.reader.section.layers.cover.contacts()
        return to_si(
            sum(
                lengths[min(a, b), max(a, b)]
                for a in mine
                for b in self.reader.touching.get(a, set()) & theirs
            ),
            "nm",
        )

    def _climbs(self, place: int, by_columns: Edge) -> Iterable[Climb]:
        """Films over the step, those that carry current with the wall and the wholeness that the section finds."""
        columns = self.columns[place], self.columns[place + 1]
        outer = [{layer.born: layer for layer in self.columns[end].layers} for end in (0, -1)]
        for climb in by_columns.climbs:
            layer = columns[0].layers[climb.first]
            carries = self.reader.kinds[layer.material] in _CARRIES
            if not carries or any(layer.born not in side for side in outer):
                yield climb
                continue
            found = self.reader.crossing([(outer[0][layer.born], outer[1][layer.born])])
            yield replace(climb, wall=found.least, whole=found.whole)


def _pairs(groups: Iterable[frozenset[Node]]) -> set[frozenset[Node]]:
    return {frozenset(pair) for group in groups for pair in combinations(group, 2)}


def _said(one: str, other: str, together: bool) -> str:
    if one == other:
        return f"{one} {'goes across in one piece' if together else 'is interrupted'}"
    return f"{one} and {other} {'touch' if together else 'do not touch'}"


def turned(edge: Edge) -> Edge:
    """An edge seen from its other side."""
    return Edge(
        tuple(Touch(t.second, t.first, t.height) for t in edge.touches),
        tuple(replace(c, first=c.second, second=c.first) for c in edge.climbs),
        tuple(replace(b, side=1 - b.side) for b in edge.bare),
    )
