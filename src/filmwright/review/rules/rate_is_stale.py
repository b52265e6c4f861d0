"""A time that rests on an old, wide or borrowed rate."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, percent, step_named
from filmwright.review.finding import Finding, Severity
from filmwright.units import show, to_si, write


def check(case: Case) -> Iterator[Finding]:
    """Age of the rate and half width of its 95 % band; etches with an end point to watch share one note."""
    watched: list[tuple[State, str, str]] = []
    for state in case.trace.states:
        told = None if state.step.done else _told(case, state)
        if told is None:
            continue
        if state.step.end is not None and state.step.end.rule == "end point":
            watched.append((state, *told))
        else:
            yield _found(case, state, "warn", f"the rate behind {step_named(state)}", *told)
    if watched:
        state, got, name = watched[0]
        more = "".join(f"; step {other.step.number}: {each}" for other, each, _ in watched[1:])
        what = (
            "the rates behind the etches with an end point"
            if more
            else f"the rate behind {step_named(state)}"
        )
        first = f"step {state.step.number}: {got}" if more else got
        yield _found(case, state, "note", what, first + more, name)


def _told(case: Case, state: State) -> tuple[str, str] | None:
    """The rate with its band and its age, and the limit that it passes; None where it passes none."""
    rate = state.rate
    if rate is None:
        return None
    band = 2 * rate.std / rate.value if rate.value else 1.0
    age = None if rate.age_days is None else to_si(rate.age_days, "day")
    wide, old = band > case.limit("rate band"), age is not None and age > case.limit("calibration age")
    if not wide and not old:
        return None
    known = f", {show(age, 'time')} old" if age else "; a book value, no reading of this tool"
    return (
        f"{write(rate.value, rate.unit)} ± {percent(band)} (95 %){known}",
        "rate band" if wide else "calibration age",
    )


def _found(case: Case, state: State, severity: Severity, what: str, got: str, name: str) -> Finding:
    return finding(
        state,
        severity,
        what,
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
    answers=("known",),
    same_step=(
        "time does not fit the film",
        "film not cleared",
    ),
    check=check,
)
