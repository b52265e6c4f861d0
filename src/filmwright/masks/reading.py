"""GDSII and OASIS in and out."""

from __future__ import annotations

import datetime
import subprocess
import sys
import tempfile
import warnings
from collections import defaultdict
from collections.abc import Callable
from pathlib import Path
from typing import Any

import gdstk
import numpy as np
from numpy.typing import NDArray

from filmwright.errors import BadInput, Problem
from filmwright.masks.drawing import Drawing, Label, LayerNumber
from filmwright.numerics import Region
from filmwright.units import convert

_OASIS = b"%SEMI-OASIS\r\n"
_OASIS_END = 256
_GDSII = b"\x00\x06\x00\x02"
_GDSII_END = b"\x00\x04\x04\x00"
_CROSSING_PRECISION = 1e-3
_PATIENCE_S = 120
_EPOCH = datetime.datetime(2000, 1, 1)


def _refused(path: Path, got: str, remedy: str) -> BadInput:
    return BadInput(
        Problem(
            what="the mask drawing",
            expected="a GDSII or OASIS file with at least one cell that has shapes",
            got=got,
            why="the masks are read from it",
            remedy=remedy,
            file=str(path),
        )
    )


def _format(path: Path) -> str:
    """``GDSII`` or ``OASIS`` by the first bytes; the name's ending does not matter."""
    if not path.exists():
        raise _refused(path, "no such file", "check its name; it is looked for beside the plan")
    if path.is_dir():
        raise _refused(path, "a folder", "name the file in it")
    content = path.read_bytes()
    if not content:
        raise _refused(path, "an empty file", "export the drawing again")
    if content.startswith(_OASIS):
        # The last record of an OASIS file is exactly 256 bytes long and has the number 2.
        if len(content) < len(_OASIS) + _OASIS_END or content[-_OASIS_END] != 2:
            raise _refused(path, "an OASIS file without its end record, cut off", "copy or export it again")
        return "OASIS"
    if content.startswith(_GDSII):
        if _GDSII_END not in content[-4096:]:
            raise _refused(path, "a GDSII file without its end record, cut off", "copy or export it again")
        return "GDSII"
    raise _refused(
        path, f"something else, its first bytes are {content[:8]!r}", "export the drawing as OASIS or GDSII"
    )


def _library(path: Path, kind: str) -> Any:
    """The layout library of a file. One without a valid check sum is tried in a process of its own first: spoiled
    files can end the process that reads them."""
    read: Callable[[Path], Any] = gdstk.read_oas if kind == "OASIS" else gdstk.read_gds
    valid = gdstk.oas_validate(path)[0] if kind == "OASIS" else None
    if valid is False:
        raise _refused(
            path, "an OASIS file that does not agree with its own check sum", "copy or export it again"
        )
    if valid is None and (trouble := _tried(path, read.__name__)):
        raise _refused(path, f"a broken {kind} file ({trouble})", "copy or export it again")
    try:
        # Missing cells are only warned of there; here they are refused by name.
        with warnings.catch_warnings(action="ignore", category=RuntimeWarning):
            return read(path)
    except (RuntimeError, ValueError, OSError, MemoryError) as error:
        raise _refused(path, f"a broken {kind} file ({error})", "copy or export it again") from None


def _tried(path: Path, reader: str) -> str:
    """What goes wrong when another process reads the file; empty when nothing does."""
    code = f"import sys, gdstk; gdstk.{reader}(sys.argv[1]).top_level()"
    try:
        tried = subprocess.run(
            [sys.executable, "-I", "-c", code, str(path)],
            capture_output=True,
            text=True,
            timeout=_PATIENCE_S,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return f"reading it takes more than {_PATIENCE_S} s"
    if tried.returncode == 0:
        return ""
    said = [line for line in tried.stderr.splitlines() if line.strip()]
    return said[-1].strip() if said else "its records make no sense"


def read_drawing(path: Path | str) -> Drawing:
    """Read a GDSII or OASIS file.

    Hierarchy and arrays are resolved, user units respected. Of several top cells the one with the largest box is taken;
    ``notes`` says so.

    Raises
    ------
    BadInput
        The file is missing, empty, of another type or broken, or has no cell with shapes.
    """
    path = Path(path)
    library = _library(path, _format(path))
    top, notes = _top(library, path)
    return _resolved(library, top, str(path), notes)


def drawing_of(library: Any) -> Drawing:
    """The drawing of a layout library in memory, e.g. one of :func:`filmwright.masks.chip`."""
    top, notes = _top(library, Path(library.name))
    return _resolved(library, top, "", notes)


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
    missing = sorted(
        {
            ref.cell
            for cell in library.cells
            if isinstance(cell, gdstk.Cell)
            for ref in cell.references
            if isinstance(ref.cell, str)
        }
    )
    if missing:
        names = ", ".join(f'"{name}"' for name in missing)
        raise _refused(
            path, f"a drawing that refers to cells it does not hold: {names}", "export it with all its cells"
        )
    tops = [cell for cell in library.top_level() if isinstance(cell, gdstk.Cell)]
    if not tops:
        got = "a file without cells" if not library.cells else "cells that contain each other, none is on top"
        raise _refused(path, got, "export the drawing with its top cell")
    tops.sort(key=_size, reverse=True)
    if _size(tops[0]) < 0:
        raise _refused(
            path, f'an empty top cell "{tops[0].name}"', "draw at least one shape, or export the right cell"
        )
    notes = []
    if len(tops) > 1:
        others = ", ".join(f'"{cell.name}"' for cell in tops[1:])
        notes.append(f'{len(tops)} top cells: took the largest, "{tops[0].name}"; left out {others}')
    return tops[0], notes


def _resolved(library: Any, top: Any, file: str, notes: list[str]) -> Drawing:
    scale, grid = convert(library.unit, "nm"), convert(library.precision, "nm")
    shapes: dict[LayerNumber, list[Any]] = defaultdict(list)
    for polygon in top.get_polygons():
        shapes[polygon.layer, polygon.datatype].append(polygon)
    layers = {}
    for number in sorted(shapes):
        region, crossing = _region([_points(polygon, scale, grid) for polygon in shapes[number]])
        if crossing:
            notes.append(
                f"layer {number[0]}/{number[1]}: {crossing} shapes cross themselves; every enclosed part counts as drawn"
            )
        if region.area > 0:
            layers[number] = region
        else:
            notes.append(f"layer {number[0]}/{number[1]}: its shapes have no area and were left out")
    if not layers:
        raise _refused(
            Path(file or library.name), f'an empty top cell "{top.name}"', "draw at least one shape"
        )
    labels = tuple(
        Label(
            text=label.text,
            layer=(label.layer, label.texttype),
            x_nm=float(label.origin[0]) * scale,
            y_nm=float(label.origin[1]) * scale,
        )
        for label in top.get_labels()
    )
    return Drawing(name=top.name, layers=layers, labels=labels, file=file, notes=tuple(notes))


def _region(outlines: list[NDArray[np.float64]]) -> tuple[Region, int]:
    """The union of outlines in nm, and how many of them cross themselves."""
    try:
        return Region.of(outlines), 0
    except ValueError:
        pass
    clean: list[NDArray[np.float64]] = []
    crossing = 0
    for points in outlines:
        try:
            Region.of([points])
        except ValueError:
            crossing += 1
            parts = gdstk.boolean(
                gdstk.Polygon([(float(x), float(y)) for x, y in points]),
                [],
                "or",
                precision=_CROSSING_PRECISION,
            )
            clean.extend(np.asarray(part.points) for part in parts)
        else:
            clean.append(points)
    return Region.of(clean), crossing


def _points(polygon: Any, scale: float, grid: float) -> NDArray[np.float64]:
    """Corners in nm, on the grid of the library, so that a unit conversion leaves no dust."""
    snapped: NDArray[np.float64] = np.round(np.asarray(polygon.points) * (scale / grid)) * grid
    return np.round(snapped, 3)
