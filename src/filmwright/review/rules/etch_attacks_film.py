"""A bath, a rinse or a plasma that takes from a film that must stay."""

from __future__ import annotations

import math
from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, percent, step_named
from filmwright.review.changes import replaces
from filmwright.review.finding import Change, Finding, Severity
from filmwright.review.losses import FilmLoss, losses_of
from filmwright.units import show

_IN_HAND = 0.9
"""A shorter over-etch leaves a tenth of what may be lost to the other steps."""


def _severity(case: Case, loss: FilmLoss) -> tuple[Severity, float]:
    """How grave a loss is, and the most that may be lost, as printed; a film that is gone counts even where the plan does not name it."""
    part = case.kept.get(loss.material) if case.kept else None
    most = 1 - part if part is not None else case.limit("film loss stop")
    if loss.kept and loss.typical / loss.grown > most:
        return "stop", most
    warn = case.limit("film loss warn")
    if loss.gone:
        return "warn" if loss.state.step.kind == "etch" else "stop", warn
    return "warn" if loss.kept and loss.fraction > warn else "note", warn


def check(case: Case) -> Iterator[Finding]:
    """Loss of every film but the one that is etched, at the worst corner, where the film stays."""
    for state in case.trace.states:
        step = state.step
        if step.kind not in {"etch", "strip", "clean", "rinse", "lift off"}:
            continue
        for loss in losses_of(case, state):
            if not loss.stays or (step.kind == "etch" and loss.material == step.material):
                continue
            if loss.fraction < case.limit("loss noted"):
                continue
            severity, most = _severity(case, loss)
            beneath = step.kind == "etch"
            yield finding(
                state,
                severity,
                f"the loss of {loss.material} in {step_named(state)}",
                f"at most {percent(most)} of the film",
                loss.against(most),
                f"{step.medium} {'goes on into it during the over-etch' if beneath else 'takes it where it is uncovered'}"
                f" (over {show(loss.area, 'area')} of the die)",
                _remedy(loss, most),
                case.limit_source("film loss stop" if severity == "stop" else "film loss warn"),
                _shorter(case, loss, most) if severity == "stop" else None,
            )


def _shorter(case: Case, loss: FilmLoss, most: float) -> Change | None:
    """An over-etch of fewer per cent, where the loss goes with it and enough is left to clear the whole wafer."""
    end, etch = loss.state.step.end, loss.state.etch
    if end is None or end.rule != "end point" or etch is None or not loss.fraction:
        return None
    extra = math.floor(20 * end.extra * most * _IN_HAND / loss.fraction) / 20
    if extra < max(etch.needed, 0.01):
        return None
    return replaces(case, loss.state, "until", f"end point + {100 * extra:.0f} %")


def _remedy(loss: FilmLoss, most: float) -> str:
    """Where only the far end of the spread passes the limit, the rate is measured first."""
    if loss.typical_fraction <= most < loss.fraction:
        return "measure the rate on a witness first: it may be harmless; else choose a chemistry that stops on it"
    return "choose a chemistry that stops on it, shorten the over-etch, or thicken the film; a witness chip tells the true rate"


RULE = Rule(
    name="etch attacks film",
    loses="the film beneath: insulator, channel, field oxide",
    quantity="rate of each uncovered film × time with over-etch, upper rate, where the film stays",
    limits=("film loss warn", "film loss stop", "loss noted"),
    source="loss beneath = over-etch × thickness / rate of the film × rate beneath (common practice)",
    answers=("acid", "plasma beneath", "field oxide", "dip beside", "strong cleans"),
    spoils=("stop",),
    check=check,
)
