"""A bottle of resist past its date, or open for long."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show, to_si


def check(case: Case) -> Iterator[Finding]:
    """Age of the bottle behind each coat that is still to be done, each bottle once."""
    told: set[str] = set()
    for state in case.trace.states:
        if state.step.kind != "coat" or state.step.done or state.step.resist in told:
            continue
        bottle = case.bottle(state.step.resist)
        if bottle is None:
            continue
        told.add(state.step.resist)
        open_for = to_si(case.days_until(bottle.opened), "day")
        expired = bool(bottle.expires) and bottle.expires < case.trace.on
        if not expired and open_for <= case.limit("bottle age"):
            continue
        got = f"its maker's date was {bottle.expires}" if expired else f"open for {show(open_for, 'time')}"
        yield finding(
            state,
            "warn",
            f"the bottle of {state.step.resist} for {step_named(state)}",
            f"within its maker's date, open for at most {case.limit_text('bottle age')}",
            f"{got} (lab file line {bottle.line})",
            "old resist coats thicker, has particles, clears later and leaves a skin",
            "open a new bottle and write it into the lab file, or coat, expose and develop a dummy first",
            case.limit_source("bottle age"),
        )


RULE = Rule(
    name="resist bottle old",
    loses="line width, and the clear places",
    quantity="today − the date on the bottle; today − the day on which it was opened",
    limits=("bottle age",),
    source="resists age (common practice)",
    answers=("dose", "waits"),
    check=check,
)
