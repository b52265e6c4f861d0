"""Platinum thermometers and metal–insulator–metal capacitors, on a die of 5 mm. An invented scenario."""

from __future__ import annotations

from typing import Any

from filmwright.masks.chips import marks
from filmwright.masks.chips.devices import DrawnDevice, Levels, opened_pad, plate_capacitor
from filmwright.masks.chips.sketch import Sketch, finished

PLATINUM, OPENING, TOP = (1, 0), (2, 0), (3, 0)
LEVELS = Levels(gate=PLATINUM, channel=(9, 0), opening=OPENING, contact=TOP)
"""The lower and upper metal take the places of gate and contact; there is no channel."""

DIE = 5000.0
LINES = (5.0, 10.0, 20.0)
"""Line widths of the meanders [µm]."""
TURNS, REACH = 16, 800.0
PLATES = (100.0, 200.0, 400.0)


def meander(width: float) -> Sketch:
    """A line to and fro, four times its width from turn to turn, with two pads at each end."""
    sketch = Sketch(f"meander_{width:g}")
    pitch = 4 * width
    points: list[tuple[float, float]] = []
    for turn in range(TURNS):
        x = (turn - (TURNS - 1) / 2) * pitch
        ends = [(x, -REACH / 2), (x, REACH / 2)]
        points.extend(ends if turn % 2 == 0 else ends[::-1])
    half = (TURNS - 1) / 2 * pitch
    sketch.line(PLATINUM, [(-half - 120, -REACH / 2), *points, (half + 120, -REACH / 2)], width)
    for side in (-1, 1):
        x = side * (half + 120)
        sketch.box(PLATINUM, x - 15, -REACH / 2 - 20, x + 15, REACH / 2 - 200)
        for y in meander_pads():
            opened_pad(sketch, LEVELS, x, y)
    return sketch


def meander_pads() -> tuple[float, float]:
    """y of the current pad and of the voltage pad of a meander [µm]."""
    return -REACH / 2 + 80, REACH / 2 - 200


def meander_length(width: float) -> float:
    """Length of the line between its bars along its middle [µm]."""
    return TURNS * REACH + (TURNS - 1) * 4 * width + 2 * (120.0 - 15)


def _thermometers(top: Sketch) -> list[DrawnDevice]:
    table = []
    for number, (width, x) in enumerate(zip(LINES, (800.0, 2100.0, 3800.0), strict=True), start=1):
        name, y = f"R{number}", 3500.0
        top.place(meander(width), x, y)
        half = (TURNS - 1) / 2 * 4 * width + 120
        for end, (side, at) in {"I1": (-1, 0), "V1": (-1, 1), "I2": (1, 0), "V2": (1, 1)}.items():
            top.label(f"{name}:{end}", x + side * half, y + meander_pads()[at])
        top.text(TOP, f"{name} LINE {width:g}", x, y + 470, 56)
        table.append(
            DrawnDevice(
                name=name,
                kind="track",
                x_um=x,
                y_um=y,
                width_um=width,
                length_um=meander_length(width),
                terminals=("I1", "I2", "V1", "V2"),
            )
        )
    return table


def _capacitors(top: Sketch) -> list[DrawnDevice]:
    table = []
    for number, (side, x) in enumerate(zip(PLATES, (900.0, 1900.0, 3200.0), strict=True), start=1):
        name, y = f"C{number}", 2200.0
        top.place(plate_capacitor(LEVELS, side), x, y)
        top.text(TOP, f"{name} {side:g}", x, y + side / 2 + 40, 44)
        top.label(f"{name}:TOP", x, y)
        top.label(f"{name}:BOTTOM", x + side / 2 + 110, y)
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
    top = Sketch("platinum_thermometer")
    top.frame(DIE, DIE)
    top.text(TOP, "PLATINUM THERMOMETER", DIE / 2, 4500, 130)
    table = [*_thermometers(top), *_capacitors(top)]
    for layer, text in ((OPENING, "2"), (TOP, "3")):
        mark = marks.alignment_mark(PLATINUM, layer, f"mark_{text}_on_1")
        scale = marks.vernier(PLATINUM, layer, f"vernier_{text}_on_1")
        for x in (450.0, DIE - 450.0):
            y = 1600.0 - 420.0 * (int(text) - 2)
            top.place(mark, x, y)
            top.place(scale, x, y - 150)
            top.text(TOP if text == "3" else PLATINUM, f"{text}/1", x, y + 80, 40)
    for number, layer in enumerate((PLATINUM, OPENING, TOP)):
        top.place(marks.level_name(layer, f"{layer[0]}"), 400.0 + number * 80, 480.0)
    for layer, x in ((PLATINUM, 1100.0), (OPENING, 2200.0), (TOP, 3300.0)):
        top.place(marks.line_widths(layer, (2, 3, 5, 10, 20), f"line_widths_{layer[0]}"), x, 1000.0)
    return finished("platinum-thermometer", top), tuple(table)
