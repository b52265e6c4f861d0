"""An over-etch shorter than the unevenness of film and etch."""

from __future__ import annotations

import math
from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, percent, step_named
from filmwright.review.changes import replaces
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Over-etch after the end point against what the thickest film in the slowest place needs."""
    for state in case.trace.states:
        end = state.step.end
        if state.step.kind != "etch" or end is None or end.rule != "end point":
            continue
        film, etch = _uneven(case, _made_by(case, state)), _uneven(case, state)
        need = least_over_etch(case, state)
        if end.extra < need:
            whole = math.ceil(100 * need / 5) * 5
            yield finding(
                state,
                "warn",
                f"the over-etch of {step_named(state)}",
                f"at least {percent(need)}: film uneven by {percent(film)}, etch by {percent(etch)}",
                f"{percent(end.extra)}",
                "the end point is seen where it comes first, and the slowest place still carries film",
                f"write until: end point + {whole} %, then look at the loss beneath",
                "(1 + unevenness of the film) / (1 − unevenness of the etch) − 1, (max − min) / (2 × mean) each",
                replaces(case, state, "until", f"end point + {whole} %"),
            )


def least_over_etch(case: Case, state: State) -> float:
    """Over-etch after the end point that the thickest film in the slowest place needs, as a fraction."""
    film, etch = _uneven(case, _made_by(case, state)), _uneven(case, state)
    return (1 + film) / (1 - etch) - 1


def _made_by(case: Case, state: State) -> State | None:
    """The step that put the film down."""
    before = case.trace.states[: case.places[id(state)]]
    return next(
        (
            each
            for each in reversed(before)
            if each.step.kind == "deposit" and each.step.material == state.step.material
        ),
        None,
    )


def _uneven(case: Case, state: State | None) -> float:
    """(max − min) / (2 × mean) over the wafer, by the tool or the method."""
    tool = case.lab.tools.get(state.step.tool) if state is not None else None
    if tool is not None and tool.non_uniformity is not None:
        return tool.non_uniformity
    return (
        case.method(state).non_uniformity.value if state is not None and state.step.kind == "deposit" else 0.0
    )


RULE = Rule(
    name="over-etch below unevenness",
    loses="parted lines: some places stay joined",
    quantity="over-etch − ((1 + unevenness of the film) / (1 − unevenness of the etch) − 1)",
    source="clearing of the slowest place (geometry)",
    answers=("plasma beneath", "unevenness"),
    follows=True,
    same_step=("edge and middle of one wafer", "film not cleared"),
    check=check,
)
