"""A step that is not in the plan: one written step, read with the names of the lot's plan and lab."""

from __future__ import annotations

from filmwright.errors import Problems
from filmwright.flow.fields import Reading
from filmwright.flow.steps import read_steps
from filmwright.flow.text import parse
from filmwright.flow.types import Flow, Step
from filmwright.knowledge import Lab

_FILE = "the extra step"


def steps_from_text(text: str, flow: Flow, lab: Lab) -> tuple[Step, ...]:
    """The elementary steps of plan text such as ``clean: acetone``.

    Parameters
    ----------
    text : str
        One or more written steps, as under ``steps:`` of a plan; a single one needs no dash.
    flow : Flow
        Whose masks they may name.
    lab : Lab
        Whose tools they may name.

    Raises
    ------
    BadInput
        With every problem of the text.
    """
    lines = text.strip().splitlines() or [""]
    dashed = lines[0].startswith("- ")
    body = [
        ("  " if dashed or k else "  - ") + ("" if dashed or not k else "  ") + line
        for k, line in enumerate(lines)
    ]
    tree = parse("steps:\n" + "\n".join(body) + "\n", _FILE)
    reading = Reading(file=_FILE, problems=Problems(), readings=[])
    steps = read_steps(tree.get("steps"), reading, flow.masks, lab)
    reading.problems.raise_any()
    return steps
