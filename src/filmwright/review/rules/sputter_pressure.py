"""A sputter recipe without a pressure."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Sputtered films whose plan names no pressure and no recipe."""
    for state in case.trace.states:
        step = state.step
        if (
            step.kind == "deposit"
            and "sputter" in step.method
            and "pressure" not in step.asked
            and not step.recipe
        ):
            yield finding(
                state,
                "warn",
                f"the pressure of {step_named(state)}",
                "given",
                "nothing",
                "the stress of a sputtered film changes its sign with pressure",
                'write "pressure: 5 mTorr", or name a recipe',
                "J. A. Thornton, D. W. Hoffman, Thin Solid Films 171, 5 (1989) (published)",
            )


RULE = Rule(
    name="sputter pressure missing",
    loses="adhesion; films crack or peel",
    quantity="pressure of a sputter step",
    source="J. A. Thornton, D. W. Hoffman, Thin Solid Films 171, 5 (1989)",
    answers=("stress",),
    check=check,
)
