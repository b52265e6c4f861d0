"""A tool of which nobody measured what its steps need."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.finding import Finding
from filmwright.review.lab_case import LabCase, LabRule, told


def check(case: LabCase) -> Iterator[Finding]:
    """What the steps that each tool serves need, less what was measured of it."""
    for tool in case.lab.tools.values():
        missing = [of for of in case.needs[tool.name] if not case.has(of, tool)]
        if missing:
            yield told(
                "warn",
                f"what is known of {tool.name}",
                f"measured: {', '.join(missing)}",
                f"no reading of {' or '.join(missing)}",
                f"it serves {', '.join(tool.does)}, and their times would rest on the book or on nothing",
                f"measure it and write {{tool: {tool.name}, {missing[0]}: … ± …, date: …}} under calibrations",
                "rates apply to a recipe on a tool (common practice)",
                tool.line,
            )
        if "bake" in tool.does and not case.has("hot-plate offset", tool):
            yield told(
                "note",
                f"the offset of {tool.name}",
                "measured at the temperatures that are set",
                "no reading",
                "wafer and display differ by some kelvin, more the hotter",
                "read a thermocouple on a wafer and write the hot-plate offset with what the plate was set to",
                "plates are read beside the wafer (common practice)",
                tool.line,
            )


RULE = LabRule(
    name="tool without a reading",
    loses="settings that rest on nothing",
    quantity="what the steps of a tool need − what was measured of it",
    source="rates apply to a recipe on a tool (common practice)",
    check=check,
)
