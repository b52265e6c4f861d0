"""A sputter pressure that no magnetron runs at."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import replaces
from filmwright.review.finding import Change, Finding
from filmwright.units import convert, show


def check(case: Case) -> Iterator[Finding]:
    """Pressure of the plan against the range in which a magnetron burns."""
    for state in case.trace.states:
        pressure = state.step.asked.get("pressure")
        if state.step.kind != "deposit" or pressure is None or "sputter" not in state.step.method:
            continue
        low, high = case.limit("sputter pressure least"), case.limit("sputter pressure most")
        if not low <= pressure.value <= high:
            yield finding(
                state,
                "warn",
                f"the pressure of {step_named(state)}",
                f"{show(low, 'pressure')} to {show(high, 'pressure')}",
                f"{show(pressure.value, 'pressure')} as written: {pressure.value / high:.2g} times the most",
                "below it the plasma goes out, above it the film is porous and comes at a fraction of its rate",
                "look for a slip of Torr, mTorr and mbar: 5 mTorr = 0.67 Pa",
                case.limit_source("sputter pressure most"),
                _slip(case, state, pressure.value),
            )


def _slip(case: Case, state: State, pressure: float) -> Change | None:
    """A thousandth of what was typed, where that burns: torr for millitorr."""
    meant = convert(pressure, "Torr")
    low, high = (convert(case.limit(f"sputter pressure {end}"), "mTorr") for end in ("least", "most"))
    return replaces(case, state, "pressure", f"{meant:.3g} mTorr") if low <= meant <= high else None


RULE = Rule(
    name="sputter pressure off the range",
    loses="the film",
    quantity="pressure of the plan / range of a magnetron",
    limits=(
        "sputter pressure least",
        "sputter pressure most",
    ),
    source="common practice",
    answers=("typed",),
    check=check,
)
