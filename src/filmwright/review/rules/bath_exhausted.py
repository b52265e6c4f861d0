"""A bath that has dissolved as much as it should."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State, bath_of
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Wafers, area or reagent that went through the bath against what it bears, this wafer included."""
    for state in case.trace.states:
        if state.step.kind not in {"etch", "clean"}:
            continue
        bath = bath_of(state.step, case.lab, case.trace.on)
        spent = _spent(case, state) if bath is not None else None
        if bath is None or spent is None:
            continue
        expected, got = spent
        yield finding(
            state,
            "warn",
            f'what the bath "{bath.name}" has dissolved before {step_named(state)}',
            expected,
            got,
            "the rate falls, what is dissolved falls out again as residue, and two wafers of one lot differ",
            "renew the bath, or count again and write it into the lab file",
            f"baths of the lab file, line {bath.line}; {case.limit_source('bath used')}",
        )


def _spent(case: Case, state: State) -> tuple[str, str] | None:
    """What the bath bears and what it has seen with this wafer; None where it bears it or nobody counts."""
    bath = bath_of(state.step, case.lab, case.trace.on)
    if bath is None:
        return None
    if bath.most_wafers and bath.wafers_done + 1 > bath.most_wafers:
        return f"at most {bath.most_wafers} wafers", f"{bath.wafers_done} wafers and this one"
    if bath.most_area is not None and bath.area_done is not None and bath.area_done > bath.most_area:
        return f"at most {show(bath.most_area, 'area')}", show(bath.area_done, "area")
    if state.etch is None:
        return None
    share = state.etch.used_before + state.etch.used_by_one
    if share > case.limit("bath used"):
        return (
            f"at most {case.limit_text('bath used')} of its reagent",
            f"{share:.0%} with this wafer (computed)",
        )
    return None


RULE = Rule(
    name="bath exhausted",
    loses="the rate, and a clean surface",
    quantity="wafers, area, or ν·n/(c·V) of what was dissolved, with this wafer",
    limits=("bath used",),
    source="balanced equation of the dissolution; counts of the lab file",
    answers=("baths",),
    check=check,
)
