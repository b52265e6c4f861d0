"""Paths, files and the clock: the one place that opens them."""

from __future__ import annotations

import datetime
import os
import tempfile
from dataclasses import dataclass
from pathlib import Path

from filmwright.errors import BadInput, Problem, Problems
from filmwright.flow import Flow, read_flow, read_lab
from filmwright.knowledge import Book, Lab, book
from filmwright.masks import Drawing, read_drawing

RECORD_NAME = "record.sqlite"
LAB_NAME = "lab.yaml"


@dataclass(frozen=True, kw_only=True)
class Work:
    """A plan with everything around it."""

    flow: Flow
    lab: Lab
    lab_text: str
    drawing: Drawing | None
    facts: Book


def today() -> str:
    """ISO date of today."""
    return datetime.date.today().isoformat()


def now() -> str:
    """ISO time of now, to the second, with its offset."""
    return datetime.datetime.now().astimezone().isoformat(timespec="seconds")


def load(plan: Path, lab: Path | None = None) -> Work:
    """Read plan, lab file and drawing; every problem of all three is raised at once.

    Parameters
    ----------
    plan : Path
    lab : Path or None
        None takes ``lab.yaml`` beside the plan, or no lab at all when there is none.
    """
    problems = Problems()
    read, text = Lab(name="no lab file"), ""
    beside = lab or plan.parent / LAB_NAME
    if lab is not None or beside.is_file():
        try:
            read, text = read_lab(beside), beside.read_text("utf-8")
        except BadInput as bad:
            problems.found.extend(bad.problems)
    flow = drawing = None
    try:
        flow = read_flow(plan, read)
        drawing = _drawing(flow, plan, problems)
    except BadInput as bad:
        problems.found.extend(bad.problems)
    problems.raise_any()
    assert flow is not None  # an unread plan has raised its problems above
    return Work(flow=flow, lab=read, lab_text=text, drawing=drawing, facts=book())


def _drawing(flow: Flow, plan: Path, problems: Problems) -> Drawing | None:
    if not flow.masks:
        return None
    path = plan.parent / flow.drawing
    try:
        drawing = read_drawing(path)
    except BadInput as bad:
        problems.found.extend(bad.problems)
        return None
    for level in flow.masks.values():
        try:
            drawing.region((level.layer, level.datatype))
        except BadInput as bad:
            problems.found.extend(problem.at(flow.file, level.line) for problem in bad.problems)
    return drawing


def write(path: Path, content: str | bytes) -> Path:
    """Write a file whole or not at all: into a temporary neighbour first, then renamed."""
    data = content.encode("utf-8") if isinstance(content, str) else content
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
            os.chmod(name, 0o644)
            os.replace(name, path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as trouble:
        raise BadInput(
            Problem(
                what="the place to write",
                expected="a folder that may be written",
                got=trouble.strerror or "an error",
                why="nothing was written",
                remedy="choose another place, or free some room",
                file=str(path),
            )
        ) from None
    return path
