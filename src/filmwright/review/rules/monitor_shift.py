"""A quartz monitor beyond its simple law."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, percent, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Mass that a lot puts on the crystal, as a part of the crystal's own, summed per tool."""
    quartz = case.facts.models["quartz crystal"]
    per_mass = case.limit("monitor crystal") / (quartz["density"].value * quartz["frequency constant"].value)
    carried: dict[str, float] = {}
    for state in case.trace.states:
        if state.step.kind != "deposit" or "monitor thickness" not in case.method(state).settings:
            continue
        density = case.facts.material(state.step.material).values.get("density")
        tool = state.step.tool or state.step.method
        if density is None or carried.get(tool, 0.0) > case.limit("monitor shift"):
            continue
        carried[tool] = carried.get(tool, 0.0) + density.value * (state.thickness or 0.0) * per_mass
        if carried[tool] > case.limit("monitor shift"):
            yield finding(
                state,
                "warn",
                f"the crystal of the quartz monitor in {step_named(state)}",
                f"at most {case.limit_text('monitor shift')} of its frequency in one lot",
                f"{percent(carried[tool])} on a fresh crystal of {case.limit_text('monitor crystal')}",
                "beyond it the simple mass law is off, and the crystal may stop before the film is done",
                "put in a fresh crystal, set density and acoustic impedance ratio in the monitor, and measure a step",
                case.limit_source("monitor shift"),
            )


RULE = Rule(
    name="quartz monitor loaded",
    loses="thickness",
    quantity="Σ density × thickness × frequency / (density of quartz × frequency constant)",
    limits=(
        "monitor shift",
        "monitor crystal",
    ),
    source="C.-S. Lu, O. Lewis, J. Appl. Phys. 43, 4385 (1972)",
    answers=("monitor",),
    check=check,
)
