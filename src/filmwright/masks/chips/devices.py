"""Reusable test structures. All lengths in micrometres; every structure is drawn about its own middle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from filmwright.masks.chips.sketch import Sketch
from filmwright.masks.drawing import LayerNumber

DrawnKind = Literal["transistor", "transfer length", "capacitor", "cross", "comb", "track", "delay line"]

PAD = 100.0
"""Side of a probe pad [µm]."""


@dataclass(frozen=True, kw_only=True)
class DrawnDevice:
    """A device as drawn, to tie measured files to it.

    Attributes
    ----------
    name : str
    kind : DrawnKind
    x_um, y_um : float [µm]
        Its middle on the die.
    width_um, length_um : float or None [µm]
        W and L of a channel; side of a plate as width; of a comb the facing length and the gap.
    lengths_um : tuple of float [µm]
        Gaps of a transfer-length set.
    terminals : tuple of str
    """

    name: str
    kind: DrawnKind
    x_um: float
    y_um: float
    width_um: float | None = None
    length_um: float | None = None
    lengths_um: tuple[float, ...] = ()
    terminals: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Levels:
    """Layers of a bottom-gate transistor process with an opening in its dielectric."""

    gate: LayerNumber
    channel: LayerNumber
    opening: LayerNumber
    contact: LayerNumber


def opened_pad(sketch: Sketch, levels: Levels, x: float, y: float, size: float = PAD) -> None:
    """A pad of the lower metal, opened through the dielectric and filled with the upper metal."""
    sketch.square(levels.gate, x, y, size + 20)
    sketch.square(levels.opening, x, y, size - 10)
    sketch.square(levels.contact, x, y, size)


def transistor(levels: Levels, width: float, length: float, overlap: float = 5.0) -> Sketch:
    """A bottom-gate transistor, source left, drain right, gate pad below.

    The island is narrower than the contacts, so no current flows around them; the gate is wider than the island; the
    contacts leave the island over the blanket dielectric.

    Parameters
    ----------
    levels : Levels
    width, length : float [µm]
        W and L of the channel.
    overlap : float [µm]
        Of the gate under each contact.
    """
    sketch = Sketch(f"transistor_W{width:g}_L{length:g}")
    half, tall = length / 2, width / 2
    on_island = overlap + 10
    sketch.box(levels.gate, -half - overlap, -tall - 15, half + overlap, tall + 15)
    lead = min(length + 2 * overlap, 20.0)
    sketch.box(levels.gate, -lead / 2, -200, lead / 2, -tall - 10)
    opened_pad(sketch, levels, 0, -215)
    sketch.box(levels.channel, -half - on_island, -tall, half + on_island, tall)
    arm = min(tall + 5, 30)
    for side in (-1, 1):
        inner, outer = side * half, side * (half + on_island + 10)
        sketch.box(levels.contact, inner, -tall - 5, outer, tall + 5)
        sketch.box(levels.contact, outer, -arm, side * 170, arm)
        sketch.square(levels.contact, side * 170, 0, PAD)
    return sketch


def transfer_length(
    levels: Levels, width: float, gaps: Sequence[float], contact: float = 30.0, pitch: float = 130.0
) -> Sketch:
    """A gated transfer-length set: one island, contacts 1, 2, 3 … with growing gaps, pads above and below in turn.

    Parameters
    ----------
    levels : Levels
    width : float [µm]
    gaps : sequence of float [µm]
    contact : float [µm]
        Length of each contact.
    pitch : float [µm]
        Of the pads.
    """
    sketch = Sketch(f"transfer_length_W{width:g}")
    total = contact * (len(gaps) + 1) + sum(gaps)
    tall = width / 2
    sketch.box(levels.channel, -total / 2 + 5, -tall, total / 2 - 5, tall)
    sketch.box(levels.gate, -total / 2 - 5, -tall - 15, total / 2 + 5, tall + 15)
    opened_pad(sketch, levels, -total / 2 - 160, 0)
    sketch.box(levels.gate, -total / 2 - 110, -10, -total / 2, 10)
    for number, (x, px, side) in enumerate(_contact_places(gaps, contact, total, pitch), start=1):
        sketch.box(levels.contact, x - contact / 2, -tall - 5, x + contact / 2, tall + 5)
        y0, y1 = side * (tall + 5), side * (tall + 90)
        sketch.shape(
            levels.contact,
            [
                (x - 10, y0),
                (x + 10, y0),
                (px + 20, y1),
                (px + 20, y1 + side),
                (px - 20, y1 + side),
                (px - 20, y1),
            ],
        )
        sketch.square(levels.contact, px, side * (tall + 90 + PAD / 2), PAD)
        sketch.text(levels.contact, str(number), px, side * (tall + 90 + PAD + 25) - 12, 24)
    return sketch


def _contact_places(
    gaps: Sequence[float], contact: float, total: float, pitch: float
) -> list[tuple[float, float, int]]:
    """x of each contact, x of its pad, and the side of its pad (1 above, −1 below)."""
    xs = [-total / 2 + contact / 2]
    for gap in gaps:
        xs.append(xs[-1] + contact + gap)
    places = []
    for number, x in enumerate(xs):
        row = [k for k in range(len(xs)) if k % 2 == number % 2]
        pad = (row.index(number) - (len(row) - 1) / 2) * pitch
        places.append((x, pad, 1 if number % 2 == 0 else -1))
    return places


def transfer_length_terminals(
    width: float, gaps: Sequence[float], contact: float = 30.0, pitch: float = 130.0
) -> dict[str, tuple[float, float]]:
    """Where the pads of :func:`transfer_length` lie [µm], by terminal."""
    total = contact * (len(gaps) + 1) + sum(gaps)
    pads = {
        str(k): (px, side * (width / 2 + 90 + PAD / 2))
        for k, (_, px, side) in enumerate(_contact_places(gaps, contact, total, pitch), start=1)
    }
    return {"G": (-total / 2 - 160, 0.0), **pads}


def plate_capacitor(levels: Levels, side: float) -> Sketch:
    """A square capacitor between lower and upper metal; its lower plate has an opened pad at the right.

    Parameters
    ----------
    levels : Levels
    side : float [µm]
        Of the upper plate, which sets the area.
    """
    sketch = Sketch(f"capacitor_{side:g}")
    sketch.square(levels.gate, 0, 0, side + 20)
    sketch.square(levels.contact, 0, 0, side)
    pad = side / 2 + 110
    sketch.box(levels.gate, side / 2, -20, pad, 20)
    opened_pad(sketch, levels, pad, 0)
    return sketch


def van_der_pauw(film: LayerNumber, metal: LayerNumber, arm: float, name: str) -> Sketch:
    """A cross of a film with a metal pad at the end of each arm; film and metal may be one layer.

    Parameters
    ----------
    film, metal : (layer, datatype)
    arm : float [µm]
        Width of an arm.
    name : str
        Of the cell.
    """
    sketch = Sketch(name)
    sketch.cross(film, 0, 0, 300, arm)
    for dx, dy in ((1, 0), (0, 1), (-1, 0), (0, -1)):
        sketch.square(metal, dx * 185, dy * 185, PAD)
        x0, y0 = (dx * 115 - abs(dy) * (arm / 2 + 5), dy * 115 - abs(dx) * (arm / 2 + 5))
        x1, y1 = (dx * 140 + abs(dy) * (arm / 2 + 5), dy * 140 + abs(dx) * (arm / 2 + 5))
        sketch.box(metal, x0, y0, x1, y1)
    return sketch


def comb(metal: LayerNumber, fingers: int, finger: float, gap: float, reach: float) -> Sketch:
    """Two interleaved combs of one metal, each with a pad.

    Parameters
    ----------
    metal : (layer, datatype)
    fingers : int
        Of both combs together.
    finger, gap, reach : float [µm]
        Width of a finger, gap between two, length over which they face each other.
    """
    sketch = Sketch(f"comb_{fingers}_{finger:g}_{gap:g}")
    pitch = finger + gap
    half = (fingers * pitch - gap) / 2
    rail = reach / 2 + 15
    for number in range(fingers):
        x = -half + number * pitch
        side = 1 if number % 2 == 0 else -1
        sketch.box(metal, x, side * (rail + 5), x + finger, -side * reach / 2)
    for side in (1, -1):
        sketch.box(metal, -half, side * rail, half, side * (rail + 25))
        sketch.box(metal, -15, side * (rail + 10), 15, side * (rail + 60))
        sketch.square(metal, 0, side * (rail + 60 + PAD / 2), PAD)
    return sketch
