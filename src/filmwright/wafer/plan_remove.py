"""An etch in plan: down each column, sideways under what covers it, and the fences that it leaves along walls."""

from __future__ import annotations

import math
from collections.abc import Sequence

from filmwright.numerics import Region
from filmwright.units import convert
from filmwright.wafer import plan_memo
from filmwright.wafer.actions import EtchRate, Remove
from filmwright.wafer.column import FENCE, THINNEST, Column, Eaten, Layer, etched
from filmwright.wafer.column_edge import Climb, meet
from filmwright.wafer.plan_cells import Cell, Loss, loss_of, merged

SMALLEST_NM = 1.0
"""Undercuts and fences narrower than this [nm], the unit of the drawing, are left out."""


def undercut_at_foot(thickness: float, rate: EtchRate, time: float) -> float:
    """How far a film's foot lies behind the edge of what covers it [m].

    ``u = (R_s / R_d) √((R_d t)² − d²)``: the front is a quarter ellipse about the mask edge, which for an isotropic etch with over-etch
    OE gives ``d √((1 + OE)² − 1)``. Zero before the film is through.

    Parameters
    ----------
    thickness : float [m]
    rate : EtchRate
    time : float [s]
        Since the etch reached the film.
    """
    if rate.down <= 0:
        return 0.0
    deep = rate.down * time
    return rate.sideways / rate.down * math.sqrt(max(deep**2 - thickness**2, 0.0))


def remove(cells: Sequence[Cell], action: Remove) -> tuple[tuple[Cell, ...], tuple[Loss, ...], float]:
    """The cells after an etch, what it took, and how far from an edge it changed something [nm]."""
    results = [etched(cell.column, action.rates, action.time) for cell in cells]
    losses = [
        loss_of(bite.layer, bite.after, cell.region, "open", of=cell.column)
        for cell, (_, eaten) in zip(cells, results, strict=True)
        for bite in eaten
    ]
    if not losses and all(rate.sideways <= 0 for rate in action.rates.values()):
        return tuple(cells), (), 0.0
    walls = [_fences(number, cells, eaten, action) for number, (_, eaten) in enumerate(results)]
    kept: list[Cell] = []
    reach = 0.0
    for number, cell in enumerate(cells):
        rest = cell.region
        for fence, strip, width in walls[number]:
            reach = max(reach, width)
            inside, rest = plan_memo.split(rest, strip)
            kept.append(Cell(region=inside, column=fence))
        left = Cell(region=rest, column=results[number][0])
        for piece, more in _undercut(left, number, cells, results, action, walls):
            kept.append(piece)
            losses.extend(more)
    reach = max((reach, *(convert(loss.sideways, "nm") for loss in losses)))
    return merged(kept), tuple(losses), reach


def _fences(
    number: int, cells: Sequence[Cell], eaten: Sequence[Eaten], action: Remove
) -> list[tuple[Column, Region, float]]:
    """What is left of a film on the walls at the foot of which it has gone: column, strip and width [nm], highest first."""
    here = cells[number].column
    found: list[tuple[float, Column, Region, float]] = []
    for bite in eaten:
        if bite.after > 0 or bite.layer.side_wall <= 0:
            continue
        place = here.layers.index(bite.layer)
        for other, cell in enumerate(cells):
            if other == number or cell.column.film(bite.layer.film) is None:
                continue
            climb = next((c for c in meet(here, cell.column).climbs if c.first == place), None)
            if climb is None or not climb.whole or _base(here, place) > _base(cell.column, climb.second):
                continue
            left, width = _left_on_wall(bite, cell.column.layers[climb.second], climb, action)
            if left <= THINNEST or width < SMALLEST_NM:
                continue
            strip = plan_memo.split(cells[number].region, plan_memo.grown(cell.region, width))[0]
            if not strip.empty:
                film = Layer(
                    material=bite.layer.material,
                    film=bite.layer.film,
                    thickness=left,
                    born=bite.layer.born,
                    side_wall=bite.layer.side_wall,
                    marks=bite.layer.marks | {FENCE},
                )
                found.append((left, Column((*here.layers[:place], film)), strip, width))
    found.sort(key=lambda item: -item[0])
    return [(column, strip, width) for _, column, strip, width in found]


def _left_on_wall(bite: Eaten, above: Layer, climb: Climb, action: Remove) -> tuple[float, float]:
    """Height [m] and width [nm] of a film that still stands on a wall: it is as high as step and film together."""
    rate = action.rates[bite.layer.material]
    elapsed = action.time - bite.begun
    return climb.step + above.thickness - rate.down * elapsed, convert(
        climb.wall - rate.sideways * elapsed, "nm"
    )


def _base(column: Column, place: int) -> float:
    return sum(layer.thickness for layer in column.layers[:place])


def _undercut(
    cell: Cell,
    number: int,
    cells: Sequence[Cell],
    results: Sequence[tuple[Column, tuple[Eaten, ...]]],
    action: Remove,
    walls: Sequence[Sequence[tuple[Column, Region, float]]],
) -> list[tuple[Cell, list[Loss]]]:
    """A cell cut where a film has gone from its side, each piece with what was lost there."""
    pieces: list[tuple[Cell, list[Loss]]] = [(cell, [])]
    for place, layer in enumerate(cell.column.layers[1:], start=1):
        rate = action.rates.get(layer.material)
        if rate is None or rate.sideways <= 0:
            continue
        strips: list[tuple[float, Region]] = []
        for other, (column, eaten) in enumerate(results):
            if other == number or column.film(layer.film) is not None:
                continue
            depth = _depth(cell.column, place, cells[other].column, column, eaten, action)
            if convert(depth, "nm") >= SMALLEST_NM:
                open_side = _without_fences(cells[other].region, walls[other], layer.film)
                strips.append((depth, plan_memo.grown(open_side, convert(depth, "nm"))))
        for depth, strip in strips:
            pieces = [part for piece, lost in pieces for part in _cut_away(piece, lost, strip, layer, depth)]
    return pieces


def _without_fences(region: Region, walls: Sequence[tuple[Column, Region, float]], film: str) -> Region:
    """Where a film has gone: beside a fence of itself nothing undercuts it."""
    for column, strip, _ in walls:
        if column.film(film) is not None:
            region = plan_memo.split(region, strip)[1]
    return region


def _cut_away(
    piece: Cell, lost: list[Loss], strip: Region, layer: Layer, depth: float
) -> list[tuple[Cell, list[Loss]]]:
    if piece.column.film(layer.film) is None:
        return [(piece, lost)]
    inside, outside = plan_memo.split(piece.region, strip)
    found = []
    if not inside.empty:
        loss = loss_of(layer, 0.0, inside, "undercut", depth, of=piece.column)
        found.append((Cell(region=inside, column=piece.column.without(layer.film)), [*lost, loss]))
    if not outside.empty:
        found.append((Cell(region=outside, column=piece.column), lost))
    return found


def _depth(
    column: Column, place: int, before: Column, after: Column, eaten: Sequence[Eaten], action: Remove
) -> float:
    """How far a film retreats from its wall [m].

    Where the same etch opened the film beside it, by the quarter ellipse; where its wall was bare, by the sideways rate since
    whatever lay beside it had gone.
    """
    layer = column.layers[place]
    rate = action.rates[layer.material]
    bare = [part for part in meet(column, after).bare if part.side == 0 and part.layer == place]
    if sum(part.height for part in bare) < layer.thickness - THINNEST:
        return 0.0
    opened = next((bite for bite in eaten if bite.layer.film == layer.film), None)
    if opened is not None:
        return undercut_at_foot(opened.layer.thickness, rate, action.time - opened.begun)
    gone = [bite for bite in eaten if bite.after == 0]
    since = max(
        (bite.begun + bite.layer.thickness / action.rates[bite.layer.material].down for bite in gone),
        default=0.0,
    )
    return rate.sideways * (action.time - since)
