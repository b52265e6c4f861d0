"""The humidity switch: 48 bottom-gate transistors and what is needed to understand them, on a die of 6 mm. An invented scenario."""

from __future__ import annotations

import math
from typing import Any

from filmwright.masks.chips import devices, marks
from filmwright.masks.chips.devices import DrawnDevice, Levels
from filmwright.masks.chips.sketch import Sketch, finished

LEVELS = Levels(gate=(1, 0), channel=(2, 0), opening=(3, 0), contact=(4, 0))
DIE = 6000.0
WIDTHS = (20.0, 50.0, 100.0, 200.0)
LENGTHS = (5.0, 10.0, 20.0, 40.0, 60.0, 100.0)
GAPS = (5.0, 10.0, 20.0, 40.0, 80.0)
PLATES = (100.0, 200.0, 400.0)
_NAMES = {LEVELS.channel: "CHANNEL", LEVELS.opening: "OPENING", LEVELS.contact: "CONTACT"}
_COLUMNS, _PITCH_X, _PITCH_Y = 8, 520.0, 520.0
_FIRST = (1180.0, 4720.0)


def _transistors(top: Sketch) -> list[DrawnDevice]:
    cells = {(w, n): devices.transistor(LEVELS, w, n) for w in WIDTHS for n in LENGTHS}
    table = []
    for number in range(48):
        row, column = divmod(number, _COLUMNS)
        # Two columns share a width, so that replicates lie apart; a row has one length.
        width, length = WIDTHS[column % len(WIDTHS)], LENGTHS[row]
        x, y = _FIRST[0] + column * _PITCH_X, _FIRST[1] - row * _PITCH_Y
        name = f"T{number + 1:02d}"
        top.place(cells[width, length], x, y)
        top.text(LEVELS.contact, name, x - 130, y + 130, 42)
        top.text(LEVELS.contact, f"{width:g}/{length:g}", x + 80, y + 130, 30)
        top.label(f"{name}:S", x - 170, y)
        top.label(f"{name}:D", x + 170, y)
        top.label(f"{name}:G", x, y - 215)
        table.append(
            DrawnDevice(
                name=name,
                kind="transistor",
                x_um=x,
                y_um=y,
                width_um=width,
                length_um=length,
                terminals=("G", "S", "D"),
            )
        )
    return table


def _transfer_lengths(top: Sketch) -> list[DrawnDevice]:
    table = []
    for number, (width, x) in enumerate(((50.0, 1330.0), (100.0, 2330.0), (200.0, 3330.0)), start=1):
        y, name = 1200.0, f"L{number}"
        top.place(devices.transfer_length(LEVELS, width, GAPS), x, y)
        top.text(LEVELS.contact, f"{name} {width:g}", x - 400, y + 90, 40)
        for end, (dx, dy) in devices.transfer_length_terminals(width, GAPS).items():
            top.label(f"{name}:{end}", x + dx, y + dy)
        ends = ("G", *(str(k) for k in range(1, len(GAPS) + 2)))
        table.append(
            DrawnDevice(
                name=name,
                kind="transfer length",
                x_um=x,
                y_um=y,
                width_um=width,
                lengths_um=GAPS,
                terminals=ends,
            )
        )
    return table


def _capacitors(top: Sketch) -> list[DrawnDevice]:
    table = []
    for number, (side, x, y) in enumerate(
        zip(PLATES, (4160.0, 4160.0, 4260.0), (1560.0, 1240.0, 760.0), strict=True), start=1
    ):
        name = f"C{number}"
        top.place(devices.plate_capacitor(LEVELS, side), x, y)
        top.text(LEVELS.contact, f"{name} {side:g}", x, y + side / 2 + 22, 36)
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


def _crosses(top: Sketch) -> list[DrawnDevice]:
    table = []
    plan = (
        ("X1", "CHANNEL", LEVELS.channel, 4800.0, 1500.0),
        ("X2", "METAL", LEVELS.contact, 5420.0, 1500.0),
    )
    for name, text, film, x, y in plan:
        top.place(devices.van_der_pauw(film, LEVELS.contact, 40.0, f"cross_{text.lower()}"), x, y)
        top.text(LEVELS.contact, name, x + 130, y + 90, 42)
        for end, (dx, dy) in {"I1": (1, 0), "I2": (0, 1), "V1": (-1, 0), "V2": (0, -1)}.items():
            top.label(f"{name}:{end}", x + dx * 185, y + dy * 185)
        table.append(
            DrawnDevice(
                name=name, kind="cross", x_um=x, y_um=y, width_um=40.0, terminals=("I1", "I2", "V1", "V2")
            )
        )
    return table


def _comb(top: Sketch) -> list[DrawnDevice]:
    x, y, reach, fingers = 560.0, 1200.0, 320.0, 41
    top.place(devices.comb(LEVELS.contact, fingers, 5.0, 5.0, reach), x, y)
    top.text(LEVELS.contact, "H1 COMB", x, y + 400, 40)
    top.label("H1:A", x, y + reach / 2 + 125)
    top.label("H1:B", x, y - reach / 2 - 125)
    return [
        DrawnDevice(
            name="H1",
            kind="comb",
            x_um=x,
            y_um=y,
            width_um=(fingers - 1) * reach,
            length_um=5.0,
            terminals=("A", "B"),
        )
    ]


def _marks(top: Sketch) -> None:
    upper = ((LEVELS.channel, "2"), (LEVELS.opening, "3"), (LEVELS.contact, "4"))
    for layer, text in upper:
        mark = marks.alignment_mark(LEVELS.gate, layer, f"mark_{text}_on_1")
        scale = marks.vernier(LEVELS.gate, layer, f"vernier_{text}_on_1")
        drop = 420.0 * (int(text) - 2)
        for x in (520.0, DIE - 520.0):
            y = 4700.0 - drop
            top.place(mark, x, y)
            top.place(scale, x, y - 150)
            top.place(scale, x + (170 if x < DIE / 2 else -170), y - 20, rotation=math.pi / 2)
            top.text(
                LEVELS.contact if text != "3" else LEVELS.gate,
                f"{text}/1",
                x + (-120 if x < DIE / 2 else 120),
                y + 40,
                36,
            )
    for layer, y in ((LEVELS.gate, 0.0), (LEVELS.channel, 1.0), (LEVELS.opening, 2.0), (LEVELS.contact, 3.0)):
        top.place(marks.level_name(layer, f"{layer[0]}"), 420.0 + y * 70, 3180.0)
    for number, (layer, text) in enumerate(
        ((LEVELS.gate, "GATE"), *((layer, _NAMES[layer]) for layer, _ in upper))
    ):
        x = 1000.0 + 760 * number
        top.place(marks.line_widths(layer, (2, 3, 4, 5, 10), f"line_widths_{layer[0]}"), x, 480.0)
        top.text(LEVELS.contact, text, x, 650.0, 36, middle=False)


def draw() -> tuple[Any, tuple[DrawnDevice, ...]]:
    """The layout library of the chip, and its devices in probing order."""
    top = Sketch("humidity_switch")
    top.frame(DIE, DIE)
    top.text(LEVELS.contact, "HUMIDITY SWITCH", DIE / 2, 5480, 160)
    top.text(LEVELS.contact, "GATE BELOW - W/L IN MICROMETRES", DIE / 2, 5290, 56)
    table = [*_transistors(top), *_transfer_lengths(top), *_capacitors(top), *_crosses(top), *_comb(top)]
    _marks(top)
    return finished("humidity-switch", top), tuple(table)
