"""GDSII and OASIS in and out."""

from __future__ import annotations

import datetime
import math
import tempfile
from collections import defaultdict
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import gdstk
import numpy as np
from numpy.typing import NDArray

from filmwright.errors import Problem, Problems
from filmwright.masks.drawing import Drawing, Label, LayerNumber
from filmwright.masks.opening import open_library, refused
from filmwright.masks.shapes import Layer, layer_of
from filmwright.masks.unfolding import check_unfolding, marked_places
from filmwright.units import convert, to_si

_EPOCH = datetime.datetime(2000, 1, 1)
_WIDEST_NM = convert(to_si(1, "m"), "nm")
"""No plate and no wafer is wider (judgement): a drawing that is has a wrong unit or a spoiled number."""


def read_drawing(path: Path | str, grids: Mapping[LayerNumber, float] | None = None) -> Drawing:
    """Read a GDSII or OASIS file.

    Hierarchy, arrays and repetitions are resolved, turned, mirrored and scaled as they say, user units respected. Of several
    top cells the one with the largest box is taken; ``notes`` says so.

    Parameters
    ----------
    path : Path or str
    grids : mapping from (layer, datatype) to float [nm], or None
        Grid on which the corners of a layer must lie.

    Raises
    ------
    BadInput
        The file is missing, empty, of another type or broken, has no cell with shapes, or has corners off a grid that was
        asked for.
    """
    path = Path(path)
    library = open_library(path)
    top, notes = _top(library, path)
    return _resolved(library, top, str(path), notes, grids or {})


def drawing_of(library: Any, grids: Mapping[LayerNumber, float] | None = None) -> Drawing:
    """The drawing of a layout library in memory, e.g. one of :func:`filmwright.masks.chip`."""
    top, notes = _top(library, Path(library.name))
    return _resolved(library, top, "", notes, grids or {})


def write_drawing(library: Any, path: Path | str) -> Path:
    """Write a layout library; a name that ends in ``.gds`` gives GDSII, any other OASIS. The same library gives the same bytes."""
    path = Path(path)
    with tempfile.TemporaryDirectory(dir=path.parent) as folder:
        draft = Path(folder) / path.name
        if path.suffix.lower() in {".gds", ".gdsii"}:
            library.write_gds(draft, timestamp=_EPOCH)
        else:
            library.write_oas(draft, compression_level=6, validation="crc32")
        draft.replace(path)
    return path


def _size(cell: Any) -> float:
    box = cell.bounding_box()
    if box is None:
        return -1.0
    (x0, y0), (x1, y1) = box
    return float((x1 - x0) * (y1 - y0))


def _top(library: Any, path: Path) -> tuple[Any, list[str]]:
    """The top cell with the largest box, and what was decided."""
    cells = [cell for cell in library.cells if isinstance(cell, gdstk.Cell)]
    missing = sorted({ref.cell for cell in cells for ref in cell.references if isinstance(ref.cell, str)})
    if missing:
        names = ", ".join(f'"{name}"' for name in missing)
        raise refused(
            path, f"a drawing that refers to cells it does not hold: {names}", "export it with all its cells"
        )
    check_unfolding(cells, path)
    tops = [cell for cell in library.top_level() if isinstance(cell, gdstk.Cell)]
    if not tops:
        raise refused(path, "a file without cells", "export the drawing with its top cell")
    tops.sort(key=_size, reverse=True)
    if _size(tops[0]) < 0:
        raise refused(
            path, f'an empty top cell "{tops[0].name}"', "draw at least one shape, or export the right cell"
        )
    _check_size(library, tops[0], path)
    notes = []
    if len(tops) > 1:
        others = ", ".join(f'"{cell.name}"' for cell in tops[1:])
        notes.append(f'{len(tops)} top cells: took the largest, "{tops[0].name}"; left out {others}')
    hollow = sorted(
        cell.name for cell in cells if not (cell.polygons or cell.paths or cell.references or cell.labels)
    )
    if hollow:
        names = ", ".join(f'"{name}"' for name in hollow)
        notes.append(f"cells without anything in them: {names}")
    return tops[0], notes


def _check_size(library: Any, top: Any, path: Path) -> None:
    """Refuse units and coordinates that no drawing has."""
    scale, grid = convert(library.unit, "nm"), convert(library.precision, "nm")
    corners = [number * scale for point in top.bounding_box() for number in point]
    if not (grid > 0 and math.isfinite(grid) and all(abs(number) <= _WIDEST_NM for number in corners)):
        raise refused(
            path,
            f"a drawing on a grid of {grid:.4g} nm that reaches to {max(map(abs, corners)):.4g} nm",
            "check its unit and export it again",
        )


def _resolved(
    library: Any, top: Any, file: str, notes: list[str], grids: Mapping[LayerNumber, float]
) -> Drawing:
    scale, grid = convert(library.unit, "nm"), convert(library.precision, "nm")
    shapes: dict[LayerNumber, list[NDArray[np.float64]]] = defaultdict(list)
    for polygon in top.get_polygons():
        shapes[polygon.layer, polygon.datatype].append(np.asarray(polygon.points) * scale)
    layers, problems = {}, Problems()
    for number in sorted(shapes):
        found = layer_of(shapes[number], grid, grids.get(number))
        notes.extend(f"layer {number[0]}/{number[1]}: {note}" for note in found.notes)
        if number in grids and found.off_asked:
            problems.add(_off_grid(number, found, grids[number], file))
        if found.region.area > 0:
            layers[number] = found.region
    problems.raise_any()
    if not layers:
        raise refused(
            Path(file or library.name),
            f'a top cell "{top.name}" whose shapes have no area',
            "draw at least one shape",
        )
    return Drawing(
        name=top.name,
        layers=layers,
        labels=_labels(top, scale),
        file=file,
        notes=tuple(notes),
        marks=marked_places(top, scale),
    )


def _labels(top: Any, scale: float) -> tuple[Label, ...]:
    """Every text, those of sub-cells at each place where the cell is referred to."""
    return tuple(
        Label(
            text=label.text,
            layer=(label.layer, label.texttype),
            x_nm=round(float(label.origin[0]) * scale, 3),
            y_nm=round(float(label.origin[1]) * scale, 3),
        )
        for label in top.get_labels()
    )


def _off_grid(number: LayerNumber, found: Layer, grid: float, file: str) -> Problem:
    return Problem(
        what=f"the mask layer {number[0]}/{number[1]}",
        expected=f"corners on the grid of {grid:g} nm",
        got=found.off_asked,
        why="the plate writer rounds what is off its grid, each in its own way, and edges move",
        remedy="snap the drawing to the grid, or correct the grid in the plan",
        file=file,
    )
