"""What meets what where two columns stand side by side.

An edge is re-grown from its two columns, film by film in the order of growth, as a vertical wall of changing cover:

* A film that is on **both** sides and has a thickness on walls (``side_wall`` above 0) runs down the wall in one piece. It
  touches everything that the wall still shows, and hides it from every later film.
* A film that came in **line of sight** leaves the wall bare. It is in one piece only if it is thicker than the step;
  otherwise its lower part touches what the wall shows up to its own height, and the rest of the wall stays bare.
* A film on the **lower side only** touches what the wall shows up to its own surface, and the whole wall if it covers
  walls. One on the **upper side only** makes the wall higher.
* An **overhang** (the undercut of a lift-off resist) keeps the film in two pieces as long as its wall thickness is
  smaller than the overhang and its ``side_wall`` at most one half; a film more conformal than that creeps under and seals it.

Walls are vertical and films have one thickness on a wall. Undercut enters as a shift of the edge itself (see ``plan``), facets
and the rounding of corners belong to the section.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from filmwright.wafer.column import THINNEST, Column, Layer

CREEPS = 0.5
"""Above this side-wall fraction a film closes under any overhang (judgement)."""


@dataclass(frozen=True)
class Touch:
    """Two layers touch across an edge.

    Attributes
    ----------
    first, second : int
        Places in the two columns.
    height : float [m]
        Height of the contact.
    """

    first: int
    second: int
    height: float


@dataclass(frozen=True)
class Climb:
    """One film that is on both sides of a step.

    Attributes
    ----------
    first, second : int
        Its places in the two columns.
    step : float [m]
        Height of the wall when it grew.
    wall : float [m]
        Its thickness on the wall; for a film in line of sight, by how much it stands over the step.
    whole : bool
        Whether it climbs in one piece.
    """

    first: int
    second: int
    step: float
    wall: float
    whole: bool


@dataclass(frozen=True)
class Bare:
    """A part of the wall that shows. ``side`` : 0 for the first column, 1 for the second; ``height`` : float [m]."""

    side: int
    layer: int
    height: float


@dataclass(frozen=True)
class Edge:
    """Everything that two columns share along their common border.

    Attributes
    ----------
    touches : tuple of Touch
    climbs : tuple of Climb
    bare : tuple of Bare
    """

    touches: tuple[Touch, ...]
    climbs: tuple[Climb, ...]
    bare: tuple[Bare, ...]

    def shows(self, side: int, layer: int) -> bool:
        """Whether the wall shows a layer of one side."""
        return any(part.side == side and part.layer == layer for part in self.bare)


def _tidy(height: float) -> float:
    """A height without the rounding of sums over a thick body, so that equal steps are one kind of step."""
    return round(height / THINNEST) * THINNEST


@dataclass
class _Wall:
    """The edge while it is re-grown."""

    columns: tuple[Column, Column]
    heights: list[float] = field(default_factory=lambda: [0.0, 0.0])
    parts: list[tuple[float, float, int, int]] = field(default_factory=list)
    touches: list[Touch] = field(default_factory=list)
    climbs: list[Climb] = field(default_factory=list)

    @property
    def low(self) -> int:
        """The side whose surface is lower."""
        return 0 if self.heights[0] <= self.heights[1] else 1

    def layer(self, side: int, place: int) -> Layer:
        return self.columns[side].layers[place]

    def touch(self, side: int, place: int, up_to: float) -> None:
        """The layer of one side touches what the other side's wall shows below a height."""
        for bottom, top, owner, other in self.parts:
            height = min(top, up_to) - bottom
            if owner != side and height > THINNEST:
                pair = (place, other) if side == 0 else (other, place)
                self.touches.append(Touch(*pair, height))

    def cut_below(self, height: float) -> None:
        """Forget the wall below a height."""
        self.parts = [
            (max(bottom, height), top, side, place)
            for bottom, top, side, place in self.parts
            if top - height > THINNEST
        ]

    def add(self, bottom: float, top: float, side: int, place: int) -> None:
        if top - bottom > THINNEST:
            self.parts.append((bottom, top, side, place))

    def seals(self, layer: Layer) -> bool:
        """Whether a film covers the wall as it now stands, overhangs included."""
        if layer.side_wall <= 0:
            return False
        overhang = max((self.layer(side, place).overhang for _, _, side, place in self.parts), default=0.0)
        return layer.side_wall > CREEPS or layer.side_wall * layer.thickness >= overhang

    def grow_both(self, places: tuple[int, int]) -> None:
        """A film on both sides."""
        low, high = self.low, 1 - self.low
        below, above = self.layer(low, places[low]), self.layer(high, places[high])
        foot, rim = self.heights[low], self.heights[high]
        step = rim - foot
        self.heights[low], self.heights[high] = foot + below.thickness, rim + above.thickness
        if step <= THINNEST:
            self.touches.append(Touch(*places, min(below.thickness, above.thickness)))
            self._edge_of_flat(places)
            return
        if self.seals(above):
            wall = above.side_wall * max(above.thickness, below.thickness)
            self.touch(low, places[low], rim)
            self.touches.append(Touch(*places, wall))
            self.climbs.append(Climb(*places, _tidy(step), _tidy(wall), True))
            self._edge_of_flat(places)
            return
        self._line_of_sight(places, low, step)

    def _line_of_sight(self, places: tuple[int, int], low: int, step: float) -> None:
        """The film has been put on both sides and the wall is still bare."""
        high = 1 - low
        overhung = any(self.layer(side, place).overhang > 0 for _, _, side, place in self.parts)
        self.touch(low, places[low], self.heights[low])
        standing = self.layer(low, places[low]).thickness - step
        whole = standing > THINNEST and not overhung
        self.climbs.append(Climb(*places, _tidy(step), _tidy(max(standing, 0.0)), whole))
        if whole:
            self.touches.append(Touch(*places, standing))
            self._edge_of_flat(places)
            return
        rim = self.heights[high] - self.layer(high, places[high]).thickness
        self.cut_below(self.heights[low])
        self.add(max(rim, self.heights[low]), self.heights[high], high, places[high])

    def _edge_of_flat(self, places: tuple[int, int]) -> None:
        """After a film that hides the wall: what is left of the step shows that film."""
        high = 1 - self.low
        self.parts = []
        self.add(self.heights[self.low], self.heights[high], high, places[high])

    def grow_one(self, side: int, place: int) -> None:
        """A film on one side only."""
        layer = self.layer(side, place)
        was_low = side == self.low and self.heights[1 - side] - self.heights[side] > THINNEST
        bottom = self.heights[side]
        self.heights[side] = top = bottom + layer.thickness
        if not was_low:
            self.add(bottom, top, side, place)
            return
        rim = self.heights[1 - side]
        sealed = self.seals(layer)
        self.touch(side, place, rim if sealed else min(top, rim))
        if top >= rim:
            self.parts = []
            self.add(rim, top, side, place)
        elif sealed:
            self.parts = []
            self.add(top, rim, side, place)
        else:
            self.cut_below(top)


def meet(first: Column, second: Column) -> Edge:
    """The edge between two neighbouring columns, re-grown in the order of growth.

    Parameters
    ----------
    first, second : Column
    """
    wall = _Wall((first, second))
    a, b = 0, 0
    one, two = first.layers, second.layers
    while a < len(one) or b < len(two):
        born_a = one[a].born if a < len(one) else None
        born_b = two[b].born if b < len(two) else None
        if born_a == born_b:
            wall.grow_both((a, b))
            a, b = a + 1, b + 1
        elif born_b is None or (born_a is not None and born_a < born_b):
            wall.grow_one(0, a)
            a += 1
        else:
            wall.grow_one(1, b)
            b += 1
    bare = tuple(Bare(side, place, top - bottom) for bottom, top, side, place in wall.parts)
    return Edge(tuple(wall.touches), tuple(wall.climbs), bare)
