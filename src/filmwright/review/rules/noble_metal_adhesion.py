"""A noble metal straight on an oxide."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import adds_before
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Noble metals that touch an insulator or a semiconductor without an adhesion layer."""
    for state in case.trace.states:
        if state.step.kind != "deposit" or not case.facts.material(state.step.material).needs_adhesion_layer:
            continue
        beneath = case.uncovered(case.before(state))
        bare = sorted(m for m in beneath if case.kind(m) in {"insulator", "semiconductor", "substrate"})
        if bare:
            yield finding(
                state,
                "stop",
                f"what lies beneath {state.step.material} in {step_named(state)}",
                "titanium or chromium",
                ", ".join(bare),
                "noble metals do not stick to oxides and peel at the first rinse",
                "deposit 5 to 10 nm of titanium or chromium first, without breaking vacuum",
                "noble metals need an adhesion layer on oxides (common practice)",
                adds_before(
                    case,
                    state,
                    "deposit: titanium",
                    f"name: adhesion under {state.step.name or state.step.material}",
                    f"method: {state.step.method}",
                    "thickness: 10 nm",
                ),
            )


RULE = Rule(
    name="noble metal without adhesion",
    loses="contacts, in the next bath",
    quantity="uncovered insulators beneath a noble metal",
    source="common practice",
    answers=("adhesion",),
    check=check,
)
