"""An over-etch shorter than the unevenness of film and etch."""

from __future__ import annotations

import math
from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, percent, step_named
from filmwright.review.changes import replaces
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Over-etch after the end point against what the thickest film in the slowest place needs, as the step derives it."""
    for state in case.trace.states:
        end, etch = state.step.end, state.etch
        if state.step.kind != "etch" or end is None or end.rule != "end point" or etch is None:
            continue
        if end.extra < etch.needed:
            whole = math.ceil(100 * etch.needed / 5) * 5
            uneven = f"film uneven by {percent(etch.film_uneven)}, etch by {percent(etch.rate_uneven)}"
            yield finding(
                state,
                "warn",
                f"the over-etch of {step_named(state)}",
                f"at least {percent(etch.needed)}: {uneven}, and the end point is not read exactly",
                f"{percent(end.extra)}",
                "the end point is seen where it comes first, and the slowest place still carries film",
                f"write until: end point + {whole} %, then look at the loss beneath",
                "(1 + unevenness of the film) / (1 − unevenness of the etch) × what the reading may be off by at 95 % − 1; "
                "unevenness: (max − min) / (2 × mean)",
                replaces(case, state, "until", f"end point + {whole} %"),
            )


RULE = Rule(
    name="over-etch below unevenness",
    loses="parted lines: some places stay joined",
    quantity="over-etch − ((1 + unevenness of the film) / (1 − unevenness of the etch) × reading of the end point at 95 % − 1)",
    source="clearing of the slowest place (geometry), at the confidence of the time that the step prints",
    answers=("plasma beneath", "unevenness"),
    follows=True,
    same_step=("edge and middle of one wafer", "film not cleared"),
    check=check,
)
