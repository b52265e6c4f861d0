"""What can be read off a section."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics import OPEN, Edges, Region, closest, crossings, floor_of
from filmwright.units import to_si
from filmwright.wafer.section_layers import Body, Layers

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Thin:
    """The thinnest place of a film.

    Attributes
    ----------
    thickness : float [m]
        Distance between the two bodies that the film separates.
    x, z : float [nm]
        Where.
    ratio : float
        Over the thickness that the film was meant to have on flat ground; not a number when that is unknown.
    """

    thickness: float
    x: float
    z: float
    ratio: float


def together(pieces: Sequence[Body]) -> Region:
    """The shapes of several pieces as one region."""
    shape = pieces[0].shape
    for piece in pieces[1:]:
        shape = shape.union(piece.shape)
    return shape


def column(layers: Layers, x: float) -> tuple[tuple[str, str, float, float], ...]:
    """(material, film, bottom, top) [nm] at a place, from the lowest up."""
    found = crossings(layers.cover.cells, x)
    pieces = layers.pieces
    return tuple((pieces[k].material, pieces[k].film, low, high) for k, low, high in found)


def thickness(layers: Layers, film: str, x: float) -> float:
    """Vertical thickness [m] of a film at a place."""
    return to_si(sum(high - low for _, name, low, high in column(layers, x) if name == film), "nm")


def exposed(layers: Layers) -> dict[str, float]:
    """Length [nm] of open surface of each material."""
    edges = layers.cover.exposed
    lengths = np.bincount(edges.cell, weights=edges.length, minlength=len(layers.pieces))
    found: dict[str, float] = {}
    for piece, length in zip(layers.pieces, lengths.tolist(), strict=True):
        if length > 0:
            found[piece.material] = found.get(piece.material, 0.0) + length
    return found


def surface(layers: Layers) -> Floats:
    """The open surface seen from above, a polyline (n, 2) [nm]."""
    return floor_of(layers.cover.open).points


def contact(layers: Layers, first: str, second: str) -> float:
    """Length [nm] of the border between two materials or films."""
    names = [(piece.material, piece.film) for piece in layers.pieces]
    return sum(
        length
        for (a, b), length in layers.cover.contacts().items()
        if (first in names[a] and second in names[b]) or (first in names[b] and second in names[a])
    )


def thinnest(
    layers: Layers, film: str, nominal: float | None, below: frozenset[str], above: frozenset[str]
) -> Thin | None:
    """The thinnest place of a film between two sides; None where the film or a side is missing."""
    pieces = layers.pieces
    own = [k for k, piece in enumerate(pieces) if piece.film == film]
    if not own:
        return None
    names = [piece.material for piece in pieces]
    lower = [k for k in range(own[0]) if not below or names[k] in below]
    upper = [k for k in range(own[-1] + 1, len(pieces)) if not above or names[k] in above]
    edges = layers.cover.edges
    mine = edges.where(np.isin(edges.cell, own))
    floor = mine.where(np.isin(mine.other, lower))
    roof = mine.where(np.isin(mine.other, upper))
    if len(roof.cell) == 0 and not above:
        roof = _away_from_ends(mine.where(mine.other == OPEN), floor, nominal or 0.0)
    if len(floor.cell) == 0 or len(roof.cell) == 0:
        return None
    distance, x, z = closest(floor, roof)
    ratio = distance / nominal if nominal else float("nan")
    return Thin(thickness=to_si(distance, "nm"), x=x, z=z, ratio=ratio)


def _away_from_ends(roof: Edges, floor: Edges, reach: float) -> Edges:
    """Open edges that do not belong to the rim where a film ends on what it lies on."""
    corners = {tuple(point) for point in np.vstack([floor.start, floor.end]).tolist()}
    ends = np.array(
        [point for point in np.vstack([roof.start, roof.end]).tolist() if tuple(point) in corners],
        dtype=float,
    ).reshape(-1, 2)
    if len(ends) == 0:
        return roof
    nearest = np.full(len(roof.cell), np.inf)
    for point in ends:
        for tip in (roof.start, roof.end):
            nearest = np.minimum(nearest, np.hypot(*(tip - point).T))
    return roof.where(nearest > 1.5 * reach)
