"""A solvent, and what it takes along."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from filmwright.numerics import Edges, Region
from filmwright.units import convert
from filmwright.wafer.actions import Clear
from filmwright.wafer.section_layers import Event, Layers
from filmwright.wafer.section_tear import Tear, tears, thinner

LEAST_NM = 0.05
"""A solvent gets in over a border longer than this [nm]."""


def cleared(layers: Layers, action: Clear) -> Layers:
    """Layers after a solvent.

    A piece dissolves when it shares a border with the open ambient, or when the films between are thinner somewhere than the
    tear thickness and so do not keep the solvent out; that is asked again after each that went. What hangs over the place of a
    dissolved piece tears where it is thinner than that, see :func:`filmwright.wafer.section_tear.tears`. Then what has no footing
    floats off; what still hangs there and keeps its footing is told as bridged.

    Parameters
    ----------
    layers : Layers
    action : Clear
    """
    tear = convert(action.tear, "nm")
    exposed = layers.cover.exposed
    skin = exposed.where(np.array([p.material not in action.materials for p in layers.pieces])[exposed.cell])
    hanging: set[str] = set()
    lost: list[Edges] = []
    older: set[str] = set()
    while gone := _reached(layers, action, skin, tear):
        edges = layers.cover.edges
        border = edges.where(np.isin(edges.other, list(gone)) & ~np.isin(edges.cell, list(gone)))
        roof = border.where(border.outward[:, 1] < -0.1)
        over = border.where(border.cell > border.other)
        lost += [over.where(over.cell == k) for k in np.unique(over.cell).tolist()]
        older |= {piece.film for piece in layers.pieces[: min(gone)]}
        hanging |= {layers.pieces[k].film for k in np.unique(roof.cell).tolist()}
        layers = layers.without(gone)
    torn = tears(lost, skin, tear) if tear > 0 else []
    if torn:
        layers = _torn(layers, torn, older)
    layers = layers.standing()
    return layers.with_events(_bridges(layers, hanging))


def _reached(layers: Layers, action: Clear, skin: Edges, tear: float) -> set[int]:
    """The pieces that a solvent gets at."""
    soluble = np.array([piece.material in action.materials for piece in layers.pieces])
    open_edges = layers.cover.exposed
    if tear > 0 and soluble.any():
        edges = layers.cover.edges
        under = edges.where(soluble[edges.cell] & (edges.other >= 0))
        under = under.where(~soluble[under.other])
        thin = thinner(under, skin, tear)
        cells = np.concatenate([open_edges.cell, under.cell[thin]])
        lengths = np.concatenate([open_edges.length, under.length[thin]])
    else:
        cells, lengths = open_edges.cell, open_edges.length
    reached = np.bincount(cells, weights=lengths, minlength=len(layers.pieces))
    return set(np.flatnonzero(soluble & (reached > LEAST_NM)).tolist())


def _torn(layers: Layers, found: Sequence[Tear], older: set[str]) -> Layers:
    """The layers cut at the tears, with an event for each film that a tear goes through; what lay below stays whole."""
    events: list[Event] = []
    shapes: dict[int, Region] = {}
    for tear in found:
        for k, piece in enumerate(layers.pieces):
            if piece.film in older or piece.shape.intersection(tear.slot).empty:
                continue
            shapes[k] = shapes.get(k, piece.shape).difference(tear.slot)
            event = Event.of("torn", piece)
            events.append(replace(event, x=tear.x, z=tear.z, area=0.0, height=tear.height))
    return layers.changed(shapes).with_events(events)


def _bridges(layers: Layers, films: set[str]) -> list[Event]:
    exposed = layers.cover.exposed
    under = np.bincount(
        exposed.cell, weights=exposed.length * (exposed.outward[:, 1] < -0.1), minlength=len(layers.pieces)
    )
    return [
        Event.of("bridged", piece)
        for k, piece in enumerate(layers.pieces)
        if piece.film in films and under[k] > 1.0
    ]
