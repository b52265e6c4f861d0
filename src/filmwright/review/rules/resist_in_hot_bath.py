"""Resist as a mask in a bath hotter than it bears."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Temperature of an etch bath against the limit of the resist that masks it."""
    for state in case.trace.states:
        medium = case.medium(state)
        if state.step.kind != "etch" or medium is None or medium.kind == "plasma":
            continue
        asked = state.step.asked.get("temperature")
        hot = asked.value if asked is not None else medium.temperature
        masks = case.organics(case.before(state)) - case.materials_at_the_end
        borne = {
            resist.material: resist.values["temperature limit"]
            for resist in case.facts.resists.values()
            if resist.material in masks and "temperature limit" in resist.values
        }
        if not borne or hot is None:
            continue
        weakest = min(borne, key=lambda name: borne[name].low)
        if hot > borne[weakest].low:
            yield finding(
                state,
                "stop" if hot > borne[weakest].value else "warn",
                f"the bath of {step_named(state)}",
                f"at most {show(borne[weakest].low, 'temperature')} with {weakest} as its mask",
                show(hot, "temperature"),
                "the resist flows, lifts or dissolves, and everything is etched",
                "mask it with an oxide or a metal, or etch with a plasma",
                str(borne[weakest].source),
            )


RULE = Rule(
    name="resist in hot bath",
    loses="the pattern, then the film",
    quantity="bath temperature − lower bound of the resist’s limit",
    source="temperature limits of the resists",
    answers=("resist lasts",),
    spoils=("stop",),
    check=check,
)
