"""Plan text → :class:`Flow`: read to its end, all problems at once."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

from filmwright.errors import BadInput, Problems, nearest
from filmwright.flow.expectation import read_expectation
from filmwright.flow.fields import Block, Reading, quantity
from filmwright.flow.grammar import CUT, FILM, MASK, PLAN, WAFER
from filmwright.flow.steps import read_steps
from filmwright.flow.text import Node, parse, read_text
from filmwright.flow.types import Body, CutAsked, Flow, MaskLevel, StartFilm
from filmwright.knowledge import Lab, book, wafer_thickness
from filmwright.units import convert

_LAYER = re.compile("[0-9]{1,5}")


def read_flow(path: Path | str, lab: Lab) -> Flow:
    """Read and validate a plan.

    Parameters
    ----------
    path : Path or str
    lab : Lab
        Tools that steps may name.

    Raises
    ------
    BadInput
        With every problem of the file.
    """
    path = Path(path)
    return flow_from_text(read_text(path, "a plan"), str(path), lab)


def flow_from_text(text: str, file: str, lab: Lab) -> Flow:
    """Validate a plan text; ``file`` is only named in messages."""
    tree = parse(text, file)
    reading = Reading(file=file, problems=Problems(), readings=[])
    plan = Block(reading, tree, PLAN, "the plan")
    drawing, masks = _masks(plan, reading)
    body = _body(plan, reading)
    steps = read_steps(plan.found.get("steps"), reading, masks, lab)
    flow = Flow(
        title=plan.text("flow"),
        file=file,
        text=text,
        digest=hashlib.sha256(text.encode()).hexdigest()[:12],
        body=body,
        drawing=drawing,
        masks=masks,
        cuts=_cuts(plan, reading),
        steps=steps,
        expect=read_expectation(plan.found.get("expect"), reading),
        invented=plan.flag("invented", False),
        because=plan.text("because"),
        readings=tuple(reading.readings),
    )
    reading.problems.raise_any()
    return flow


def read_masks(path: Path | str) -> tuple[str, dict[str, MaskLevel]]:
    """Drawing and levels of a plan whose other parts may be wrong, so that the drawing can be checked all the same.

    What is wrong in the text is not told here: ``read_flow`` tells it.
    """
    try:
        tree = parse(read_text(Path(path), "a plan"), str(path))
    except BadInput:
        return "", {}
    reading = Reading(file=str(path), problems=Problems(), readings=[])
    return _masks(Block(reading, tree, PLAN, "the plan"), reading)


def _body(plan: Block, reading: Reading) -> Body:
    node = plan.found.get("wafer")
    if node is None:
        return Body(material="", diameter=0.0, thickness=0.0)
    block = Block(reading, node, WAFER, "the wafer")
    body_node = block.found.get("body")
    material = ""
    if body_node is not None:
        material = reading.name(lambda name: book().material(name).name, body_node, "the body of the wafer")
    diameter = block.quantity("diameter")
    thickness = block.quantity("thickness")
    size = diameter.value if diameter else 0.0
    films = []
    films_node = block.found.get("films")
    for item in films_node.items if films_node and films_node.kind == "list" else ():
        film = Block(reading, item, FILM, "a film of the wafer")
        material_node, depth = film.found.get("material"), film.quantity("thickness")
        if material_node is not None and depth is not None:
            name = reading.name(
                lambda word: book().material(word).name, material_node, "the material of a film"
            )
            films.append(StartFilm(material=name, thickness=depth.value))
    if films_node is not None and films_node.kind != "list":
        reading.refuse(
            "the films of the wafer",
            "a list",
            films_node.shown,
            "films lie in order",
            "write - {material: …, thickness: …}",
            films_node.line,
        )
    return Body(
        material=material,
        diameter=size,
        thickness=thickness.value if thickness else wafer_thickness(size),
        films=tuple(films),
        line=node.line,
    )


def _masks(plan: Block, reading: Reading) -> tuple[str, dict[str, MaskLevel]]:
    node = plan.found.get("masks")
    if node is None:
        return "", {}
    drawing, levels = "", {}
    if node.kind != "map":
        reading.refuse(
            "the masks",
            "a block of levels",
            node.shown,
            "each level has a name",
            "write gate: {layer: 1/0, drawn: opaque}",
            node.line,
        )
        return "", {}
    for entry in node:
        if entry.key == "drawing":
            drawing = entry.value.text
            continue
        level = _level(entry.key, entry.value, reading)
        if level is not None:
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
    return drawing, levels


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


def _cuts(plan: Block, reading: Reading) -> dict[str, CutAsked]:
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
    cuts = {}
    for entry in node:
        block = Block(reading, entry.value, CUT, f'the cut "{entry.key}"')
        ends = tuple(point for key in ("from", "to") if (point := _point(block, key, reading)) is not None)
        through = block.text("through")
        if not through and len(ends) != 2:
            if block.has("from") and block.has("to"):
                continue  # what is wrong with an end has been told at the end
            reading.refuse(
                f'the cut "{entry.key}"',
                "from and to, or through",
                "neither",
                "it cannot be placed",
                "write {through: T01} or {from: [x, y], to: [x, y]}",
                entry.line,
            )
            continue
        if len(ends) == 2 and ends[0] == ends[1]:
            reading.refuse(
                f'the cut "{entry.key}"',
                "between two different points",
                "one point",
                "it has no length",
                "move one of its ends",
                entry.line,
            )
            continue
        cuts[entry.key] = CutAsked(
            name=entry.key, points=() if through else ends, through=through, line=entry.line
        )
    return cuts


def _point(block: Block, key: str, reading: Reading) -> tuple[float, float] | None:
    node = block.found.get(key)
    if node is None:
        return None
    if node.kind != "list" or len(node.items) != 2:
        reading.refuse(
            block.what(key),
            "two lengths",
            node.shown,
            "a point has x and y",
            "write [100 um, 200 um]",
            node.line,
        )
        return None
    values = [quantity(reading, item, "length", block.what(key), signed=True) for item in node.items]
    if values[0] is None or values[1] is None:
        return None
    return convert(values[0].value, "nm"), convert(values[1].value, "nm")
