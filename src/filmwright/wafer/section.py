"""A cross-section of the wafer along a cut through the drawing, and what each action makes of it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from filmwright.errors import BadInput, Problem
from filmwright.numerics import Polyline, Region
from filmwright.units import convert, to_si
from filmwright.wafer import section_read
from filmwright.wafer.actions import Action, Alter, Clear, Coat, Grow, Heat, Print, Remove
from filmwright.wafer.section_clear import cleared
from filmwright.wafer.section_coat import coated, printed
from filmwright.wafer.section_grow import grown
from filmwright.wafer.section_layers import CEILING_NM, SIMPLIFIED_NM, Body, Event, Layers
from filmwright.wafer.section_read import Step, Thin, Undercut
from filmwright.wafer.section_remove import removed

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Section:
    """Material polygons along a cut: x runs along the cut, z is up, 0 at the top of the wafer body;
    nanometres.

    Operations return new sections.

    Attributes
    ----------
    cut : Polyline
        In the drawing; x = 0 is its first point.
    layers : Layers
        The pieces, their borders and what the last action did besides.
    nominal : mapping from film to float [nm]
        Thickness that each film was meant to have on flat ground.
    tolerance : float [nm]
        By how much a rounded corner may differ from a true arc.
    """

    cut: Polyline
    layers: Layers
    nominal: Mapping[str, float]
    tolerance: float = 0.1

    @classmethod
    def start(
        cls,
        cut: Polyline,
        body: str,
        films: Sequence[tuple[str, str, float]] = (),
        *,
        margin: float = 5000.0,
        depth: float = 10000.0,
        tolerance: float = 0.1,
    ) -> Section:
        """A bare wafer with flat films.

        Parameters
        ----------
        cut : Polyline
        body : str
            Material of the wafer.
        films : sequence of (material, film, thickness [m])
            From the lowest up.
        margin : float [nm]
            By how much the section goes on beyond both ends of the cut. What the cut meets at an end goes on
            to the edge; a margin wider than the thickest film keeps the edge without influence.
        depth : float [nm]
            Depth of wafer body that takes part.
        tolerance : float [nm]
        """
        x0, x1 = -margin, cut.length + margin
        window = (x0, -depth, x1, CEILING_NM)
        bodies = [Body(material=body, film=body, shape=Region.box(x0, -depth, x1, 0.0))]
        z = 0.0
        nominal = {}
        for material, film, thickness in films:
            nominal[film] = convert(thickness, "nm")
            bodies.append(Body(material=material, film=film, shape=Region.box(x0, z, x1, z + nominal[film])))
            z += nominal[film]
        return cls(cut, Layers.of(bodies, window), MappingProxyType(nominal), tolerance)

    def apply(self, action: Action, *, stages: int | None = None) -> Section:
        """The section after an action.

        Parameters
        ----------
        action : Action
        stages : int, optional
            Steps of time of an etch that goes sideways.
        """
        before = replace(self.layers, events=(), floated=())
        nominal = self.nominal
        match action:
            case Grow():
                after = grown(before, action, self.tolerance, self.bearing)
            case Coat():
                after = coated(before, action)
            case Print():
                after = printed(before, action, self.cut)
            case Remove():
                after = removed(before, action, self.tolerance, stages)
            case Clear():
                after = cleared(before, action)
            case Alter():
                after = _altered(before, action)
            case Heat():
                after = before
        if isinstance(action, Grow | Coat | Print | Remove) and after is not before:
            after = after.simplified(SIMPLIFIED_NM)
        if isinstance(action, Grow | Coat):
            nominal = MappingProxyType({**nominal, action.film: convert(action.thickness, "nm")})
        return replace(self, layers=after, nominal=nominal)

    @property
    def bearing(self) -> float:
        """Direction of the cut in the drawing, from its first point to its last [rad]."""
        (x0, y0), (x1, y1) = self.cut.points[0], self.cut.points[-1]
        return math.atan2(y1 - y0, x1 - x0)

    @property
    def window(self) -> tuple[float, float, float, float]:
        """x0, z0, x1, z1 [nm] of everything that takes part."""
        return self.layers.cover.window

    @cached_property
    def bodies(self) -> tuple[Body, ...]:
        """One body per film and state, from the oldest to the youngest."""
        found: dict[tuple[str, str, frozenset[str]], list[Body]] = {}
        for piece in self.layers.pieces:
            found.setdefault((piece.material, piece.film, piece.marks), []).append(piece)
        return tuple(
            pieces[0] if len(pieces) == 1 else replace(pieces[0], shape=section_read.together(pieces))
            for pieces in found.values()
        )

    @property
    def pieces(self) -> tuple[Body, ...]:
        """Every connected piece, from the oldest to the youngest."""
        return self.layers.pieces

    @property
    def events(self) -> tuple[Event, ...]:
        """What the last action did besides what it was meant for."""
        return self.layers.events

    @property
    def floated(self) -> tuple[Body, ...]:
        """What the last action floated off."""
        return self.layers.floated

    def polygons(self) -> tuple[tuple[Body, tuple[Floats, ...]], ...]:
        """Each body with its outlines for drawing, arrays (n, 2) [nm]."""
        return tuple((body, body.shape.rings()) for body in self.bodies)

    def column(self, x: float) -> tuple[tuple[str, str, float, float], ...]:
        """(material, film, bottom, top) [nm] of what lies at a place, from the lowest up."""
        self._check(x)
        return section_read.column(self.layers, x)

    def thickness(self, film: str, x: float) -> float:
        """Vertical thickness [m] of a film at a place x [nm]; 0 where it is not."""
        self._check(x)
        return section_read.thickness(self.layers, film, x)

    def thinnest(
        self, film: str, below: frozenset[str] = frozenset(), above: frozenset[str] = frozenset()
    ) -> Thin | None:
        """The thinnest place of a film between what lies below and what lies above it.

        Parameters
        ----------
        film : str
        below, above : frozenset of str
            Materials that count as the two sides, older than the film and younger; empty: all of them, and
            above a film on which nothing lies the open ambient.
        """
        return section_read.thinnest(self.layers, film, self.nominal.get(film), below, above)

    def exposed(self) -> dict[str, float]:
        """Length [nm] of open surface of each material."""
        return section_read.exposed(self.layers)

    def surface(self) -> Floats:
        """The open surface seen from above, a polyline (n, 2) [nm] with vertical jumps."""
        return section_read.surface(self.layers)

    def contacts(self, first: str, second: str) -> float:
        """Length [nm] of the border between two materials or films."""
        return section_read.contact(self.layers, first, second)

    def voids(self) -> tuple[Region, ...]:
        """Enclosed ambient."""
        return self.layers.cover.pockets

    def area(self, name: str) -> float:
        """Area [nm²] of a material or film."""
        return sum(piece.area for piece in self.layers.pieces if name in (piece.material, piece.film))

    def volume(self, name: str, width: float) -> float:
        """Volume [m³] of a material or film along a straight edge of a width [m] across the cut."""
        return to_si(to_si(self.area(name), "nm"), "nm") * width

    def overlap(self, first: str, second: str) -> float:
        """Length [m] along the cut over which two materials or films both lie."""
        return to_si(section_read.overlap(self.layers, first, second), "nm")

    def undercuts(self, film: str, over: str) -> tuple[Undercut, ...]:
        """How far the edges of a film on level ground lie behind those of what lies over it, from the left.

        Parameters
        ----------
        film, over : str
            Materials or films, e.g. a metal and the resist on it.
        """
        return section_read.undercuts(self.layers, film, over)

    def steps(self, least: float = 0.0) -> tuple[Step, ...]:
        """Steps of the open surface higher than ``least`` [m], from the left."""
        return section_read.steps(self.layers, convert(least, "nm"))

    def _check(self, x: float) -> None:
        x0, _, x1, _ = self.window
        if not x0 <= x < x1:
            raise BadInput(
                Problem(
                    what="the place along the cut",
                    expected=f"between {x0:g} nm and {x1:g} nm",
                    got=f"{x:g} nm",
                    why="the section ends there",
                    remedy="choose a place on the cut",
                )
            )


def _altered(layers: Layers, action: Alter) -> Layers:
    """The pieces of a material that are open to the ambient, with one more mark."""
    open_pieces = set(layers.cover.exposed.cell.tolist())
    pieces = tuple(
        replace(piece, marks=piece.marks | {action.mark})
        if piece.material == action.material and k in open_pieces
        else piece
        for k, piece in enumerate(layers.pieces)
    )
    return Layers(pieces, layers.cover)
