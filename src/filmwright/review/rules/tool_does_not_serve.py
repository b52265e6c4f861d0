"""A step on a tool that does not do such steps."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import replaces
from filmwright.review.finding import Finding
from filmwright.review.tools import words


def check(case: Case) -> Iterator[Finding]:
    """What the tool of each step serves against what the step asks of it."""
    for state in case.trace.states:
        tool = case.lab.tools.get(state.step.tool)
        asked = words(case, state)
        if tool is None or not asked or set(tool.does) & set(asked):
            continue
        others = sorted(name for name, each in case.lab.tools.items() if set(each.does) & set(asked))
        yield finding(
            state,
            "warn",
            f"the tool of {step_named(state)}",
            "one that serves " + " or ".join(asked),
            f"{tool.name}, which serves {', '.join(tool.does)}",
            "the sheet sends the operator to a tool that cannot do it, with another tool's rate",
            "use "
            + (" or ".join(others) or "a tool that does it")
            + ", or add the word to the tool in the lab file",
            f"the lab's own tools ({case.lab.file or case.lab.name}:{tool.line})",
            replaces(case, state, "tool", others[0]) if len(others) == 1 else None,
        )


RULE = Rule(
    name="tool does not serve",
    loses="a day, and a setting of another tool",
    quantity="words of the step ∩ what the tool serves",
    source="the lab's own tools",
    answers=("known",),
    same_step=("never together",),
    check=check,
)
