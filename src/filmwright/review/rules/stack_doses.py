"""One dose over stacks that take up very different light."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import lit
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Most over least dose that the stacks under the windows of a level need, by multilayer optics."""
    for one in lit(case.trace, case.facts).values():
        low, high = one.stack_band
        if high / low - 1 <= case.limit("stack dose"):
            continue
        worst, least = one.least_lit, one.most_lit
        yield finding(
            one.state,
            "warn",
            f"the dose of {step_named(one.state)}",
            f"one that fits all of its windows within {case.limit_text('stack dose')}",
            f"{high:.2f} times the mean over {worst.named}, {low:.2f} times over {least.named}",
            "where the film beneath starves the resist a skin stays, where it feeds it the edges move",
            "give the dose of the starved stack and draw the others wider, level the stacks, or expose them apart; look at a dummy",
            case.limit_source("stack dose"),
        )


RULE = Rule(
    name="one dose for unlike stacks",
    loses="clear places over one film, line width over the other",
    quantity="most / least light that the resist takes up over the stacks of the windows, lines of the lamp weighted",
    limits=("stack dose",),
    source="T. A. Brunner, Proc. SPIE 1466, 297 (1991) (from memory)",
    answers=("dose",),
    check=check,
)
