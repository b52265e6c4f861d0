"""The project's own test chips, drawn by code. All scenarios are invented."""

from __future__ import annotations

from typing import Any

from filmwright.masks.chips import delay_line, humidity_switch, platinum_thermometer
from filmwright.masks.chips.devices import DrawnDevice

_DRAWN = {
    "delay-line": delay_line.draw,
    "humidity-switch": humidity_switch.draw,
    "platinum-thermometer": platinum_thermometer.draw,
}

CHIPS: tuple[str, ...] = tuple(_DRAWN)
"""Names of the chips."""

__all__ = ["CHIPS", "DrawnDevice", "chip", "device_table"]


def chip(name: str) -> Any:
    """The layout library of one of :data:`CHIPS`, to be written with ``write_drawing`` or resolved with ``drawing_of``."""
    return _DRAWN[name]()[0]


def device_table(name: str) -> tuple[DrawnDevice, ...]:
    """The devices of one of :data:`CHIPS` in probing order."""
    return _DRAWN[name]()[1]
