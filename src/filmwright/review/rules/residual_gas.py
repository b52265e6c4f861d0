"""A getter evaporated in too much water."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.process import impingement_rate, residual_gas_ratio
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import ROOM_TEMPERATURE, show


def check(case: Case) -> Iterator[Finding]:
    """Water that arrives for each atom of a getter, at the pressure of the plan taken as water."""
    water = case.facts.models["water"]["molar mass"]
    for state in case.trace.states:
        pressure, rate = state.step.asked.get("pressure"), state.rate
        if state.step.kind != "deposit" or pressure is None or rate is None or rate.value <= 0:
            continue
        facts = case.facts.material(state.step.material)
        density, molar = facts.values.get("density"), facts.values.get("molar mass")
        evaporated = "evaporation" in case.method(state).families
        if not evaporated or "getter" not in facts.families or density is None or molar is None:
            continue
        arriving = impingement_rate(pressure.value, water.value, ROOM_TEMPERATURE)
        ratio = residual_gas_ratio(arriving, rate.value, density.value, molar.value)
        if ratio > case.limit("water in getter"):
            yield finding(
                state,
                "warn",
                f"the water that arrives with {state.step.material} in {step_named(state)}",
                f"at most {case.limit_text('water in getter')} for each atom of the film",
                f"{ratio:.2g} at {show(pressure.value, 'pressure')} and {show(rate.value, 'rate')}",
                "a getter takes every molecule: the film is half oxide, brittle, and holds and conducts badly",
                "pump longer, evaporate some with the shutter closed first, or faster",
                f"{case.limit_source('water in getter')}; residual gas taken as water",
            )


RULE = Rule(
    name="water in a getter",
    loses="adhesion and contact resistance",
    quantity="water arriving / film atoms arriving",
    limits=("water in getter",),
    source="H. Hertz (1882), M. Knudsen (1915), unit sticking (from memory)",
    answers=("residual gas",),
    check=check,
)
