"""Alkaline developer on a film that must stay."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.review.losses import losses_of


def check(case: Case) -> Iterator[Finding]:
    """Loss in developer over the film's thickness, at the worst corner, where the film stays."""
    for state in case.trace.states:
        if state.step.kind != "develop":
            continue
        for loss in losses_of(case, state):
            if not loss.stays or loss.fraction < case.limit("loss noted"):
                continue
            stop = loss.typical / loss.grown > case.limit("developer loss stop") and loss.kept
            warn = loss.fraction > case.limit("developer loss warn") and loss.kept
            limit = "developer loss stop" if stop else "developer loss warn"
            yield finding(
                state,
                "stop" if stop else "warn" if warn else "note",
                f"the loss of {loss.material} in {step_named(state)}",
                f"at most {case.limit_text(limit)} of the film",
                loss.against(case.limit(limit)),
                "the developer reaches it in the clear places and it stays on the wafer",
                "shorten the development, protect the film, or use a weaker developer; measure the rate on a witness",
                case.limit_source(limit),
            )


RULE = Rule(
    name="developer attacks film",
    loses="channel or insulator, without a trace in the resist",
    quantity="rate in developer × time over film thickness, upper rate, where the film stays",
    limits=("developer loss warn", "developer loss stop", "loss noted"),
    source="alkaline developer etches zinc oxide, aluminium and alumina (common practice)",
    answers=("developer",),
    spoils=("stop",),
    check=check,
)
