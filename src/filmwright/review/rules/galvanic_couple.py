"""Two metals in one bath that make a cell."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.knowledge import electrode_potential
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Difference of the electrode potentials of uncovered metals in a conducting bath."""
    for state in case.trace.states:
        medium = case.medium(state)
        if medium is None or medium.kind in {"plasma", "rinse"} or "aqueous" not in medium.families:
            continue
        known = {name: value for name in state.exposed if (value := electrode_potential(name)) is not None}
        if len(known) < 2:
            continue
        base, noble = min(known, key=lambda name: known[name]), max(known, key=lambda name: known[name])
        cell = known[noble] - known[base]
        if cell > case.limit("galvanic cell"):
            ratio = state.exposed[noble] / state.exposed[base]
            yield finding(
                state,
                "warn",
                f"the metals that {step_named(state)} reaches",
                f"within {case.limit_text('galvanic cell')} of each other",
                f"{base} and {noble}, {show(cell, 'voltage')} apart; {ratio:.2g} times as much {noble} as {base} uncovered",
                f"where they touch, {base} goes much faster than its rate, the faster the smaller its share",
                f"cover {noble} or {base} with resist, use a bath without water, or etch before the noble metal is there",
                case.limit_source("galvanic cell"),
            )


RULE = Rule(
    name="galvanic couple",
    loses="the baser metal, at its edges",
    quantity="difference of electrode potentials of uncovered metals, and their areas",
    limits=("galvanic cell",),
    source="standard electrode potentials; a passive skin may hold it back (textbook)",
    answers=("titanium and chlorine",),
    check=check,
)
