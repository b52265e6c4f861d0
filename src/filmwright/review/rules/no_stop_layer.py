"""A wet metal etch with no stop on the film beneath."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Rate of the film over the rate of what the over-etch meets and must stay."""
    for state in case.trace.states:
        step = state.step
        if step.kind != "etch" or state.rate is None:
            continue
        beneath = case.beneath(case.before(state), step.material) - {step.material}
        medium = case.facts.medium(step.medium)
        for material in sorted(beneath):
            if case.kept is not None and material not in case.kept:
                continue
            rate = medium.rate(material)
            if rate.verdict != "attacks" or case.kind(material) != "semiconductor":
                continue
            ratio = state.rate.value / rate.value.high if rate.value is not None and rate.value.high else None
            if ratio is None or ratio < case.limit("selectivity"):
                got = "not known" if ratio is None else f"{ratio:.1f} at the upper rate"
                yield finding(
                    state,
                    "stop",
                    f"the selectivity of {step.medium} for {step.material} over {material}, {step_named(state)}",
                    f"at least {case.limit_text('selectivity')}, measured",
                    got,
                    "the etch has no stop and goes on through the channel",
                    "lift off instead, use a plasma that stops, or measure the selectivity and write it into the lab file",
                    case.limit_source("selectivity"),
                )


RULE = Rule(
    name="no stop on the channel",
    loses="the channel",
    quantity="rate of the film / upper rate of the semiconductor beneath",
    limits=("selectivity",),
    source="selectivity of at least 10, measured (common practice)",
    answers=("wet stop",),
    spoils=("stop",),
    check=check,
)
