"""Removal: a time at a rate per material."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics import (
    Kernel,
    Region,
    Timed,
    columns,
    crossings_of,
    excavated,
    swept_into,
    taken,
    time_to_border,
)
from filmwright.units import convert
from filmwright.wafer.actions import EtchRate, Remove
from filmwright.wafer.section_layers import Layers

LEAST_STAGES = 3
"""Steps of time when one material is etched sideways; their error is that of paths round an obstacle."""
MOST_STAGES = 8
"""Steps of time when several materials are etched, each at its own rate."""
EVENTS = 2
"""Most steps that end early at a break-through, per step of time."""
LEAST_NM = 0.15
"""A surface moves by at least this in one step of time [nm], or waits for the next: below it borders come apart."""
STAGE_NM = 40.0
"""How far the second fastest material should move in one step of time at most [nm]."""
SMOOTHED_NM = 0.1
"""After each step of time a vertex goes whose triangle with its neighbours is smaller than this squared [nm²]."""
CORNERS = 48
"""Tangents of the discs by which a step goes on beyond a border that it uncovers."""
FLAT = 0.7
"""Edges whose normal is less upright than this count as walls."""
OVERSHOOT = 1e-4
"""Share of the time to a border by which a step goes past it, so that rounding leaves no film there."""
MARGIN_NM = 2.0**-7
"""By how much a cut goes deeper than a stop, so that rounding leaves no film on it [nm]."""


def removed(layers: Layers, action: Remove, tolerance: float, stages: int | None = None) -> Layers:
    """Layers after an etch.

    Without any rate sideways the etch is a descent in columns and exact: resist that is consumed, facets,
    shade and what is uncovered midway included. Otherwise each step of time moves every open surface along
    its normal by the rate sideways and then lowers it by the rest of the rate down. Where no material goes down faster than
    sideways, what a step uncovers is attacked from the moment at which the front arrives there, so the steps only serve
    ways round obstacles. In a mixture a step ends early when a surface breaks through to another material, and the error falls
    with the first power of the steps. A material whose surface would move by less than 0.15 nm in all keeps it.

    Parameters
    ----------
    layers : Layers
    action : Remove
    tolerance : float [nm]
        By how much a rounded corner may be etched too far.
    stages : int, optional
        Steps of time.
    """
    rates = {name: rate for name, rate in action.rates.items() if max(rate.down, rate.sideways) > 0}
    present = {piece.material for piece in layers.pieces} & rates.keys()
    if not present or action.time <= 0:
        return layers
    upright = {name: convert(max(rate.down - rate.sideways, 0.0), "nm") for name, rate in rates.items()}
    if all(rates[name].sideways <= 0 for name in present):
        return layers.changed(_lowered(layers, {}, upright, action.time)).standing()
    mixed = any(upright[name] > 0 for name in present)
    count = stages or _stages([rates[name] for name in present], action.time)
    left, events = action.time, EVENTS * count
    owed: dict[str, float] = {}
    while left > action.time * 1e-9:
        step = min(left, action.time / count)
        if mixed and events > 0 and (moment := _break_through(layers, rates)) < step:
            step, events = moment, events - 1
        owed = {name: owed.get(name, 0.0) + step for name in rates}
        due = {
            name: time
            for name, time in owed.items()
            if convert(rates[name].sideways * time, "nm") >= LEAST_NM
        }
        owed = {name: 0.0 if name in due else time for name, time in owed.items()}
        aside = max(convert(rates[name].sideways * step, "nm") for name in present)
        shapes = _moved(layers, rates, due, tolerance)
        if mixed:
            shapes |= _lowered(layers, shapes, upright, step, aside)
        elif len(present) > 1:
            shapes |= _uncovered(layers, shapes, rates, step)
        left -= step
        if not shapes:
            continue
        # A step much smaller than the tolerance must not be smoothed away: resist would hang over a gap.
        layers = layers.changed(shapes).simplified(min(SMOOTHED_NM, aside / 20)).standing()
    return layers


def _stages(rates: list[EtchRate], time: float) -> int:
    """Steps of time, by how far the second fastest material moves: that is where the error lies."""
    moves = sorted(convert(max(rate.down, rate.sideways) * time, "nm") for rate in rates)
    second = moves[-2] if len(moves) > 1 else 0.0
    return int(min(max(np.ceil(second / STAGE_NM), LEAST_STAGES), MOST_STAGES))


def _lowered(
    layers: Layers, moved: Mapping[int, Region], rates: Mapping[str, float], time: float, aside: float = 0.0
) -> dict[int, Region]:
    """Shapes after a vertical etch at rates in nm/s; ``moved`` are those that have changed already."""
    speed = np.array([rates.get(piece.material, 0.0) for piece in layers.pieces])
    with np.errstate(divide="ignore"):
        slowness = 1.0 / speed
    spans, lowest = _attacked(layers, slowness, aside)
    if not spans:
        return {}
    shapes = [moved.get(k, piece.shape) for k, piece in enumerate(layers.pieces)]
    reach = float(np.max(speed)) * time
    used = [k for k, piece in enumerate(layers.pieces) if piece.shape.bounds[3] > lowest - reach - 1.0]
    gone = excavated(columns([shapes[k] for k in used], spans), slowness[used], time, MARGIN_NM)
    if gone.empty:
        return {}
    return {k: shapes[k].difference(gone) for k in used if np.isfinite(slowness[k])}


def _attacked(
    layers: Layers, slowness: NDArray[np.float64], aside: float
) -> tuple[list[tuple[float, float]], float]:
    """Intervals of x, ``aside`` wider, where what is etched is open to the top; the lowest such place."""
    exposed = layers.cover.exposed
    use = np.isfinite(slowness[exposed.cell]) & (exposed.outward[:, 1] > 0)
    x0, _, x1, _ = layers.cover.window
    low = np.maximum(exposed.end[use, 0] - aside, x0)
    high = np.minimum(exposed.start[use, 0] + aside, x1)
    if len(low) == 0:
        return [], 0.0
    order = np.argsort(low)
    spans: list[tuple[float, float]] = []
    for a, b in zip(low[order].tolist(), high[order].tolist(), strict=True):
        if spans and a <= spans[-1][1]:
            spans[-1] = (spans[-1][0], max(b, spans[-1][1]))
        else:
            spans.append((a, b))
    return spans, float(min(exposed.start[use, 1].min(), exposed.end[use, 1].min())) - aside


def _moved(
    layers: Layers, rates: Mapping[str, EtchRate], due: Mapping[str, float], tolerance: float
) -> dict[int, Region]:
    """Shapes of what is etched sideways, each material for the time that is due, along the normal of its open surface."""
    exposed = layers.cover.exposed
    shapes: dict[int, Region] = {}
    for index in np.unique(exposed.cell).tolist():
        piece = layers.pieces[index]
        rate = rates.get(piece.material)
        time = due.get(piece.material, 0.0)
        if rate is None or rate.sideways <= 0 or time <= 0:
            continue
        side = convert(rate.sideways * time, "nm")
        down = convert(min(rate.down, rate.sideways) * time, "nm")
        kernel = Kernel(side=side, up=down, down=down, tolerance=min(tolerance, side / 20))
        gone = swept_into(piece.shape, exposed.where(exposed.cell == index), kernel)
        shapes[index] = piece.shape.difference(gone)
    return shapes


def _uncovered(
    layers: Layers, moved: Mapping[int, Region], rates: Mapping[str, EtchRate], time: float
) -> dict[int, Region]:
    """Shapes of what a step uncovers midway: each border is attacked from the moment at which the front arrives there."""
    speeds = np.array(
        [
            convert(rates[piece.material].sideways, "nm") if piece.material in rates else 0.0
            for piece in layers.pieces
        ]
    )
    edges, exposed = layers.cover.edges, layers.cover.exposed
    borders = edges.where((edges.other >= 0) & (speeds[edges.cell] > 0))
    borders = borders.where(speeds[borders.other] > 0)
    exposed = exposed.where(speeds[exposed.cell] > 0)
    if len(borders.cell) == 0 or len(exposed.cell) == 0:
        return {}
    start = np.zeros(len(exposed.cell))
    sources = Timed(exposed.start, exposed.end, exposed.cell, start, start)
    reached = crossings_of(sources, borders, speeds, time)
    return {
        k: moved.get(k, layers.pieces[k].shape).difference(gone)
        for k, gone in taken(reached, speeds, time, CORNERS).items()
    }


def _break_through(layers: Layers, rates: Mapping[str, EtchRate]) -> float:
    """Time until an open surface that runs along a border to another material first arrives there [s]."""
    edges, exposed = layers.cover.edges, layers.cover.exposed
    etched = np.array([piece.material in rates for piece in layers.pieces])
    first = float("inf")
    for index in np.unique(exposed.cell).tolist():
        if not etched[index]:
            continue
        border = edges.where((edges.cell == index) & (edges.other >= 0))
        border = border.where(etched[border.other])
        source = exposed.where(exposed.cell == index)
        rate = rates[layers.pieces[index].material]
        steep = np.abs(source.outward[:, 1]) < FLAT
        speed = np.where(steep, convert(rate.sideways, "nm"), convert(max(rate.down, rate.sideways), "nm"))
        first = min(first, time_to_border(source, border, speed))
    return first * (1 + OVERSHOOT)
