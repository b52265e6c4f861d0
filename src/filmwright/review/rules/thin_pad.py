"""A pad that the needle scratches through."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding
from filmwright.units import show, to_si
from filmwright.wafer import Column

_LANDING = to_si(2500, "um^2")
"""Uncovered metal of less area is no place for a needle."""


def check(case: Case) -> Iterator[Finding]:
    """Thickness of the metal that lies open at the end, thinnest first, where the plan names terminals."""
    expect = case.flow.expect
    if expect is None or not expect.devices or not case.finished:
        return
    open_metal = [
        (depth, column.top.material)
        for column, area in case.stacks(case.trace.final.plan).items()
        if area >= _LANDING and (depth := _metal(case, column)) > 0
    ]
    if open_metal and min(open_metal)[0] < case.limit("probed metal"):
        depth, name = min(open_metal)
        yield finding(
            case.last,
            "warn",
            "the thinnest metal under a needle",
            f"at least {case.limit_text('probed metal')}",
            f"{show(depth, 'length')} of {name}",
            "a needle scratches through it after a few landings, and then touches what lies beneath",
            "thicken the pad with the contact metal, or probe with soft needles and count the landings",
            case.limit_source("probed metal"),
        )


def _metal(case: Case, column: Column) -> float:
    """Thickness [m] of the conductors that lie on each other at the top of a column; 0 where none does."""
    depth = 0.0
    for layer in reversed(column.layers[1:]):
        if case.kind(layer.material) != "conductor":
            break
        depth += layer.thickness
    return depth


RULE = Rule(
    name="pad thin for a needle",
    loses="the pad, after some landings",
    quantity="thickness of the uncovered metal of the finished wafer",
    limits=("probed metal",),
    source="common practice",
    answers=("needle",),
    because_of=("film not closed",),
    check=check,
)
