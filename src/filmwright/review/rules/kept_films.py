"""Films that the plan says must survive, or must be there."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding
from filmwright.units import show
from filmwright.wafer import Plan


def check(case: Case) -> Iterator[Finding]:
    """What is left of each film at its thinnest place, at the worst corner, against the part that the plan demands."""
    expect = case.flow.expect
    if expect is None:
        return
    last = case.trace.states[-1] if case.trace.states else None
    on_wafer = {layer.material for cell in case.trace.final.plan.cells for layer in cell.column.layers}
    for material in expect.present:
        if material not in on_wafer:
            yield finding(
                last,
                "stop",
                f"{material} on the finished wafer",
                "somewhere",
                "nowhere",
                "the plan wants it there",
                "look for an inverted tone, a missing mask or a film that floated off",
                "read off the emulated wafer",
                line=expect.line,
            )
    for film in expect.keep:
        if film.material not in on_wafer:
            yield finding(
                last,
                "stop",
                f"{film.material} on the finished wafer",
                f"at least {film.fraction:.0%} of it",
                "none",
                "the plan wants it to survive",
                "find the step that took it in the table of losses",
                "read off the emulated wafer",
                line=film.line,
            )
            continue
        for corner, wafer in case.trace.corners.items():
            worst = _worst(case, wafer.plan, film.material, corner)
            if worst is not None and worst[0] < film.fraction - 1e-9:
                yield finding(
                    last,
                    "stop" if corner == "nominal" else "warn",
                    f"{film.material} at its thinnest place",
                    f"at least {film.fraction:.0%}",
                    f"{worst[0]:.0%} ({show(worst[1], 'length')}) at the corner {corner}",
                    "the plan wants it to survive",
                    "find the step that took it in the table of losses",
                    "the plan's expect block",
                    line=film.line,
                )
                break


def _worst(case: Case, plan: Plan, material: str, corner: str) -> tuple[float, float] | None:
    """Smallest part left and its thickness [m], where the film is meant to be: where the nominal wafer has it.

    Strips along edges that are narrower than a micrometre are left to the sections.
    """
    left = [
        (layer.thickness / case.as_grown(layer.film, corner), layer.thickness)
        for cell in plan.cells
        for layer in cell.column.layers
        if layer.material == material and case.broad(cell) and case.meant(cell, layer.film)
    ]
    return min(left) if left else None


RULE = Rule(
    name="film must survive",
    loses="insulator or channel",
    quantity="thinnest place over thickness as put down, per corner",
    source="the plan's expect block",
    check=check,
)
