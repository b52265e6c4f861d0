"""A film that cools with another expansion than its wafer."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, percent, step_named
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
        strains = {
            film: (abs(own.value - body.value) * span, own)
            for film in case.materials(state.wafer.plan) - told - {case.flow.body.material}
            if case.kind(film) != "organic"
            and (own := case.facts.material(film).values.get("expansion")) is not None
        }
        high = [film for film in sorted(strains) if strains[film][0] > case.limit("mismatch strain")]
        high.sort(key=lambda film: -strains[film][0])
        told |= set(high)
        if high:
            worst = strains[high[0]][1]
            yield finding(
                state,
                "warn",
                f"the strain of {', '.join(high)} after {step_named(state)}",
                f"at most {case.limit_text('mismatch strain')}",
                "; ".join(
                    f"{percent(strains[film][0])} ({show(strains[film][1].value, 'expansion')} on "
                    f"{show(body.value, 'expansion')}, over {span:.0f} K)"
                    for film in high
                ),
                "it yields on the way up and tears or wrinkles on the way down: hillocks, cracks, peeling",
                "lower the temperature, ramp slowly, thin the film, or cap it",
                f"{case.limit_source('mismatch strain')}; expansion: {worst.source}",
            )


RULE = Rule(
    name="expansion mismatch",
    loses="smooth metals and whole insulators",
    quantity="|expansion of the film − of the wafer| × heating",
    limits=("mismatch strain",),
    source="thermal strain of a film on a stiff wafer (textbook)",
    answers=("stress",),
    same_step=(
        "too hot for a film",
        "metal in furnace",
    ),
    check=check,
)
