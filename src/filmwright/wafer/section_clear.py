"""A solvent, and what it takes along."""

from __future__ import annotations

import numpy as np

from filmwright.wafer.actions import Clear
from filmwright.wafer.section_layers import Event, Layers

LEAST_NM = 0.05
"""A solvent gets in over a border longer than this [nm]."""


def cleared(layers: Layers, action: Clear) -> Layers:
    """Layers after a solvent.

    A piece dissolves when it shares a border with the open ambient; that is asked again after each that went.
    Then what has no footing floats off. What hangs over the place of a dissolved piece and keeps its footing
    is told as bridged.

    Parameters
    ----------
    layers : Layers
    action : Clear
    """
    hanging: set[str] = set()
    while True:
        exposed = layers.cover.exposed
        reached = np.bincount(exposed.cell, weights=exposed.length, minlength=len(layers.pieces))
        gone = {
            k
            for k, piece in enumerate(layers.pieces)
            if piece.material in action.materials and reached[k] > LEAST_NM
        }
        if not gone:
            break
        edges = layers.cover.edges
        roof = edges.where(np.isin(edges.other, list(gone)) & (edges.outward[:, 1] < -0.1))
        hanging |= {layers.pieces[k].film for k in np.unique(roof.cell).tolist()}
        layers = layers.without(gone)
    layers = layers.standing()
    return layers.with_events(_bridges(layers, hanging))


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
