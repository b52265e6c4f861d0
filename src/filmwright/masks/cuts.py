"""Cuts through a drawing."""

from __future__ import annotations

import math

from filmwright.errors import BadInput, Problem
from filmwright.masks.drawing import Drawing
from filmwright.numerics import Polyline
from filmwright.units import convert, to_si


def _um(nanometres: float) -> str:
    return f"{convert(to_si(nanometres, 'nm'), 'um'):.6g}"


def cut_through(centre: tuple[float, float], towards: tuple[float, float], reach: float) -> Polyline:
    """A straight cut through a point.

    Parameters
    ----------
    centre : (x, y) [nm]
        E.g. the middle of a channel.
    towards : (dx, dy)
        Direction of the cut, e.g. from source to drain; any length but zero.
    reach : float [nm]
        Half the length of the cut.
    """
    size = math.hypot(*towards)
    if size == 0 or reach <= 0:
        raise ValueError(f"a cut needs a direction and a reach above zero, got {towards} and {reach}")
    dx, dy = (reach * part / size for part in towards)
    return Polyline(((centre[0] - dx, centre[1] - dy), (centre[0] + dx, centre[1] + dy)))


def check_cut(
    drawing: Drawing, cut: Polyline, name: str, file: str = "", line: int | None = None
) -> Polyline:
    """The cut, if all its points lie within the die; else :class:`BadInput` says how far the drawing reaches."""
    x0, y0, x1, y1 = drawing.die.bounds
    outside = [(x, y) for x, y in cut.points if not (x0 <= x <= x1 and y0 <= y <= y1)]
    if outside:
        raise BadInput(
            Problem(
                what=f'the cut "{name}"',
                expected=f"within the drawing, x {_um(x0)} to {_um(x1)} µm and y {_um(y0)} to {_um(y1)} µm",
                got=" and ".join(f"({_um(x)}, {_um(y)}) µm" for x, y in outside),
                why="a section can only be drawn where something is known to lie",
                remedy="move its points onto the drawing",
                file=file,
                line=line,
            )
        )
    return cut
