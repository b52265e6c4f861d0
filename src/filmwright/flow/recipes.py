"""The recipe that a step names: its settings join those of the plan, and must not contradict them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

from filmwright.errors import nearest
from filmwright.flow.expand import Written
from filmwright.flow.fields import Reading
from filmwright.flow.types import Step
from filmwright.knowledge import Lab, ToolRecipe
from filmwright.units import Quantity

_TAKES: dict[str, frozenset[str]] = {
    "deposit": frozenset({"temperature", "pressure", "power", "time", "gas flow"}),
    "etch": frozenset({"temperature", "pressure", "power", "time", "gas flow"}),
    "clean": frozenset({"temperature", "time", "pressure", "power"}),
    "strip": frozenset({"temperature", "time", "pressure", "power"}),
    "lift off": frozenset({"temperature", "time"}),
    "anneal": frozenset({"temperature", "time"}),
    "expose": frozenset({"dose"}),
    "develop": frozenset({"develop time"}),
}
"""Settings of a recipe that an elementary step takes, besides the flows of its gases."""

_SAME = 1e-6
"""Relative difference of two ways to write one number."""


def with_recipe(steps: tuple[Step, ...], written: Written, reading: Reading) -> tuple[Step, ...]:
    """The elementary steps of a written one with the settings of its recipe.

    A step that unfolds over several tools takes the recipe at those that know it. Where the lab file has no recipes of any of its
    tools, and no calibration that names one, the name is kept as it is.
    """
    if not written.recipe:
        return steps
    known = {step.tool: _known(written.lab, step.tool) for step in steps}
    every = {name for names in known.values() for name in names}
    if every and written.recipe not in every:
        tools = " or ".join(sorted(tool for tool, names in known.items() if names))
        reading.refuse(
            f'the recipe of the step "{written.verb}: {written.target}"',
            f"a recipe of {tools}",
            f'"{written.recipe}"',
            "its settings and its rate are read from the lab file",
            nearest(written.recipe, every),
            written.lines.get("recipe", written.line),
        )
        return steps
    if not every:
        return steps
    return tuple(
        _joined(step, written, reading) if written.recipe in known[step.tool] else replace(step, recipe="")
        for step in steps
    )


def _known(lab: Lab, tool: str) -> frozenset[str]:
    """Names of recipes of a tool: its own list, and what its calibrations are bound to."""
    own = lab.tools[tool].recipes if tool in lab.tools else {}
    bound = (each.recipe for each in lab.calibrations if tool and each.tool == tool and each.recipe)
    return frozenset({*own, *bound})


def _joined(step: Step, written: Written, reading: Reading) -> Step:
    tool = written.lab.tools.get(step.tool)
    recipe = tool.recipes.get(written.recipe) if tool is not None else None
    if recipe is None:
        return step
    _of_other(recipe, step, written, reading)
    takes = _TAKES.get(step.kind, frozenset())
    settings = {
        name: quantity
        for name, quantity in recipe.settings.items()
        if name in takes or (name.endswith(" flow") and "gas flow" in takes)
    }
    if "time" in settings and step.end is not None:
        _contradicts(step, written, reading, "until", (f'"{step.end.text}"', str(settings.pop("time"))))
    for name, quantity in settings.items():
        own = step.asked.get(name)
        if own is not None and not _agree(own, quantity):
            _contradicts(step, written, reading, name, (str(own), str(quantity)))
    added = {name: quantity for name, quantity in settings.items() if name not in step.asked}
    return replace(step, asked={**step.asked, **added}, by_recipe=dict.fromkeys(added, recipe.line))


def _agree(asked: Quantity, by_recipe: Quantity) -> bool:
    far = max(by_recipe.spread or 0.0, _SAME * abs(by_recipe.value))
    return math.isclose(asked.value, by_recipe.value, rel_tol=0.0, abs_tol=far * (1 + _SAME))


def _of_other(recipe: ToolRecipe, step: Step, written: Written, reading: Reading) -> None:
    """A recipe for another film or another chemistry."""
    for name, of, asked in _what(recipe, step):
        if of and asked and of != asked:
            reading.refuse(
                f'the {name} of the step "{written.verb}: {written.target}"',
                f'{of}, which the recipe "{recipe.name}" of {step.tool} is for',
                asked,
                "a rate holds for what it was measured with",
                "name another recipe, or leave it out",
                written.lines.get("recipe", written.line),
            )


def _what(recipe: ToolRecipe, step: Step) -> Iterable[tuple[str, str, str]]:
    medium = step.medium if step.kind in {"etch", "clean", "strip", "lift off", "develop"} else ""
    return (
        ("material", recipe.material, step.material if step.kind in {"deposit", "etch"} else ""),
        ("bath or plasma", recipe.medium, medium),
    )


def _contradicts(step: Step, written: Written, reading: Reading, name: str, numbers: tuple[str, str]) -> None:
    asked, by_recipe = numbers
    reading.refuse(
        f'{name} of the step "{written.verb}: {written.target}"',
        f'as the recipe "{written.recipe}" of {step.tool} sets it, {by_recipe}',
        asked,
        "with another setting it is another recipe, and its rate does not hold",
        f"take {name} out of the step, or leave the recipe out",
        written.lines.get(name, written.line),
    )
