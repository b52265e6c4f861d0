"""A quartz monitor whose tooling factor nobody measured, or that no evaporator has."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.knowledge import Belief, believe
from filmwright.review.case import Case, Rule, finding, percent, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Tooling factor of each tool and material against its plausible range; without one the monitor is taken at its word."""
    told: set[tuple[str, str]] = set()
    for state in case.trace.states:
        step = state.step
        if step.kind != "deposit" or step.done or "monitor thickness" not in case.method(state).settings:
            continue
        if (step.tool, step.material) in told:
            continue
        told.add((step.tool, step.material))
        known = believe(
            case.lab,
            case.facts,
            of="tooling factor",
            tool=step.tool,
            material=step.material,
            recipe=step.recipe,
            on=case.trace.on,
        )
        least, most = case.limit("tooling least"), case.limit("tooling most")
        if known is None or not least <= known.value <= most:
            yield _finding(case, state, known)


def _finding(case: Case, state: State, known: Belief | None) -> Finding:
    measured = state.rate is not None and state.rate.age_days is not None
    return finding(
        state,
        # With a rate of this lab the shutter may go by the clock, and the monitor is a second opinion.
        "note" if known is None and measured else "warn",
        f"the tooling factor behind {step_named(state)}",
        f"measured, from {case.limit_text('tooling least')} to {case.limit_text('tooling most')}",
        "none on file, taken as 100 %" if known is None else f"{percent(known.value)} ({known.evidence})",
        "the film is off the monitor's reading by this factor, for every film of this material",
        "measure a step height, multiply the old factor by measured over reading, and write it into the lab file",
        case.limit_source("tooling most"),
    )


RULE = Rule(
    name="tooling factor of the monitor",
    loses="thickness",
    quantity="thickness on the wafer / reading of the monitor",
    limits=("tooling least", "tooling most"),
    source="48 to 158 % published for one evaporator; beyond 40 to 200 % it is a slip (common practice)",
    answers=("monitor",),
    same_step=("tool does not serve",),
    check=check,
)
