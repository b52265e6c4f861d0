"""Where the sections are cut."""

from __future__ import annotations

from filmwright.errors import BadInput, Problem, nearest
from filmwright.flow import Flow
from filmwright.masks import Drawing, cut_through
from filmwright.numerics import Polyline
from filmwright.units import convert, to_si


def chosen_cut(flow: Flow, drawing: Drawing | None, wanted: str | None) -> tuple[str, Polyline | None]:
    """Name and line of the cut; no line without a drawing or without a cut in the plan.

    Raises
    ------
    BadInput
        When the cut is not in the plan, names a device that is not drawn, or leaves the drawing.
    """
    if wanted and wanted not in flow.cuts:
        raise BadInput(
            Problem(what="the cut", expected="one of the plan's cuts", got=f'"{wanted}"', why="its place is read from the plan",
                    remedy=nearest(wanted, flow.cuts) if flow.cuts else 'add it under "cuts:"', file=flow.file)
        )  # fmt: skip
    if drawing is None or not flow.cuts:
        return "", None
    cut = flow.cuts[wanted] if wanted else next(iter(flow.cuts.values()))
    if cut.through:
        return cut.name, cut_through(drawing, cut.through, file=flow.file, line=cut.line)
    x0, y0, x1, y1 = drawing.bounds
    outside = [point for point in cut.points if not (x0 <= point[0] <= x1 and y0 <= point[1] <= y1)]
    if outside:
        um = [f"({convert(to_si(x, 'nm'), 'um'):g}, {convert(to_si(y, 'nm'), 'um'):g}) µm" for x, y in outside]
        corner = [f"{convert(to_si(each, 'nm'), 'um'):g}" for each in (x0, y0, x1, y1)]
        raise BadInput(
            Problem(what=f'the cut "{cut.name}"', expected=f"inside the drawing, x {corner[0]} to {corner[2]} µm, y {corner[1]} to {corner[3]} µm",
                    got=", ".join(um), why="nothing is drawn there", remedy="move its ends onto the drawing", file=flow.file, line=cut.line)
        )  # fmt: skip
    return cut.name, Polyline(cut.points)
