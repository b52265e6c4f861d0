"""A dose without a band, on resist whose thickness runs through a good part of the swing."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, percent, step_named
from filmwright.review.changes import replaces_value
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Resist thickness band over one swing period, where a metal reflects and the plan fixes the dose to less than the swing."""
    for state in case.trace.states:
        dose = state.step.asked.get("dose")
        coat = case.coat_before(state)
        if state.step.kind != "expose" or dose is None or coat is None:
            continue
        width = 4 * (coat.thickness_std or 0.0)
        periods = width / case.limit("swing period")
        band = (dose.spread or 0.0) / dose.value
        mirrors = sorted(name for name in _under_resist(case, state) if case.kind(name) == "conductor")
        if mirrors and periods > case.limit("swing share") and band < case.limit("dose band"):
            yield finding(
                state,
                "warn",
                f"the dose of {step_named(state)}",
                f"a band of ± {case.limit_text('dose band')}, or resist even to {case.limit_text('swing share')} of a swing",
                f"± {percent(band)} on resist that spreads over {periods:.1f} swings ({show(width, 'length')}), over {', '.join(mirrors)}",
                "what is reflected beneath strengthens or starves the dose with every eighth of a micrometre",
                "write the dose with its band and run a dose series on a dummy with the same film beneath",
                case.limit_source("swing period"),
                replaces_value(case, state, "dose", dose.value, "mJ/cm^2", case.limit("dose band")),
            )


def _under_resist(case: Case, state: State) -> set[str]:
    """What lies directly under the resist somewhere."""
    return {
        column.layers[-2].material
        for column in case.stacks(case.before(state))
        if case.kind(column.top.material) == "organic"
    }


RULE = Rule(
    name="dose without band",
    loses="line width, from place to place",
    quantity="95 % band of resist thickness / swing period, against the band of the dose",
    limits=(
        "swing period",
        "swing share",
        "dose band",
    ),
    source="swing period λ / 2n at 365 nm (optics)",
    answers=("dose",),
    check=check,
)
