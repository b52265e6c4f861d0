"""Evaporation in too poor a vacuum."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.process import mean_free_path
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import ROOM_TEMPERATURE, show


def check(case: Case) -> Iterator[Finding]:
    """Mean free path of nitrogen at the pressure of the plan against the throw."""
    nitrogen = case.facts.models["nitrogen"]["molecule diameter"]
    for state in case.trace.states:
        pressure = state.step.asked.get("pressure")
        if (
            state.step.kind != "deposit"
            or pressure is None
            or "evaporation" not in case.method(state).families
        ):
            continue
        path = mean_free_path(pressure.value, nitrogen.value, ROOM_TEMPERATURE)
        throw, whose = _throw(case, state.step.tool)
        if path < throw:
            yield finding(
                state,
                "warn",
                f"the pressure of {step_named(state)}",
                f"a mean free path of at least the throw, {show(throw, 'length')}",
                f"{show(path, 'length')} at {show(pressure.value, 'pressure')}",
                "atoms are scattered: they come from all sides, covered walls do not lift off, and the film takes up gas",
                "pump longer, or look for a slip of Torr and mTorr",
                f"λ = kT / (√2 π d² p); {whose}",
            )


def _throw(case: Case, tool: str) -> tuple[float, str]:
    """Throw of the tool [m] where the lab file has it, else the limit; and whose it is."""
    known = case.lab.tools.get(tool)
    values = known.geometry.values if known is not None and known.geometry is not None else {}
    if "throw" in values:
        return values["throw"].value, str(values["throw"].source)
    return case.limit("throw"), case.limit_source("throw")


RULE = Rule(
    name="evaporated in poor vacuum",
    loses="the lift-off, and a clean film",
    quantity="mean free path / throw",
    limits=("throw",),
    source="kinetic theory of gases",
    answers=("lift-off", "residual gas"),
    check=check,
)
