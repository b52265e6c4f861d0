"""A step hotter than something on the wafer bears."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import replaces_value
from filmwright.review.finding import Change, Finding
from filmwright.units import show


def _bears(case: Case, state: State, material: str) -> tuple[float, str] | None:
    value = case.bears(material, state.step.kind == "anneal" and "air" in state.step.medium)
    return None if value is None else (value.value, str(value.source))


def check(case: Case) -> Iterator[Finding]:
    """Step temperature against the lowest limit of what lies on the wafer."""
    for state in case.trace.states:
        if state.step.kind not in {"deposit", "anneal"}:
            continue
        hot = case.temperature(state)
        borne = {
            material: limit
            for material in sorted(case.materials(case.before(state)))
            if case.kind(material) != "organic" and (limit := _bears(case, state, material)) is not None
        }
        hurt = [material for material, (limit, _) in borne.items() if hot > limit]
        if hurt:
            least = min(hurt, key=lambda material: borne[material][0])
            lowest, source = borne[least]
            others = [material for material in hurt if material != least]
            yield finding(
                state,
                "stop",
                f"the temperature of {step_named(state)}",
                f"at most {show(lowest, 'temperature')} with {least} on the wafer",
                show(hot, "temperature") + (f", too hot also for {', '.join(others)}" if others else ""),
                f"{least} oxidises, agglomerates or reacts above it",
                "lower the temperature, change the atmosphere, or move the step before that film",
                source,
                _cooler(case, state, lowest),
            )


def _cooler(case: Case, state: State, lowest: float) -> Change | None:
    """The highest temperature that all bear, where the plan itself names one for an anneal."""
    asked = state.step.kind == "anneal" and "temperature" in state.step.asked
    return replaces_value(case, state, "temperature", lowest, "degC") if asked else None


RULE = Rule(
    name="too hot for a film",
    loses="contacts and films already made",
    quantity="step temperature − lowest limit of every material on the wafer",
    source="temperature limits of the materials, each with its source",
    answers=("heat and chambers",),
    spoils=("stop",),
    same_step=("metal in furnace",),
    check=check,
)
