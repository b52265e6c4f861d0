"""Two surface-acoustic delay lines with test capacitors, on a die of 12 × 6 mm. An invented scenario.

The transducers have split fingers (four to a wavelength), which keep the reflections at the finger edges from adding up.
"""

from __future__ import annotations

from typing import Any

from filmwright.masks.chips import marks
from filmwright.masks.chips.devices import PAD, DrawnDevice
from filmwright.masks.chips.sketch import Sketch, finished

GROUND, PIEZO, OPENING, FINGERS = (1, 0), (2, 0), (3, 0), (4, 0)
SIZE = (12000.0, 6000.0)
WAVELENGTH, PAIRS, APERTURE = 40.0, 25, 1000.0
DISTANCES = (4000.0, 6000.0)
"""Middle to middle of the two transducers of a line [µm]."""
_BAR = 40.0


def transducer() -> Sketch:
    """Split fingers of an eighth of a wavelength between two bars; wave to the left and right, bars above and below."""
    sketch = Sketch("transducer")
    finger = WAVELENGTH / 8
    span = PAIRS * WAVELENGTH
    rail = APERTURE / 2 + 20
    for period in range(PAIRS):
        for half, side in ((0, 1), (1, -1)):
            for k in (0, 1):
                x = -span / 2 + period * WAVELENGTH + (half * 4 + k * 2) * finger + finger / 2
                sketch.box(FINGERS, x, side * (rail + 5), x + finger, -side * APERTURE / 2)
    for side in (1, -1):
        sketch.box(FINGERS, -span / 2, side * rail, span / 2, side * (rail + _BAR))
        sketch.box(FINGERS, -25, side * (rail + _BAR - 5), 25, side * (rail + 180))
        sketch.square(FINGERS, 0, side * (rail + 230), 1.5 * PAD)
    return sketch


def _lines(top: Sketch) -> list[DrawnDevice]:
    table = []
    cell = transducer()
    pad = APERTURE / 2 + 250
    for number, (distance, y) in enumerate(zip(DISTANCES, (4100.0, 1900.0), strict=True), start=1):
        name, x = f"D{number}", SIZE[0] / 2
        reach = distance / 2 + PAIRS * WAVELENGTH / 2
        top.box(GROUND, x - reach - 400, y - 650, x + reach + 900, y + 650)
        top.box(PIEZO, x - reach - 250, y - 620, x + reach + 250, y + 620)
        for end, side in (("IN", -1), ("OUT", 1)):
            top.place(cell, x + side * distance / 2, y)
            top.label(f"{name}:{end}", x + side * distance / 2, y + pad)
            top.label(f"{name}:{end} RETURN", x + side * distance / 2, y - pad)
        _ground_pad(top, f"{name}:GROUND", x + reach + 700, y)
        top.text(FINGERS, f"{name} {distance / 1000:g} MM", x, y + 700, 90)
        ends = ("IN", "IN RETURN", "OUT", "OUT RETURN", "GROUND")
        table.append(
            DrawnDevice(
                name=name,
                kind="delay line",
                x_um=x,
                y_um=y,
                width_um=APERTURE,
                length_um=distance,
                terminals=ends,
            )
        )
    return table


def _ground_pad(top: Sketch, label: str, x: float, y: float) -> None:
    """The ground plane, opened through the nitride and covered with the finger metal."""
    top.square(OPENING, x, y, 160)
    top.square(FINGERS, x, y, 200)
    top.label(label, x, y)


def _capacitors(top: Sketch) -> list[DrawnDevice]:
    """Upper plates over nitride alone and over piezo film on nitride, each over its own piece of ground."""
    table = []
    for number, (side, piezo, x) in enumerate(
        ((200.0, False, 900.0), (400.0, False, 1700.0), (400.0, True, 2900.0)), start=1
    ):
        name, y = f"C{number}", 520.0
        top.box(GROUND, x - side / 2 - 20, y - side / 2 - 20, x + side / 2 + 320, y + side / 2 + 20)
        if piezo:
            top.square(PIEZO, x, y, side + 20)
        top.square(FINGERS, x, y, side)
        top.label(f"{name}:TOP", x, y)
        _ground_pad(top, f"{name}:BOTTOM", x + side / 2 + 190, y)
        top.text(FINGERS, name, x, y + side / 2 + 50, 60)
        table.append(
            DrawnDevice(
                name=name,
                kind="capacitor",
                x_um=x,
                y_um=y,
                width_um=side,
                length_um=side,
                terminals=("TOP", "BOTTOM"),
            )
        )
    return table


def draw() -> tuple[Any, tuple[DrawnDevice, ...]]:
    """The layout library of the chip, and its devices in probing order."""
    top = Sketch("delay_line")
    top.frame(*SIZE)
    top.text(FINGERS, "DELAY LINES", SIZE[0] / 2, 5450, 160)
    table = [*_lines(top), *_capacitors(top)]
    for layer, text in ((PIEZO, "2"), (OPENING, "3"), (FINGERS, "4")):
        mark = marks.alignment_mark(GROUND, layer, f"mark_{text}_on_1")
        scale = marks.vernier(GROUND, layer, f"vernier_{text}_on_1")
        for x in (500.0, SIZE[0] - 500.0):
            y = 5100.0 - 420.0 * (int(text) - 2)
            top.place(mark, x, y)
            top.place(scale, x, y - 150)
            top.text(FINGERS, f"{text}/1", x, y + 80, 40)
    for number, layer in enumerate((GROUND, PIEZO, OPENING, FINGERS)):
        top.place(marks.level_name(layer, f"{layer[0]}"), 9900.0 + number * 80, 1000.0)
    for layer, x in ((GROUND, 4300.0), (PIEZO, 5500.0), (FINGERS, 6700.0)):
        top.place(marks.line_widths(layer, (3, 4, 5, 10, 20), f"line_widths_{layer[0]}"), x, 520.0)
    return finished("delay-line", top), tuple(table)
