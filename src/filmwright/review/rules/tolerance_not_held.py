"""A tolerance that the tool does not hold."""

from __future__ import annotations

import math
from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, percent, step_named
from filmwright.review.changes import replaces_value
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Chance that a film falls outside the tolerance of the plan, by rate spread and unevenness."""
    for state in case.trace.states:
        asked = state.step.asked.get("thickness")
        if (
            state.step.kind not in {"deposit", "coat"}
            or asked is None
            or not asked.spread
            or not state.thickness_std
        ):
            continue
        held = state.thickness_std / asked.value
        odds = math.erfc(asked.spread / state.thickness_std / math.sqrt(2))
        if odds > case.limit("tolerance odds"):
            yield finding(
                state,
                "warn",
                f"the tolerance of {step_named(state)}",
                f"missed in at most {case.limit_text('tolerance odds')} of runs",
                f"missed in {percent(odds)}: ± {percent(asked.spread / asked.value)} asked, σ {percent(held)} held",
                "a tolerance that the tool cannot hold sends good wafers back, or is not read any more",
                "widen the tolerance to what the device bears, or calibrate the rate first",
                case.limit_source("tolerance odds"),
                replaces_value(case, state, "thickness", asked.value, "nm", math.ceil(200 * held) / 100),
            )


RULE = Rule(
    name="tolerance not held",
    loses="trust in the numbers of the plan",
    quantity="chance that |thickness − plan| exceeds the tolerance",
    limits=("tolerance odds",),
    source="normal spread of rate and unevenness",
    answers=("measured",),
    check=check,
)
