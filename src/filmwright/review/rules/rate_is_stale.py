"""A time that rests on an old, wide or borrowed rate."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show, to_si, write


def check(case: Case) -> Iterator[Finding]:
    """Age of the rate and half width of its 95 % band; with an end point to watch, it is only a note."""
    for state in case.trace.states:
        rate = state.rate
        if rate is None or state.step.done:
            continue
        watched = state.step.end is not None and state.step.end.rule == "end point"
        band = 2 * rate.std / rate.value if rate.value else 1.0
        age = None if rate.age_days is None else to_si(rate.age_days, "day")
        wide, old = band > case.limit("rate band"), age is not None and age > case.limit("calibration age")
        if not wide and not old:
            continue
        name = "rate band" if wide else "calibration age"
        got = f"{write(rate.value, rate.unit)} ± {band:.0%} (95 %)" + (
            f", {show(age, 'time')} old" if age else "; a book value, no reading of this tool"
        )
        yield finding(
            state,
            "note" if watched else "warn",
            f"the rate behind {step_named(state)}",
            f"within {case.limit_text('rate band')} and younger than {case.limit_text('calibration age')}",
            got,
            "rates drift while a tool stands and after maintenance",
            "run a dummy first, measure it and write the rate into the lab file",
            case.limit_source(name),
        )


RULE = Rule(
    name="rate stale or wide",
    loses="thickness",
    quantity="95 % band of the believed rate and its age",
    limits=("rate band", "calibration age"),
    source="rates drift (common practice)",
    check=check,
)
