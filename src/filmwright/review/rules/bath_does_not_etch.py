"""A film in a bath or plasma that does not etch it."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """What is on file of the film that an etch should take, in its own bath."""
    for state in case.trace.states:
        medium = case.medium(state)
        if state.step.kind != "etch" or medium is None or (state.rate is not None and state.rate.value > 0):
            continue
        if medium.rate(state.step.material).verdict != "does not attack":
            continue
        takes = sorted(
            other.name
            for other in case.facts.media.values()
            if other.kind in {"wet etch", "plasma"}
            and (rate := other.rate(state.step.material).value) is not None
            and rate.value > 0
        )
        yield finding(
            state,
            "stop",
            f"{state.step.material} in {step_named(state)}",
            f"a film that {medium.name} takes",
            "known not to be attacked",
            "the film stays, and everything else waits in the bath with it",
            "use " + (", ".join(takes[:4]) or "a bath that etches it") + ", or lift the film off",
            str(medium.rate(state.step.material).source),
        )


RULE = Rule(
    name="bath does not etch",
    loses="a day, and what the bath does take",
    quantity="verdict on file for the film in its own bath",
    source="etch matrix, each entry with its source",
    answers=("acid",),
    spoils=("stop",),
    check=check,
)
