"""Places of the die as people name them: a device, or lengths on the drawing."""

from __future__ import annotations

import math
from pathlib import Path

from filmwright.emulate import Trace
from filmwright.errors import BadInput, Problem
from filmwright.units import UnitProblem, convert, read, to_si

Box = tuple[float, float, float, float]
_AROUND = 1.5
"""A window round a device reaches this many times its larger size to each side."""


def box_of(window: str, trace: Trace, plan: Path) -> Box:
    """x0, y0, x1, y1 [nm] from the name of a device, with its surroundings, or from four lengths."""
    for device in trace.devices.found:
        if device.name == window:
            size = max(device.width or 0.0, device.length or 0.0, math.sqrt(device.area))
            (x, y), half = device.place, _AROUND * convert(size, "nm")
            return x - half, y - half, x + half, y + half
    words = window.split(",")
    problem = Problem(
        what="the window",
        expected="the name of a device, or four lengths x0, y0, x1, y1 with x0 < x1 and y0 < y1",
        got=f'"{window}"',
        why="it says which part of the die is drawn",
        remedy='write --window "T07" or --window "0 um, 0 um, 200 um, 100 um"',
        file=str(plan),
    )
    if len(words) != 4:
        raise BadInput(problem)
    try:
        x0, y0, x1, y1 = (convert(read(word.strip(), "length").value, "nm") for word in words)
    except UnitProblem:
        raise BadInput(problem) from None
    if not (x0 < x1 and y0 < y1):
        raise BadInput(problem)
    return x0, y0, x1, y1


def point_of(at: str, trace: Trace, plan: Path) -> tuple[float, float]:
    """x, y [nm] on the die from the name of a device, whose middle is meant, or from two lengths."""
    for device in trace.devices.found:
        if device.name == at:
            return device.place
    words = at.split(",")
    x0, y0, x1, y1 = (convert(to_si(side, "nm"), "um") for side in trace.start.plan.die.bounds)
    problem = Problem(
        what="the place",
        expected=f"a device, or two lengths within x {x0:.6g} to {x1:.6g} µm and y {y0:.6g} to {y1:.6g} µm",
        got=f'"{at}"',
        why="a colour is that of the films at one place",
        remedy='write --at "T07" or --at "1180 um, 4720 um"',
        file=str(plan),
    )
    if len(words) != 2:
        raise BadInput(problem)
    try:
        x, y = (convert(read(word.strip(), "length").value, "nm") for word in words)
    except UnitProblem:
        raise BadInput(problem) from None
    if not trace.start.plan.die.holds(x, y):
        raise BadInput(problem)
    return x, y
