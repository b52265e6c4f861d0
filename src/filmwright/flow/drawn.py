"""The masks and the cuts of a plan: what is read from its drawing, and where it is cut."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise

from filmwright.errors import nearest
from filmwright.flow.fields import Block, Reading, quantity
from filmwright.flow.grammar import CUT, MASK, MASKS
from filmwright.flow.text import Node
from filmwright.flow.types import CutAsked, MaskLevel
from filmwright.units import convert

_LAYER = re.compile("[0-9]{1,5}")
_WAYS = ("through", "across", "points", "from")
"""The ways to say where a cut runs, by their first key."""


@dataclass(frozen=True, kw_only=True)
class Masks:
    """The drawing of a plan, the grid [m] on which its corners must lie, and its levels."""

    drawing: str = ""
    grid: float | None = None
    levels: Mapping[str, MaskLevel] = field(default_factory=dict)


def read_mask_levels(plan: Block, reading: Reading) -> Masks:
    """The block "masks" of a plan."""
    node = plan.found.get("masks")
    if node is None:
        return Masks()
    if node.kind != "map":
        reading.refuse(
            "the masks",
            "a block of levels",
            node.shown,
            "each level has a name",
            "write gate: {layer: 1/0, drawn: opaque}",
            node.line,
        )
        return Masks()
    drawing, grid, levels = "", None, {}
    for entry in node:
        if entry.key == "drawing":
            drawing = entry.value.text
        elif entry.key == "grid" and entry.value.kind == "text":
            found = quantity(reading, entry.value, MASKS["grid"].dimension, "the grid of the masks")
            grid = found.value if found else None
        elif (level := _level(entry.key, entry.value, reading)) is not None:
            levels[entry.key] = level
    if not drawing:
        reading.refuse(
            "the drawing of the masks",
            "a file name",
            "nothing",
            "the levels are read from it",
            'add "drawing: name.oas"',
            node.line,
        )
    return Masks(drawing=drawing, grid=grid, levels=levels)


def _level(name: str, node: Node, reading: Reading) -> MaskLevel | None:
    block = Block(reading, node, MASK, f'the mask "{name}"')
    layer, drawn = block.text("layer"), block.text("drawn")
    pieces = layer.split("/") if layer else []
    numbers = [int(piece) for piece in pieces if _LAYER.fullmatch(piece.strip())]
    if layer and (len(numbers) != len(pieces) or len(pieces) not in (1, 2)):
        reading.refuse(
            f'the layer of the mask "{name}"',
            "layer/datatype",
            f'"{layer}"',
            "a level is found by its numbers",
            "write it like 1/0",
            block.line("layer"),
        )
        return None
    if drawn and drawn not in {"opaque", "clear"}:
        reading.refuse(
            f'drawn of the mask "{name}"',
            "opaque or clear",
            f'"{drawn}"',
            "a wrong tone inverts the pattern",
            nearest(drawn, ("opaque", "clear")) + " (opaque: what is drawn is metal on the plate)",
            block.line("drawn"),
        )
        return None
    if not numbers or not drawn:
        return None
    return MaskLevel(
        name=name,
        layer=numbers[0],
        datatype=numbers[1] if len(numbers) == 2 else 0,
        drawn="opaque" if drawn == "opaque" else "clear",
        line=node.line,
    )


def read_cuts(plan: Block, reading: Reading) -> dict[str, CutAsked]:
    """The block "cuts" of a plan."""
    node = plan.found.get("cuts")
    if node is None:
        return {}
    if node.kind != "map":
        reading.refuse(
            "the cuts",
            "a block of named cuts",
            node.shown,
            "each cut has a name",
            "write channel: {through: T01}",
            node.line,
        )
        return {}
    found = ((entry.key, _cut(entry.key, entry.value, reading, entry.line)) for entry in node)
    return {name: cut for name, cut in found if cut is not None}


def _cut(name: str, node: Node, reading: Reading, line: int) -> CutAsked | None:
    block = Block(reading, node, CUT, f'the cut "{name}"')
    ways = [way for way in _WAYS if block.has(way)]
    if len(ways) != 1:
        reading.refuse(
            f'the cut "{name}"',
            "one of: through, across, points, or from and to",
            " and ".join(ways) or "neither",
            "it cannot be placed",
            "write {through: T01}, {across: T01}, {points: [[x, y], [x, y], [x, y]]} or {from: [x, y], to: [x, y]}",
            line,
        )
        return None
    if ways[0] in ("through", "across"):
        return CutAsked(name=name, through=block.text("through"), across=block.text("across"), line=line)
    points = _corners(block, reading) if ways[0] == "points" else _ends(block, reading, name, line)
    if points is None:
        return None
    if any(one == other for one, other in pairwise(points)):
        reading.refuse(
            f'the cut "{name}"',
            "points that differ from the one before",
            "the same point twice" if len(points) > 2 else "one point",
            "a piece of it has no length",
            "move or leave out one of them",
            line,
        )
        return None
    return CutAsked(name=name, points=points, line=line)


Point = tuple[float, float]


def _ends(block: Block, reading: Reading, name: str, line: int) -> tuple[Point, ...] | None:
    if not block.has("to"):
        reading.refuse(
            f'the cut "{name}"',
            "from and to",
            "from alone",
            "it cannot be placed",
            "add to: [x, y]",
            line,
        )
        return None
    ends = [_point(block.found[key], block.what(key), reading) for key in ("from", "to")]
    return None if ends[0] is None or ends[1] is None else (ends[0], ends[1])


def _corners(block: Block, reading: Reading) -> tuple[Point, ...] | None:
    node = block.found["points"]
    if node.kind != "list" or len(node.items) < 2:
        reading.refuse(
            block.what("points"),
            "two or more points",
            node.shown,
            "a cut runs from point to point",
            "write [[0 um, 0 um], [50 um, 0 um], [50 um, 80 um]]",
            node.line,
        )
        return None
    found = [_point(item, block.what("points"), reading) for item in node.items]
    points = tuple(point for point in found if point is not None)
    return points if len(points) == len(found) else None


def _point(node: Node, what: str, reading: Reading) -> Point | None:
    if node.kind != "list" or len(node.items) != 2:
        reading.refuse(
            what, "two lengths", node.shown, "a point has x and y", "write [100 um, 200 um]", node.line
        )
        return None
    values = [quantity(reading, item, "length", what, signed=True) for item in node.items]
    if values[0] is None or values[1] is None:
        return None
    return convert(values[0].value, "nm"), convert(values[1].value, "nm")
