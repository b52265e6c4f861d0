"""Plan text → :class:`Flow`: read to its end, all problems at once."""

from __future__ import annotations

import hashlib
from pathlib import Path

from filmwright.errors import BadInput, Problems
from filmwright.flow.drawn import Masks, read_cuts, read_mask_levels
from filmwright.flow.expectation import read_expectation
from filmwright.flow.fields import Block, Reading
from filmwright.flow.grammar import FILM, PLAN, WAFER
from filmwright.flow.steps import read_steps
from filmwright.flow.text import parse, read_text
from filmwright.flow.types import Body, Flow, StartFilm
from filmwright.knowledge import Lab, book, wafer_thickness


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
    masks = read_mask_levels(plan, reading)
    body = _body(plan, reading)
    steps = read_steps(plan.found.get("steps"), reading, masks.levels, lab)
    flow = Flow(
        title=plan.text("flow"),
        file=file,
        text=text,
        digest=hashlib.sha256(text.encode()).hexdigest()[:12],
        body=body,
        drawing=masks.drawing,
        grid=masks.grid,
        masks=masks.levels,
        cuts=read_cuts(plan, reading),
        steps=steps,
        expect=read_expectation(plan.found.get("expect"), reading),
        invented=plan.flag("invented", False),
        because=plan.text("because"),
        readings=tuple(reading.readings),
    )
    reading.problems.raise_any()
    return flow


def read_masks(path: Path | str) -> Masks:
    """Drawing and levels of a plan whose other parts may be wrong, so that the drawing can be checked all the same.

    What is wrong in the text is not told here: ``read_flow`` tells it.
    """
    try:
        return masks_from_text(read_text(Path(path), "a plan"), str(path))
    except BadInput:
        return Masks()


def masks_from_text(text: str, file: str) -> Masks:
    """Drawing and levels of a plan text whose other parts may be wrong; none where nothing can be read."""
    try:
        tree = parse(text, file)
    except BadInput:
        return Masks()
    reading = Reading(file=file, problems=Problems(), readings=[])
    return read_mask_levels(Block(reading, tree, PLAN, "the plan"), reading)


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
        piece=_shape(block, reading) == "piece",
        films=tuple(films),
        line=node.line,
        orientation=_orientation(block, reading),
    )


_PLANES = ("100", "111", "110")
"""Planes in which silicon wafers are sold."""


def _orientation(block: Block, reading: Reading) -> str:
    said = block.text("orientation")
    plane = said.strip("()<>[]{} ")
    if said and plane not in _PLANES:
        reading.refuse(
            block.what("orientation"),
            "one of " + ", ".join(f"({each})" for each in _PLANES),
            f'"{said}"',
            "oxide grows at another rate on each plane",
            "write (100), or leave it out",
            block.line("orientation"),
        )
        return ""
    return plane


def _shape(block: Block, reading: Reading) -> str:
    said = block.text("shape", "round")
    if said not in {"round", "piece"}:
        reading.refuse(
            block.what("shape"),
            "round or piece",
            f'"{said}"',
            "resist stands higher at the edges of a piece",
            "write round or piece",
            block.line("shape"),
        )
    return said
