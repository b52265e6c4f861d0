"""Where the sections are cut."""

from __future__ import annotations

import math

from filmwright.errors import BadInput, Problem, nearest
from filmwright.flow import CutAsked, Flow
from filmwright.masks import Drawing, check_cut, cut_through
from filmwright.numerics import Polyline

_ENDS = (("S", "D"), ("BOTTOM", "TOP"), ("A", "B"))
"""Pairs of terminals that a cut joins, the first that is there."""

_BEYOND = 1.05
"""How far a cut goes on beyond the terminals, over half their distance."""


def chosen_cut(flow: Flow, drawing: Drawing | None, wanted: str | None) -> tuple[str, Polyline | None]:
    """Name and line of the cut; no line without a drawing or without a cut in the plan.

    Raises
    ------
    BadInput
        When the cut is not in the plan, names a device that is not drawn, or leaves the drawing.
    """
    if wanted and wanted not in flow.cuts:
        raise BadInput(
            Problem(
                what="the cut",
                expected="one of the plan's cuts",
                got=f'"{wanted}"',
                why="its place is read from the plan",
                remedy=nearest(wanted, flow.cuts) if flow.cuts else 'add it under "cuts:"',
                file=flow.file,
            )
        )
    if drawing is None or not flow.cuts:
        return "", None
    cut = flow.cuts[wanted] if wanted else next(iter(flow.cuts.values()))
    line = _through(drawing, flow, cut) if cut.through else Polyline(cut.points)
    return cut.name, check_cut(drawing, line, cut.name, flow.file, cut.line)


def _through(drawing: Drawing, flow: Flow, cut: CutAsked) -> Polyline:
    """The line that joins two terminals of a device, source and drain if it has them, and goes on a little."""
    ends = {
        label.text.partition(":")[2]: label
        for label in drawing.labels
        if label.text.partition(":")[0] == cut.through
    }
    pair = (
        next(((ends[a], ends[b]) for a, b in _ENDS if a in ends and b in ends), None)
        or tuple(ends.values())[:2]
    )
    if len(pair) < 2:
        names = sorted({label.text.partition(":")[0] for label in drawing.labels})
        raise BadInput(
            Problem(
                what=f'the device of the cut "{cut.name}"',
                expected="a device with two labelled terminals on the drawing",
                got=f'"{cut.through}"',
                why="the cut runs from one to the other",
                remedy=nearest(cut.through, names),
                file=flow.file,
                line=cut.line,
            )
        )
    (x0, y0), (x1, y1) = ((label.x_nm, label.y_nm) for label in pair)
    if (x0, y0) == (x1, y1):
        x1 += 1.0
    reach = math.hypot(x1 - x0, y1 - y0) / 2 * _BEYOND
    return cut_through(((x0 + x1) / 2, (y0 + y1) / 2), (x1 - x0, y1 - y0), reach)
