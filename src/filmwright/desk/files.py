"""Paths, files and the clock: the one place that opens them."""

from __future__ import annotations

import datetime
import os
import tempfile
from dataclasses import dataclass
from pathlib import Path

from filmwright.errors import BadInput, Problem, Problems, nearest
from filmwright.flow import Flow, Masks, read_flow, read_lab, read_masks
from filmwright.knowledge import Book, Lab, book
from filmwright.masks import Drawing, read_drawing
from filmwright.review import RULES
from filmwright.units import convert

RECORD_NAME = "record.sqlite"
RECORD_VARIABLE = "FILMWRIGHT_RECORD"
"""Environment variable that names the record where no other is named."""
LAB_NAME = "lab.yaml"


@dataclass(frozen=True, kw_only=True)
class Work:
    """A plan with everything around it."""

    flow: Flow
    lab: Lab
    lab_text: str
    drawing: Drawing | None
    facts: Book


def record_place(record: str | Path | None) -> str | Path:
    """The record that is named, else the one that the environment names, else the usual file in this folder.

    Parameters
    ----------
    record : str, Path or None
        A file, or the URL of a PostgreSQL database.
    """
    return record or os.environ.get(RECORD_VARIABLE) or Path(RECORD_NAME)


def record_if_any(record: str | Path | None) -> str | Path | None:
    """The same, but None where nobody named a record and the usual file is not there."""
    place = record_place(record)
    return None if place == Path(RECORD_NAME) and record is None and not Path(place).is_file() else place


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
    flow = None
    try:
        flow = read_flow(plan, read)
        check_accepted(flow, problems)
    except BadInput as bad:
        problems.found.extend(bad.problems)
    masks = (
        Masks(drawing=flow.drawing, grid=flow.grid, levels=flow.masks)
        if flow is not None
        else read_masks(plan)
    )
    drawing = drawing_of(plan, masks, problems)
    problems.raise_any()
    assert flow is not None  # an unread plan has raised its problems above
    return Work(flow=flow, lab=read, lab_text=text, drawing=drawing, facts=book())


def drawing_of(plan: Path, masks: Masks, problems: Problems, lies: Path | None = None) -> Drawing | None:
    """The drawing of a plan; every level without shapes is a problem at its line. ``lies``: where it is, if not beside the plan."""
    if not masks.drawing or not masks.levels:
        return None
    numbers = [(level.layer, level.datatype) for level in masks.levels.values()]
    grids = dict.fromkeys(numbers, convert(masks.grid, "nm")) if masks.grid is not None else None
    try:
        drawing = read_drawing(lies or plan.parent / masks.drawing, grids)
    except BadInput as bad:
        problems.found.extend(bad.problems)
        return None
    for level in masks.levels.values():
        try:
            drawing.region((level.layer, level.datatype))
        except BadInput as bad:
            problems.found.extend(problem.at(str(plan), level.line) for problem in bad.problems)
    return drawing


def check_accepted(flow: Flow, problems: Problems) -> None:
    """What a plan accepts must be a rule: a name that is none would silently accept nothing."""
    rules = [rule.name for rule in RULES]
    wrong = {(name, step.line) for step in flow.steps for name in step.acknowledged if name not in rules}
    for name, line in sorted(wrong):
        problems.add(
            Problem(
                what=f'the finding "{name}" that is accepted',
                expected="the name of a rule",
                got=f'"{name}"',
                why="it would accept nothing",
                remedy=nearest(name, rules),
                file=flow.file,
                line=line,
            )
        )


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
