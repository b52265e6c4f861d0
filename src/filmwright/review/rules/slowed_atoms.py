"""A sputtered metal whose atoms the gas has slowed down."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Part of the atoms that lose their energy on the way, from pressure and throw."""
    for state in case.trace.states:
        shares = [
            each.value
            for each in state.follows
            if each.name.endswith("slowed down by the gas") and each.value is not None
        ]
        pressure = state.step.asked.get("pressure")
        if shares and pressure is not None and max(shares) > case.limit("slowed atoms"):
            yield finding(
                state,
                "warn",
                f"the atoms that arrive in {step_named(state)}",
                f"at most {case.limit_text('slowed atoms')} slowed down by the gas",
                f"{max(shares):.0%} at {show(pressure.value, 'pressure')}",
                "they come from all sides and bring no energy: the film is less dense, rather tensile, and covers walls",
                "lower the pressure, or bring target and wafer nearer to each other",
                case.limit_source("slowed atoms"),
            )


RULE = Rule(
    name="sputtered atoms slowed down",
    loses="density and conductance of the film",
    quantity="chance that an atom makes as many collisions as slow it down",
    limits=("slowed atoms",),
    source="W. D. Westwood, J. Vac. Sci. Technol. 15, 1 (1978); J. A. Thornton (1974) (from memory)",
    check=check,
    answers=("target",),
)
