"""A step for which the lab has no tool, or several and the plan names none."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.review.tools import words


def check(case: Case) -> Iterator[Finding]:
    """How many tools of the lab serve a step that no tool was found for; each kind of step once."""
    told: set[tuple[str, ...]] = set()
    for state in case.trace.states:
        asked = words(case, state)
        if not case.lab.tools or state.step.tool or not asked or asked in told:
            continue
        told.add(asked)
        serving = sorted(name for name, each in case.lab.tools.items() if set(each.does) & set(asked))
        yield finding(
            state,
            "warn",
            f"the tool of {step_named(state)}",
            "one tool of the lab that serves " + " or ".join(asked),
            f"{len(serving)} of them: {', '.join(serving)}" if serving else "none",
            "without a tool there is no reading, no evenness and no admission rule for this step",
            "name the tool in the plan"
            if serving
            else "write the tool into the lab file, or choose another way",
            f"the lab's own tools ({case.lab.file or case.lab.name})",
        )


RULE = Rule(
    name="no tool for the step",
    loses="a setting that rests on nothing",
    quantity="tools of the lab that serve the step",
    source="the lab's own tools",
    answers=("known",),
    same_step=(
        "metal in furnace",
        "bath does not etch",
    ),
    check=check,
)
