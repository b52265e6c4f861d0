"""A film that cools with another expansion than its wafer."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import ROOM_TEMPERATURE, show


def check(case: Case) -> Iterator[Finding]:
    """Strain by the difference of expansion between the hottest step and room temperature, for every film on the wafer."""
    body = case.facts.material(case.flow.body.material).values.get("expansion")
    if body is None:
        return
    told: set[str] = set()
    for state in case.trace.states:
        if state.step.kind not in {"anneal", "deposit"}:
            continue
        span = case.temperature(state) - ROOM_TEMPERATURE
        films = case.materials(state.wafer.plan) - told - {case.flow.body.material}
        for film in sorted(films):
            own = case.facts.material(film).values.get("expansion")
            if own is None or case.kind(film) == "organic":
                continue
            strain = abs(own.value - body.value) * span
            if strain > case.limit("mismatch strain"):
                told.add(film)
                yield finding(
                    state,
                    "warn",
                    f"the strain of {film} after {step_named(state)}",
                    f"at most {case.limit_text('mismatch strain')}",
                    f"{strain:.2%} ({show(own.value, 'expansion')} on {show(body.value, 'expansion')}, over {span:.0f} K)",
                    "it yields on the way up and tears or wrinkles on the way down: hillocks, cracks, peeling",
                    "lower the temperature, ramp slowly, thin the film, or cap it",
                    f"{case.limit_source('mismatch strain')}; expansion: {own.source}",
                )


RULE = Rule(
    name="expansion mismatch",
    loses="smooth metals and whole insulators",
    quantity="|expansion of the film − of the wafer| × heating",
    limits=("mismatch strain",),
    source="thermal strain of a film on a stiff wafer (textbook)",
    answers=("stress",),
    check=check,
)
