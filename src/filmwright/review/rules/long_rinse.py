"""Molybdenum and zinc oxide standing in water."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, exposed, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show, to_si

_SENSITIVE = {"molybdenum", "zinc oxide"}


def check(case: Case) -> Iterator[Finding]:
    """Rinses longer than five minutes with one of them uncovered."""
    for state in case.trace.states:
        if state.step.kind != "rinse":
            continue
        planned = next((setting.value for setting in state.settings if setting.name == "time"), None) or 0.0
        time = state.step.done.get("time", planned)
        bare = sorted(_SENSITIVE & set(exposed(state.wafer.plan)))
        if bare and time > to_si(5, "min"):
            yield finding(
                state,
                "note",
                f"the rinse of {step_named(state)}",
                "at most 5 min",
                show(time, "time"),
                f"{', '.join(bare)} corrodes in standing water",
                "rinse short and blow dry at once",
                "common practice",
            )


RULE = Rule(
    name="long rinse",
    loses="metal and zinc oxide at the edges",
    quantity="rinse time with molybdenum or zinc oxide uncovered",
    source="common practice",
    check=check,
)
