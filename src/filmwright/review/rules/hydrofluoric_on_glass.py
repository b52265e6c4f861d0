"""A hydrofluoric bath that takes the wafer itself."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Rate of the wafer body in a hydrofluoric bath times the time, on the bare back."""
    body = case.flow.body.material
    for state in case.trace.states:
        medium = case.medium(state)
        if (
            medium is None
            or "hydrofluoric" not in medium.families
            or medium.rate(body).verdict == "does not attack"
        ):
            continue
        rate, time = medium.rate(body).value, case.time(state)
        if medium.rate(body).verdict == "unknown" and "oxide" not in case.facts.material(body).families:
            continue
        lost = None if rate is None else rate.value * time
        if lost is not None and lost < case.limit("body loss"):
            continue
        yield finding(
            state,
            "warn",
            f"the wafer of {body} in {step_named(state)}",
            f"at most {case.limit_text('body loss')} off its back and edge",
            f"{show(lost, 'length')} in {show(time, 'time')}"
            if lost is not None
            else "attacked at a rate that is not on file",
            "the bath etches the whole back and roughens it: marks blur, films on the rim float off",
            "protect the back with resist or tape, use a plasma, or a far weaker bath",
            case.limit_source("body loss"),
        )


RULE = Rule(
    name="fluoride bath on glass",
    loses="the back of the wafer, and what is seen through it",
    quantity="rate of the wafer body × time",
    limits=("body loss",),
    source="rates of the bath",
    answers=("dip beside",),
    check=check,
)
