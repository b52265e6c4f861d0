"""What a section is made of: bodies side by side, edge-matched, under the open ambient."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from filmwright.numerics import Coverage, Polyline, Region

CEILING_NM = 1e6
"""Height of the open ambient over the wafer body [nm]; no film reaches it."""
SIMPLIFIED_NM = 0.05
"""After each action a vertex goes whose triangle with its neighbours is smaller than this squared [nm²]."""


@dataclass(frozen=True, kw_only=True)
class Body:
    """One material in one place.

    Attributes
    ----------
    material : str
    film : str
        The growth that it came from; the name of the material for the wafer body.
    shape : Region
        x along the cut and z up [nm].
    marks : frozenset of str
        States that :class:`Alter` gave it.
    """

    material: str
    film: str
    shape: Region
    marks: frozenset[str] = frozenset()

    @property
    def area(self) -> float:
        """Area [nm²]."""
        return self.shape.area


@dataclass(frozen=True, kw_only=True)
class Event:
    """Something that an action did besides what it was meant for.

    Attributes
    ----------
    kind : str
        ``floated`` (a piece lost its footing and went), ``bridged`` (a piece lost what lay under it and still
        hangs on), ``torn`` (a film gave way where it was thin), ``sealed`` (a void was closed in).
    material, film : str
        Empty for a void.
    x, z : float [nm]
        Middle of its bounding box; of the tear.
    area : float [nm²]
        0 for a tear.
    height : float [nm]
        Of the fence that a tear leaves, above its foot.
    """

    kind: str
    material: str
    film: str
    x: float
    z: float
    area: float
    height: float = 0.0

    @classmethod
    def of(cls, kind: str, body: Body) -> Event:
        """An event that happened to a body."""
        return cls.at(kind, body.shape, body.material, body.film)

    @classmethod
    def at(cls, kind: str, shape: Region, material: str = "", film: str = "") -> Event:
        """An event in a place."""
        x0, z0, x1, z1 = shape.bounds
        return cls(kind=kind, material=material, film=film, x=(x0 + x1) / 2, z=(z0 + z1) / 2, area=shape.area)


@dataclass(frozen=True, eq=False)
class Layers:
    """Connected pieces from the oldest to the youngest; ``pieces[k]`` is cell ``k`` of the coverage.

    Attributes
    ----------
    pieces : tuple of Body
    cover : Coverage
    events : tuple of Event
        Of the last action.
    floated : tuple of Body
        What the last action floated off.
    """

    pieces: tuple[Body, ...]
    cover: Coverage
    events: tuple[Event, ...] = ()
    floated: tuple[Body, ...] = field(default=())

    @classmethod
    def of(cls, bodies: Sequence[Body], window: tuple[float, float, float, float]) -> Layers:
        """Pieces made of bodies, with every common border matched."""
        cover, owner = Coverage.matched([body.shape for body in bodies], window)
        cells = cover.cells
        pieces = tuple(replace(bodies[k], shape=cell) for k, cell in zip(owner.tolist(), cells, strict=True))
        return cls(pieces, cover)

    def changed(self, shapes: Mapping[int, Region], added: Iterable[Body] = ()) -> Layers:
        """The same with other shapes for some pieces and with new bodies on top."""
        bodies = [
            replace(piece, shape=shapes[k]) if k in shapes else piece for k, piece in enumerate(self.pieces)
        ]
        return Layers.of([*bodies, *added], self.cover.window).with_events(self.events, self.floated)

    def simplified(self, tolerance: float) -> Layers:
        """The same with vertices left out whose triangles are smaller than ``tolerance`` squared [nm²]."""
        cover = self.cover.simplified(tolerance)
        pieces = tuple(
            replace(piece, shape=cell) for piece, cell in zip(self.pieces, cover.cells, strict=True)
        )
        return replace(self, pieces=pieces, cover=cover)

    def without(self, gone: Iterable[int]) -> Layers:
        """The same without some pieces."""
        out = frozenset(gone)
        kept = [k for k in range(len(self.pieces)) if k not in out]
        cover = Coverage(tuple(self.cover.shapes[k] for k in kept), self.cover.window)
        return replace(self, pieces=tuple(self.pieces[k] for k in kept), cover=cover)

    def with_events(self, events: Iterable[Event], floated: Iterable[Body] = ()) -> Layers:
        """The same with what happened."""
        return replace(self, events=(*self.events, *events), floated=(*self.floated, *floated))

    @property
    def roots(self) -> list[int]:
        """The pieces that reach the bottom of the window."""
        bottom = self.cover.window[1]
        return [k for k, piece in enumerate(self.pieces) if piece.shape.bounds[1] <= bottom]

    def standing(self) -> Layers:
        """What still has its footing; the rest has floated off and is named in the events."""
        held = self.cover.linked(self.roots)
        lost = [k for k in range(len(self.pieces)) if k not in held]
        if not lost:
            return self
        bodies = [self.pieces[k] for k in lost]
        events = [Event.of("floated", body) for body in bodies]
        return self.without(lost).with_events(events, bodies)


def print_spans(keep: Region, cut: Polyline) -> tuple[tuple[float, float], ...]:
    """Where a cut runs inside a region; infinite where it ends inside, for the region goes on beyond.

    Parameters
    ----------
    keep : Region [nm]
    cut : Polyline [nm]
    """
    spans = []
    for start, end in keep.along(cut):
        low = float("-inf") if start <= 0.5 else start
        high = float("inf") if end >= cut.length - 0.5 else end
        spans.append((low, high))
    return tuple(spans)
