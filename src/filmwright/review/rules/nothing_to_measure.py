"""A measurement of a film that is not there, or of a step that nothing makes."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Films on the wafer in each measurement, and for a step height whether the film has an edge anywhere."""
    for state in case.trace.states:
        material = state.step.material
        # What is measured of a mask level, such as a line width, is the print of it.
        if state.step.kind != "measure" or not material or material in case.flow.masks:
            continue
        there = {
            any(layer.material == material for layer in column.layers)
            for column in case.stacks(case.before(state))
        }
        if True not in there:
            yield _told(state, "on the wafer", "nowhere on the wafer", "put the measurement behind its film")
        elif "height" in state.step.medium and there == {True} and not state.step.witness:
            yield _told(
                state,
                "with an edge that the stylus crosses",
                "all over the wafer, without an edge",
                "send a witness with a shadowed corner along, or measure after the film is etched",
            )


def _told(state: State, expected: str, got: str, remedy: str) -> Finding:
    return finding(
        state,
        "warn",
        f"{state.step.material} in {step_named(state)}",
        expected,
        got,
        "the reading would be of something else, or of nothing",
        remedy,
        "read off the emulated wafer",
    )


RULE = Rule(
    name="nothing to measure",
    loses="a number that later steps wait for",
    quantity="columns with and without the film that is measured",
    source="read off the emulated wafer",
    answers=("measured",),
    same_step=("measured under resist",),
    because_of=(
        "etch attacks film",
        "bath takes resist",
        "attacked, rate not on file",
    ),
    check=check,
)
