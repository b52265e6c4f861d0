"""An alignment mark that hardly differs from its field in the aligner's light."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import MarkContrast, mark_contrasts
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show
from filmwright.wafer import Column


def check(case: Case) -> Iterator[Finding]:
    """Contrast of mark and field over the viewing light, at every exposure that has an earlier level to align to."""
    for each in mark_contrasts(case.trace, case.facts):
        if each.viewing is None or each.viewing >= case.limit("mark contrast"):
            continue
        edges = each.step >= case.limit("mark step")
        if not edges and min(_metal(case, each.mark), _metal(case, each.field)) >= case.limit("opaque metal"):
            continue  # hidden altogether: "marks hidden" says so
        yield finding(
            each.state,
            "note" if edges else "warn",
            f"the alignment mark in {step_named(each.state)}",
            f"a contrast of {case.limit_text('mark contrast')} with its field in the viewing light",
            _got(each),
            "only its edges are seen, as thin lines"
            if edges
            else "the operator cannot tell the mark from its field",
            "change a film's thickness, make the marks in a metal, or look in another light",
            case.limit_source("mark contrast"),
        )


def _metal(case: Case, column: Column) -> float:
    """Thickness of the uppermost film beneath the resist, if it is a metal [m]."""
    layers = [layer for layer in column.layers if case.kind(layer.material) != "organic"]
    return layers[-1].thickness if case.kind(layers[-1].material) == "conductor" else 0.0


def _got(each: MarkContrast) -> str:
    lines = ", ".join(f"{100 * value:.2g} % at the {name}" for name, value in each.lines.items())
    which = "" if each.drawn else "; the drawing has no mark for this level, so its first level is looked at"
    step = show(each.step, "length") if each.step > 0 else "no height"
    return f"{100 * (each.viewing or 0.0):.2g} % ({lines}) over a step of {step}{which}"


RULE = Rule(
    name="mark without contrast",
    loses="overlay",
    quantity="difference over sum of the light from mark and field, averaged over the viewing light",
    limits=("mark contrast", "mark step", "opaque metal"),
    source="a few per cent are the least that an eye sees as an edge (common practice)",
    answers=("marks",),
    because_of=(
        "etch attacks film",
        "bath does not etch",
    ),
    check=check,
)
