"""Molybdenum and zinc oxide standing in water."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show

_SENSITIVE = {"molybdenum", "zinc oxide", "aluminium-doped zinc oxide", "zinc"}


def check(case: Case) -> Iterator[Finding]:
    """Rinse time with one of them uncovered against the longest that they bear."""
    for state in case.trace.states:
        medium = case.medium(state)
        if medium is None or medium.kind != "rinse":
            continue
        planned = next((setting.value for setting in state.settings if setting.name == "time"), None) or 0.0
        time = state.step.done.get("time", planned)
        bare = sorted(_SENSITIVE & set(case.uncovered(state.wafer.plan)))
        if bare and time > case.limit("rinse time"):
            yield finding(
                state,
                "note",
                f"the rinse of {step_named(state)}",
                f"at most {case.limit_text('rinse time')}",
                show(time, "time"),
                f"{', '.join(bare)} corrodes in standing water",
                "rinse short and blow dry at once",
                case.limit_source("rinse time"),
            )


RULE = Rule(
    name="long rinse",
    loses="metal and zinc oxide at the edges",
    quantity="rinse time with molybdenum or zinc oxide uncovered",
    limits=("rinse time",),
    source="common practice",
    answers=("water",),
    check=check,
)
