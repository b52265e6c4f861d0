"""An opaque film over the alignment marks."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show
from filmwright.wafer import Column


def check(case: Case) -> Iterator[Finding]:
    """Exposures onto an unbroken metal, thicker than the limit, over steps lower than the limit."""
    printed = False
    for state in case.trace.states:
        if state.step.kind != "expose":
            printed = printed or state.step.kind == "etch" or state.step.kind == "lift off"
            continue
        plan = case.before(state)
        metals = [_top_metal(case, column) for column in case.stacks(plan)]
        if not printed or not metals or any(depth == 0.0 for depth in metals):
            continue
        heights = [sum(layer.thickness for layer in column.layers[1:]) for column in case.stacks(plan)]
        step = max(heights) - min(heights)
        if min(metals) >= case.limit("opaque metal") and step < case.limit("mark step"):
            yield finding(
                state,
                "stop",
                f"the marks under the film in {step_named(state)}",
                f"seen: a window, or a step of {case.limit_text('mark step')}",
                f"{show(min(metals), 'length')} of metal everywhere over a step of {show(step, 'length')}",
                "the operator cannot align",
                "open a window over the marks, lift off instead, or make the marks deeper",
                case.limit_source("opaque metal"),
            )


def _top_metal(case: Case, column: Column) -> float:
    layers = [layer for layer in column.layers if case.kind(layer.material) != "organic"]
    return layers[-1].thickness if layers and case.kind(layers[-1].material) == "conductor" else 0.0


RULE = Rule(
    name="marks hidden",
    loses="overlay",
    quantity="thinnest blanket metal; highest replicated step",
    limits=("opaque metal", "mark step"),
    source="80 nm of metal is opaque (common practice)",
    answers=("marks",),
    check=check,
)
