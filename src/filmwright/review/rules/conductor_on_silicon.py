"""Metal or semiconductor straight on a silicon wafer."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Area on which a conductor or semiconductor touches a wafer that conducts, at the end."""
    body = case.flow.body.material
    if body != "silicon" or not case.finished:
        return
    touching: dict[str, float] = {}
    for column, area in case.stacks(case.trace.final.plan).items():
        if len(column.layers) > 1 and case.kind(column.layers[1].material) in {"conductor", "semiconductor"}:
            name = column.layers[1].material
            touching[name] = touching.get(name, 0.0) + area
    touching = {name: area for name, area in touching.items() if area > case.limit("least place")}
    if touching:
        yield finding(
            case.last,
            "warn",
            "what lies straight on the silicon wafer",
            "an insulator",
            ", ".join(f"{name} over {show(area, 'area')}" for name, area in sorted(touching.items())),
            "the wafer joins what should be apart, and light and heat make it conduct more",
            "start from an oxidised wafer, or stop the etch on the oxide",
            "read off the emulated wafer; currents through the wafer body are not followed",
        )


RULE = Rule(
    name="metal on bare silicon",
    loses="every off current",
    quantity="area of conductors straight on the wafer body",
    limits=("least place",),
    source="read off the emulated wafer",
    answers=("leads and gate",),
    follows=True,
    check=check,
)
