"""A recipe that nobody measured."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.finding import Finding
from filmwright.review.lab_case import LabCase, LabRule, told


def check(case: LabCase) -> Iterator[Finding]:
    """Recipes of each tool less those that a reading is bound to; recipes of tools without any rate apart."""
    for tool in case.lab.tools.values():
        measured = {
            each.recipe for each in case.lab.calibrations if each.tool == tool.name and not each.set_aside
        }
        for recipe in tool.recipes.values():
            if recipe.name not in measured and case.needs[tool.name]:
                yield told(
                    "warn",
                    f'the recipe "{recipe.name}" of {tool.name}',
                    "measured: a reading that names it",
                    "none",
                    "with other settings the tool has another rate, and a step that names the recipe would take the general one",
                    f"measure it, and write recipe: {recipe.name} into that calibration",
                    "rates apply to a recipe on a tool (common practice)",
                    recipe.line,
                )


RULE = LabRule(
    name="recipe without evidence",
    loses="thickness",
    quantity="recipes − recipes of readings",
    source="rates apply to a recipe on a tool (common practice)",
    check=check,
)
