"""Channels that nobody parted."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, percent
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Share of the finished die under which a semiconductor film lies, where the die has transistors or expects them."""
    expect = case.flow.expect
    wanted = expect is not None and any(each.kind == "transistors" for each in expect.devices)
    if not case.finished or not (wanted or case.trace.devices.transistors):
        return
    stacks = case.stacks(case.trace.final.plan)
    areas: dict[str, float] = {}
    for column, area in stacks.items():
        for material in {layer.material for layer in column.layers[1:]}:
            if case.kind(material) == "semiconductor":
                areas[material] = areas.get(material, 0.0) + area
    for material, area in areas.items():
        share = area / sum(stacks.values())
        if share > case.limit("shared channel"):
            yield finding(
                case.last,
                "warn",
                f"{material} on the finished die",
                f"in islands, on at most {case.limit_text('shared channel')} of the die",
                f"on {percent(share)} of it",
                "one film joins all devices: they leak into each other, and no width is that of the contacts",
                "etch the film into islands before the contacts, or look at the tone of its mask",
                case.limit_source("shared channel"),
            )


RULE = Rule(
    name="channels in one piece",
    loses="the off current of every device",
    quantity="area of the semiconductor / area of the die",
    limits=("shared channel",),
    source="isolation of transistors (common practice)",
    answers=("fringe", "tone"),
    follows=True,
    check=check,
)
