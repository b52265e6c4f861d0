"""The edges of a die as things of their own: each kind walked once more, as a section across it.

The review looks at the edges where something can go wrong: where what carries current climbs a step that is high for its
thickness, and where two conductors face each other across a wall. All others are emulated when they are asked for.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from filmwright.emulate.edge_sections import EdgeSections
from filmwright.units import show
from filmwright.wafer import (
    FENCE,
    Action,
    Column,
    Edge,
    EdgeJoins,
    EdgeKind,
    EdgeProfile,
    EdgeReader,
    Kind,
    Plan,
    Section,
    kinds_of_edges,
    meet,
    neighbours,
    without_fences,
)

STEEP = 0.5
"""A film that climbs a step higher than this share of its thickness may be thin or broken there."""

QUICK_STAGES = 1
"""Steps of time of an etch in the sections of the review; where a film ends is then known to a few nanometres."""


@dataclass(frozen=True, kw_only=True)
class EdgeSeen:
    """A kind of edge with its section and what was read off it.

    Attributes
    ----------
    kind : EdgeKind
    section : Section
    profile : EdgeProfile
    edges : mapping from (Column, Column) to Edge
        For the neighbouring columns of the kind, what ``read_nets`` takes instead of what the columns say.
    missing : frozenset of Column
        Strips in which the columns have a fence and the section has none.
    note : str
        Where section and columns disagree about what touches; the section wins. Empty when they agree.
    """

    kind: EdgeKind
    section: Section
    profile: EdgeProfile
    edges: Mapping[tuple[Column, Column], Edge]
    missing: frozenset[Column]
    note: str


@dataclass(frozen=True, kw_only=True)
class Edges:
    """The edges of one die that were emulated.

    Attributes
    ----------
    seen : tuple of EdgeSeen
        The longest first.
    """

    seen: tuple[EdgeSeen, ...] = ()
    _found: dict[tuple[Column, Column], Edge] = field(init=False, default_factory=dict, repr=False)

    def __post_init__(self) -> None:
        for each in reversed(self.seen):
            self._found.update(each.edges)

    def between(self, one: Column, other: Column) -> Edge:
        """The edge between two neighbouring columns: as emulated, else as the columns say."""
        return self._found.get((one, other)) or meet(one, other)

    def corrected(self, plan: Plan) -> Plan:
        """A plan without the fences that no section finds; corners go with the edges of their film."""
        missing = frozenset(column for each in self.seen for column in each.missing)
        stands = {fence.film for each in self.seen for fence in each.profile.fences}
        looked = {
            layer.film
            for each in self.seen
            for column in each.kind.columns
            for layer in column.layers
            if FENCE in layer.marks
        }
        if not missing:
            return plan
        return without_fences(plan, lambda column, layer: column in missing or layer.film in looked - stands)

    @property
    def notes(self) -> tuple[str, ...]:
        """Where sections and columns disagree."""
        return tuple(each.note for each in self.seen if each.note)


def emulated_edges(
    plan: Plan,
    start: Column,
    actions: Sequence[Action],
    kinds: Mapping[str, Kind],
    every: bool = False,
) -> Edges:
    """The edges of a die, each kind emulated once.

    Parameters
    ----------
    plan : Plan
        As it lies after the actions.
    start : Column
        The wafer as bought.
    actions : sequence of Action
    kinds : mapping from material to Kind
    every : bool
        All edges with the steps of time of a picture; else those only where something can go wrong, quickly.
    """
    between = None if every else doubted(neighbours(plan), kinds)
    left = frozenset(layer.film for column in plan.columns for layer in column.layers)
    sections = EdgeSections(start, actions, left, None if every else QUICK_STAGES)
    return Edges(seen=tuple(_seen(kind, sections, kinds) for kind in kinds_of_edges(plan, between)))


def _seen(kind: EdgeKind, sections: EdgeSections, kinds: Mapping[str, Kind]) -> EdgeSeen:
    section = sections.along(kind.line)
    reader = EdgeReader(section, kind.stretches, kinds)
    joins = EdgeJoins(reader)
    return EdgeSeen(
        kind=kind,
        section=section,
        profile=reader.profile(sections.feet(kind.line)),
        edges=joins.edges(),
        missing=joins.missing,
        note=_note(kind, joins) if joins.disagree else "",
    )


def _note(kind: EdgeKind, joins: EdgeJoins) -> str:
    x, y = kind.place
    where = f"at ({x / 1000:.1f}, {y / 1000:.1f}) µm and along {show(kind.length, 'length')} of such edges"
    return f"{where}: {joins.words()}, other than vertical walls would have it"


def doubted(
    between: Iterable[tuple[Column, Column]], kinds: Mapping[str, Kind]
) -> list[tuple[Column, Column]]:
    """Neighbouring columns of which the edge needs a section.

    What carries current climbs more than :data:`STEEP` of its thickness there, a fence of it stands there, or a conductor of
    one side faces a conductor of the other across a wall.

    Parameters
    ----------
    between : iterable of (Column, Column)
    kinds : mapping from material to Kind
    """
    return [
        pair for pair in between if _fenced(*pair, kinds) or _climbs(*pair, kinds) or _faces(*pair, kinds)
    ]


def _fenced(one: Column, other: Column, kinds: Mapping[str, Kind]) -> bool:
    """Whether a fence of a conductor stands at a wall that is no fence."""
    first, second = (
        any(FENCE in layer.marks and kinds[layer.material] == "conductor" for layer in column.layers)
        for column in (one, other)
    )
    return first != second


def _climbs(one: Column, other: Column, kinds: Mapping[str, Kind]) -> bool:
    """Whether conductors grown in a row climb a step that is high for them."""
    rows: list[tuple[float, float, int]] = []
    for climb in meet(one, other).climbs:
        layer = one.layers[climb.first]
        if kinds[layer.material] == "conductor":
            known = rows.pop() if rows and rows[-1][2] == layer.born - 1 else (climb.step, 0.0, 0)
            rows.append((known[0], known[1] + layer.thickness, layer.born))
    return any(step > STEEP * thickness for step, thickness, _ in rows)


def _faces(one: Column, other: Column, kinds: Mapping[str, Kind]) -> bool:
    """Whether conductors that are on one side only lie at one height with conductors of the other side only."""
    films = [{layer.film for layer in column.layers} for column in (one, other)]
    spans = [
        [
            span
            for span, layer in zip(_heights(column), column.layers, strict=True)
            if kinds[layer.material] == "conductor" and layer.film not in films[1 - side]
        ]
        for side, column in enumerate((one, other))
    ]
    return any(a < d and c < b for a, b in spans[0] for c, d in spans[1])


def _heights(column: Column) -> list[tuple[float, float]]:
    found, bottom = [], 0.0
    for layer in column.layers:
        found.append((bottom, bottom + layer.thickness))
        bottom += layer.thickness
    return found
