"""Liquids that level, and resist that an exposure shapes."""

from __future__ import annotations

import math

import numpy as np

from filmwright.numerics import Polyline, Region, crossings, floor_of, tent_smoothed, under
from filmwright.units import convert
from filmwright.wafer.actions import Coat, Print
from filmwright.wafer.section_layers import Body, Layers, print_spans

ROUNDS = 30
"""Most corrections of the level of a coat that leaves high ground bare."""
LEAST_LEVELLING_NM = 50.0
"""Shorter levelling lengths are taken as this one [nm]."""


def coated(layers: Layers, action: Coat) -> Layers:
    """A liquid film whose surface is the topography averaged over the levelling length, plus its mean
    thickness.

    The area of liquid is that of a flat film. It fills what lies under overhangs (an assumption: it wets
    everything).

    Parameters
    ----------
    layers : Layers
    action : Coat
    """
    thickness = convert(action.thickness, "nm")
    if thickness <= 0:
        return layers
    ambient = layers.cover.open
    x0, base, x1, _ = layers.cover.window
    line = tent_smoothed(floor_of(ambient), max(convert(action.levelling, "nm"), LEAST_LEVELLING_NM))
    width = x1 - x0
    level, step = thickness, 0.0
    slope, before = width, 0.0
    for _ in range(ROUNDS):
        film = ambient.intersection(under(line + np.array([0.0, level]), base))
        if step:
            slope = min(max((film.area - before) / step, 0.01 * width), width)
        if abs(film.area - thickness * width) < 1e-3 * width:
            break
        before = film.area
        step = (thickness * width - film.area) / slope
        level += step
    return layers.changed({}, [Body(material=action.material, film=action.film, shape=film)])


def printed(layers: Layers, action: Print, cut: Polyline) -> Layers:
    """The youngest film of a resist, kept where the print leaves it.

    The foot of each wall lies at the drawn edge plus the bias. Above it the wall leans by the side-wall angle. One layer with an
    undercut leans outward by it, spread over the thickness at that place; of two layers the lower stands upright at the foot
    and the upper begins further out by the undercut. A toe runs down from the wall to the foot at 45°.

    Parameters
    ----------
    layers : Layers
    action : Print
    cut : Polyline
    """
    films = [piece.film for piece in layers.pieces if piece.material == action.material]
    if not films:
        return layers
    chosen = [
        k
        for k, piece in enumerate(layers.pieces)
        if piece.film == films[-1] and piece.material == action.material
    ]
    resist = Region.of([]) if not chosen else layers.pieces[chosen[0]].shape
    for k in chosen[1:]:
        resist = resist.union(layers.pieces[k].shape)
    bias = convert(action.bias, "nm")
    x0, z0, x1, _ = layers.cover.window
    ends = (z0, resist.bounds[3] + 1.0)
    kept = Region.of([])
    for start, end in print_spans(action.keep, cut):
        left = [(x0, ends[0]), (x0, ends[1])]
        right = [(x1, ends[0]), (x1, ends[1])]
        if math.isfinite(start):
            left = _wall(resist, start - bias, -1.0, action, ends)
        if math.isfinite(end):
            right = _wall(resist, end + bias, 1.0, action, ends)
        if left[0][0] < right[0][0]:
            kept = kept.union(_between(left, right))
    return layers.changed({k: layers.pieces[k].shape.intersection(kept) for k in chosen})


Wall = list[tuple[float, float]]


def _between(left: Wall, right: Wall) -> Region:
    """What lies to the right of one wall and to the left of another; walls that meet below their tops make a roof."""
    places = [x for x, _ in (*left, *right)]
    low, high = min(places) - 1.0, max(places) + 1.0
    rightward = Region.of([[*left, (high, left[-1][1]), (high, left[0][1])]])
    return rightward.intersection(Region.of([[*right, (low, right[-1][1]), (low, right[0][1])]]))


def _wall(resist: Region, foot: float, outward: float, action: Print, ends: tuple[float, float]) -> Wall:
    """One resist wall from the bottom up: vertical below its foot, leaning above it."""
    low, ceiling = ends
    found = crossings([resist], foot)
    if not found:
        return [(foot, low), (foot, ceiling)]
    bottom, top = found[0][1], found[-1][2]
    lean = -1.0 / math.tan(action.side_wall_angle)
    undercut, lower = convert(action.undercut, "nm"), convert(action.under_layer, "nm")
    if undercut and 0 < lower < top - bottom:
        step, edge = bottom + lower, foot + outward * undercut
        return [(foot, low), (foot, step), (edge, step), (edge + outward * lean * (ceiling - step), ceiling)]
    if undercut:
        # One layer: the undercut is its whole overhang, whatever the angle says.
        lean = undercut / (top - bottom)
    toe = min(convert(action.foot, "nm"), (top - bottom) / 2)
    back = foot - outward * toe
    wall = (back + outward * lean * (ceiling - bottom - toe), ceiling)
    return [(foot, low), (foot, bottom), *([(back, bottom + toe)] if toe > 0 else []), wall]
