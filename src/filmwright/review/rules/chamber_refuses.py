"""A tool that does not admit a class that the wafer is in, or comes to be in while it is there."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.admission import Cause, Visit, visits
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import strips_before
from filmwright.review.finding import Finding
from filmwright.review.tools import words


def check(case: Case) -> Iterator[Finding]:
    """Classes of the wafer on every axis, before the step and as it ends, against those that the tool admits."""
    for visit in visits(case):
        told: set[tuple[str, str]] = set()
        for moment, classes in (("before", visit.enters), ("at the end of", visit.leaves)):
            for (axis, name), causes in classes.items():
                shut = axis in visit.tool.admits and name not in visit.tool.admits[axis]
                if shut and (axis, name) not in told:
                    told.add((axis, name))
                    yield _finding(case, visit, moment, (axis, name), causes)


def _finding(
    case: Case, visit: Visit, moment: str, key: tuple[str, str], causes: tuple[Cause, ...]
) -> Finding:
    (axis, name), tool, state = key, visit.tool, visit.state
    admitted = [each.name for each in case.lab.admission[axis] if each.name in tool.admits[axis]]
    organic = [each.material for each in causes if each.material and case.kind(each.material) == "organic"]
    only_organic = bool(organic) and len(organic) == len(causes)
    return finding(
        state,
        "stop",
        # Of resist the words are those of the other rules about it, so that one cause stays one finding.
        f"the wafer {moment} {step_named(state)}" + ("" if only_organic else f" ({axis}: {name})"),
        f"in {' or '.join(admitted) or f'no class of {axis}'}, which {tool.name} admits",
        f"in {name}: {'; '.join(each.text for each in causes)}",
        "it contaminates the chamber and everybody's next wafer",
        _remedy(case, visit, key, causes, only_organic),
        f"admission rules of {tool.name}, {case.lab.file or case.lab.name}:{tool.line}",
        strips_before(case, state, organic) if only_organic and moment == "before" else None,
    )


def _remedy(
    case: Case, visit: Visit, key: tuple[str, str], causes: tuple[Cause, ...], only_organic: bool
) -> str:
    """What helps: a strip, a bath that clears the class, another tool; else the owner of the tool decides."""
    axis, name = key
    if only_organic:
        return "strip the resist before this step"
    asked = set(words(case, visit.state))
    others = [
        each.name
        for each in case.lab.tools.values()
        if asked & set(each.does) and name in each.admits.get(axis, {name})
    ]
    ways = [f"use {' or '.join(others)}, which admits it"] if others else []
    of = next(each for each in case.lab.admission[axis] if each.name == name)
    if of.cleared_by and not any(each.material for each in causes):
        ways.append(f"clean it before in {' or '.join(sorted(of.cleared_by))}")
    if any(each.material for each in causes) and not of.also_covered:
        ways.append("cover the film before")
    return ", or ".join([*ways, "ask the owner of the tool, who may change the lab file"])


RULE = Rule(
    name="chamber refuses",
    loses="a chamber, for everybody",
    quantity="classes of the wafer before and at the end of the step (films, edge, back, tools, baths) − those that the tool admits",
    source="the site's own admission rules (lab file)",
    answers=("heat and chambers",),
    check=check,
)
