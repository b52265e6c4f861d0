"""Growth out of what lies beneath: a film that takes part of its thickness from one material.

Where that material is open the film grows on it. Where it lies under the film's own material, it grows at the border of the two
by what :meth:`~filmwright.wafer.actions.Grow.beneath` says for the vertical thickness there: the border sinks and the surface
rises. Not in the model: growth on walls that are covered, and the beak that creeps under the rim of a cover.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics import Columns, Kernel, Region, columns, swept_edges, swept_into
from filmwright.units import convert, to_si
from filmwright.wafer.actions import Grow
from filmwright.wafer.section_layers import Body, Layers

_TOUCHING_NM = 0.02
"""Pieces that lie on one another closer than this [nm] touch."""

Floats = NDArray[np.float64]
Outline = list[tuple[float, float]]


@dataclass(frozen=True, kw_only=True)
class _Strip:
    """A strip between two vertical lines in which the material lies under the film's own.

    Attributes
    ----------
    below, lowest, uppermost : int
        Pieces: of what is consumed, of the film's material on it, of the one at the surface.
    eaten, raised : outline [nm]
        What the border sinks by, and the surface rises by.
    """

    below: int
    lowest: int
    uppermost: int
    eaten: Outline
    raised: Outline


def consuming(layers: Layers, action: Grow, tolerance: float) -> Layers:
    """A film that takes part of its thickness from one material.

    Parameters
    ----------
    layers : Layers
    action : Grow
    tolerance : float [nm]
        By how much a rounded corner may be too thick.
    """
    strips = tuple(_strips(layers, action)) if action.through else ()
    film, shapes = _on_bare(layers, action, tolerance, _bands(strips, action))
    shapes = _beneath(layers, strips, shapes)
    added = [] if film.empty else [Body(material=action.material, film=action.film, shape=film)]
    return layers.changed(shapes, added) if shapes or added else layers


def _bands(strips: tuple[_Strip, ...], action: Grow) -> Region:
    """Where growth beneath a cover goes: the film on bare ground ends at their rims."""
    reach = convert(action.thickness, "nm")
    boxes = []
    for strip in strips:
        (left, low_left), (right, low_right), *_ = strip.eaten
        high = max(z for _, z in strip.raised)
        boxes.append(Region.box(left, min(low_left, low_right) - reach, right, high + reach))
    return Region.joined(boxes) if boxes else Region.of([])


def _on_bare(
    layers: Layers, action: Grow, tolerance: float, bands: Region
) -> tuple[Region, dict[int, Region]]:
    """The film where what it consumes is open, outside some bands, and what is left of the pieces there."""
    inward = convert(action.consumed, "nm")
    outward = convert(action.thickness, "nm") - inward
    exposed = layers.cover.exposed
    film = Region.of([])
    shapes: dict[int, Region] = {}
    for index, piece in enumerate(layers.pieces):
        source = exposed.where(exposed.cell == index)
        if piece.material != action.consumes or len(source.cell) == 0:
            continue
        if inward > 0:
            kernel = Kernel(side=inward, up=inward, down=inward, tolerance=min(tolerance, inward / 20))
            eaten = _outside(swept_into(piece.shape, source, kernel), bands)
            shapes[index] = piece.shape.difference(eaten)
            film = film.union(eaten)
        if outward > 0:
            kernel = Kernel(side=outward, up=outward, down=outward, tolerance=min(tolerance, outward / 20))
            film = film.union(_outside(swept_edges(source, kernel).intersection(layers.cover.open), bands))
    return film, shapes


def _outside(shape: Region, bands: Region) -> Region:
    return shape if bands.empty or shape.empty else shape.difference(bands)


def _beneath(layers: Layers, strips: tuple[_Strip, ...], shapes: dict[int, Region]) -> dict[int, Region]:
    """The pieces after growth beneath the film's own material."""
    shapes = dict(shapes)
    eaten: dict[tuple[int, int], list[Outline]] = {}
    raised: dict[int, list[Outline]] = {}
    for strip in strips:
        eaten.setdefault((strip.below, strip.lowest), []).append(strip.eaten)
        raised.setdefault(strip.uppermost, []).append(strip.raised)
    for (below, lowest), outlines in eaten.items():
        shape = shapes.get(below, layers.pieces[below].shape)
        taken = Region.of(outlines).intersection(shape)
        shapes[below] = shape.difference(taken)
        shapes[lowest] = shapes.get(lowest, layers.pieces[lowest].shape).union(taken)
    for uppermost, outlines in raised.items():
        cap = Region.of(outlines).intersection(layers.cover.open)
        shapes[uppermost] = shapes.get(uppermost, layers.pieces[uppermost].shape).union(cap)
    return shapes


def _strips(layers: Layers, action: Grow) -> Iterator[_Strip]:
    """Where the material lies under the film's own and nothing else."""
    x0, _, x1, _ = layers.cover.window
    found = columns(layers.cover.cells, [(x0, x1)])
    share = action.consumed / action.thickness
    for slab in range(len(found.x) - 1):
        first = int(found.first[slab])
        below = _first_other(layers, found, first, int(found.first[slab + 1]), action.material)
        if below is None or layers.pieces[found.cell[below]].material != action.consumes or below == first:
            continue
        over = found.top[first] - found.top[below]
        grows = [convert(action.beneath(to_si(depth, "nm")), "nm") for depth in over.tolist()]
        ends = (float(found.x[slab]), float(found.x[slab + 1]))
        yield _Strip(
            below=int(found.cell[below]),
            lowest=int(found.cell[below - 1]),
            uppermost=int(found.cell[first]),
            eaten=_outline(ends, found.top[below], [-share * grown for grown in grows]),
            raised=_outline(ends, found.top[first], [(1 - share) * grown for grown in grows]),
        )


def _first_other(layers: Layers, found: Columns, first: int, last: int, material: str) -> int | None:
    """The first trapezoid of a slab, from the surface down, that is of another material; None across a gap."""
    for each in range(first, last):
        if each > first and np.abs(found.bottom[each - 1] - found.top[each]).max() > _TOUCHING_NM:
            return None
        if layers.pieces[found.cell[each]].material != material:
            return each
    return None


def _outline(ends: tuple[float, float], line: Floats, moves: list[float]) -> Outline:
    """The trapezoid between a line and the same line moved at both of its ends."""
    (left, right), (z_left, z_right) = ends, line.tolist()
    return [
        (left, z_left),
        (right, z_right),
        (right, z_right + moves[1]),
        (left, z_left + moves[0]),
    ]
