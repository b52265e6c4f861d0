"""What can be read off a section."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics import OPEN, Edges, Polyline, Region, closest, crossings, floor_of
from filmwright.units import to_si
from filmwright.wafer.section_layers import Body, Layers

Floats = NDArray[np.float64]

LEVEL_NM = 0.02
"""How far inside its upper and lower side a film's edge is looked at [nm]."""


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


@dataclass(frozen=True, kw_only=True)
class Undercut:
    """How far one edge of a film lies behind the edge of what lies over it; below 0 where it stands out.

    Attributes
    ----------
    x : float [nm]
        Edge of the upper film.
    top, foot : float [m]
        At the upper and at the lower side of the film beneath.
    """

    x: float
    top: float
    foot: float


@dataclass(frozen=True, kw_only=True)
class Step:
    """A place where the open surface rises or falls steeply.

    Attributes
    ----------
    x : float [nm]
        Its middle.
    height : float [m]
        From its left to its right, below 0 where it falls.
    """

    x: float
    height: float


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


def overlap(layers: Layers, first: str, second: str) -> float:
    """Length along the cut over which two films or materials both lie [nm]."""
    spans = [
        [piece.shape.bounds[::2] for piece in layers.pieces if name in (piece.material, piece.film)]
        for name in (first, second)
    ]
    merged = [_merged(each) for each in spans]
    return sum(max(min(b, d) - max(a, c), 0.0) for a, b in merged[0] for c, d in merged[1])


def _merged(spans: Sequence[tuple[float, ...]]) -> list[tuple[float, float]]:
    """Intervals without overlap, in order."""
    found: list[tuple[float, float]] = []
    for low, high in sorted((each[0], each[1]) for each in spans):
        if found and low <= found[-1][1]:
            found[-1] = (found[-1][0], max(high, found[-1][1]))
        else:
            found.append((low, high))
    return found


def undercuts(layers: Layers, film: str, over: str) -> tuple[Undercut, ...]:
    """For each edge of the pieces of ``over`` beneath which a level film lies, how far that film's edge is behind it."""
    left, _, right, _ = layers.cover.window
    found = []
    for upper in (piece for piece in layers.pieces if over in (piece.material, piece.film)):
        a, _, b, _ = upper.shape.bounds
        for lower in (piece for piece in layers.pieces if film in (piece.material, piece.film)):
            c, low, d, high = lower.shape.bounds
            if d < a or c > b:
                continue
            (foot_c, foot_d), (top_c, top_d) = (
                _ends(lower, low + LEVEL_NM, a, b),
                _ends(lower, high - LEVEL_NM, a, b),
            )
            if a > left:
                found.append(Undercut(x=a, top=to_si(top_c - a, "nm"), foot=to_si(foot_c - a, "nm")))
            if b < right:
                found.append(Undercut(x=b, top=to_si(b - top_d, "nm"), foot=to_si(b - foot_d, "nm")))
    return tuple(sorted(found, key=lambda each: each.x))


def _ends(body: Body, z: float, low: float, high: float) -> tuple[float, float]:
    """From where to where a body lies at a height, of the stretches that meet an interval."""
    x0, _, x1, _ = body.shape.bounds
    line = Polyline(((x0 - 1.0, z), (x1 + 1.0, z)))
    spans = [(x0 - 1.0 + a, x0 - 1.0 + b) for a, b in body.shape.along(line)]
    met = [span for span in spans if span[1] > low and span[0] < high] or [((low + high) / 2,) * 2]
    return met[0][0], met[-1][1]


def steps(layers: Layers, least: float) -> tuple[Step, ...]:
    """Stretches of the open surface steeper than 45° that rise or fall by more than ``least`` [nm], from the left."""
    line = surface(layers)
    rise, run = np.diff(line[:, 1]), np.diff(line[:, 0])
    way = np.where(np.abs(rise) > run, np.sign(rise), 0.0)
    cuts = np.flatnonzero(np.diff(way) != 0) + 1
    found = []
    for begin, end in zip([0, *cuts.tolist()], [*cuts.tolist(), len(way)], strict=True):
        height = float(line[end, 1] - line[begin, 1])
        if way[begin] != 0 and abs(height) > least:
            x = float(line[begin, 0] + line[end, 0]) / 2
            found.append(Step(x=x, height=to_si(height, "nm")))
    return tuple(found)
