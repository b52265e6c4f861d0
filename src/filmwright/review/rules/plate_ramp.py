"""A brittle plate that is heated or cooled too fast."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show, to_si

_PLATES = frozenset({"glass", "sapphire"})
"""Bodies that crack from a difference of temperature across them; silicon conducts heat too well, fused silica expands too little."""

_WARM = to_si(150, "°C")
"""Peaks up to which nobody ramps."""


def check(case: Case) -> Iterator[Finding]:
    """Heating and cooling rate of the tool, where the lab file has them, for plates that do not bear it; each step."""
    body = case.flow.body.material
    if body not in _PLATES:
        return
    for state in case.trace.states:
        tool = case.lab.tools.get(state.step.tool)
        peaks = [each.peak for each in case.heat.steps if each.step == state.step.number]
        if tool is None or not peaks or max(peaks) <= _WARM:
            continue
        fast = max(tool.heating_rate or 0.0, tool.cooling_rate or 0.0)
        if fast > case.limit("plate ramp"):
            yield finding(
                state,
                "warn",
                f"the ramp of {step_named(state)}",
                f"at most {case.limit_text('plate ramp')} for a plate of {body}",
                f"{show(fast, 'heating rate')} of {tool.name}, up to {show(max(peaks), 'temperature')}",
                "one face is hotter than the other, and the plate cracks from a flaw at its edge, mostly on the way down",
                "ramp slowly, let it cool in the tool, and inspect the edges of the plate first",
                case.limit_source("plate ramp"),
            )


RULE = Rule(
    name="plate ramped too fast",
    loses="the plate",
    quantity="heating and cooling rate of the tool × material of the body",
    limits=("plate ramp",),
    source="thermal shock of brittle plates (common practice)",
    answers=("heat and chambers",),
    check=check,
)
