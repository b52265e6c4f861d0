"""A wet metal etch with no stop on the film beneath."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.knowledge import believe
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
            if medium.rate(material).verdict != "attacks" or case.kind(material) != "semiconductor":
                continue
            typical, least = _selectivity(case, state, material)
            if least is None or least < case.limit("selectivity"):
                # An upper bound alone is a reason to measure, none to stop.
                stops = typical is None or typical < case.limit("selectivity")
                got = (
                    "not known"
                    if typical is None or least is None
                    else f"{typical:.3g} typical, {least:.1f} at the upper rate"
                )
                yield finding(
                    state,
                    "stop" if stops else "warn",
                    f"the selectivity of {step.medium} for {step.material} over {material}, {step_named(state)}",
                    f"at least {case.limit_text('selectivity')}, measured",
                    got,
                    "the etch has no stop and goes on through the channel",
                    "lift off instead, use a plasma that stops, or measure the selectivity and write it into the lab file"
                    if stops
                    else "measure the rate on a witness first and write it into the lab file: it may stop well enough",
                    case.limit_source("selectivity"),
                )


def _selectivity(case: Case, state: State, material: str) -> tuple[float | None, float | None]:
    """Rate of the film over that of the semiconductor beneath: typical, and at its upper rate; the lab's own goes first."""
    step = state.step
    known = believe(
        case.lab,
        case.facts,
        of="etch rate",
        tool=step.tool,
        material=material,
        medium=step.medium,
        recipe=step.recipe,
        on=case.trace.on,
    )
    if known is None or known.value <= 0 or state.rate is None:
        return None, None
    shipped = case.facts.medium(step.medium).rate(material).value
    own = known.age_days is not None
    upper = known.value + 2 * known.std if own or shipped is None else shipped.high
    return state.rate.value / known.value, state.rate.value / upper


RULE = Rule(
    name="no stop on the channel",
    loses="the channel",
    quantity="rate of the film / rate of the semiconductor beneath, typical and upper; the lab's own first",
    limits=("selectivity",),
    source="selectivity of at least 10, measured (common practice)",
    answers=("wet stop",),
    spoils=("stop",),
    check=check,
)
