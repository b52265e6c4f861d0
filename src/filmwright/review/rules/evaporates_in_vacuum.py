"""A film that leaves again in a hot vacuum."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.process import vapour_pressure
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import STANDARD_ATMOSPHERE, show


def check(case: Case) -> Iterator[Finding]:
    """Vapour pressure of every uncovered element at the temperature of a step in vacuum; each film once."""
    told: set[str] = set()
    for state in case.trace.states:
        if state.step.kind != "deposit" or "vacuum" not in case.method(state).families:
            continue
        hot = case.temperature(state)
        for name in sorted(set(case.uncovered(case.before(state))) - told):
            pressure = _pressure(case, name, hot)
            if pressure is None or pressure < case.limit("vapour in chamber"):
                continue
            told.add(name)
            yield finding(
                state,
                "stop",
                f"the vapour of {name} in {step_named(state)}",
                f"below {case.limit_text('vapour in chamber')}",
                f"{show(pressure, 'pressure')} at {show(hot, 'temperature')}",
                "the film evaporates from the wafer and coats the chamber, and then everybody's next wafer",
                "cover it first, or use a colder process",
                case.limit_source("vapour in chamber"),
            )


def _pressure(case: Case, name: str, hot: float) -> float | None:
    """Vapour pressure [Pa] of an element; None where no curve holds at the temperature."""
    curves = case.facts.material(name).vapour.values()
    curve = next((each for each in curves if each.low <= hot <= each.high), None)
    return None if curve is None else STANDARD_ATMOSPHERE * vapour_pressure(hot, curve.coefficients)


RULE = Rule(
    name="film evaporates",
    loses="the film, and the chamber",
    quantity="vapour pressure of uncovered elements at the wafer temperature",
    limits=("vapour in chamber",),
    source="C. B. Alcock, V. P. Itkin, M. K. Horrigan, Can. Metall. Q. 23, 309 (1984)",
    answers=("hydrogen", "heat and chambers"),
    spoils=("stop",),
    check=check,
)
