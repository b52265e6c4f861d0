"""Undercut of a wet etch against the channel length."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.process import undercut_foot
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Foot undercut of both edges over the shortest channel, for etched films that set the length: contacts."""
    lengths = [device.length for device in case.transistors if device.length]
    if not lengths:
        return
    shortest = min(lengths)
    for state in case.trace.states:
        step = state.step
        if step.kind != "etch" or case.kind(step.material) != "conductor" or not _above_channel(case, state):
            continue
        rate = case.facts.medium(step.medium).rate(step.material)
        depth = max(
            (
                layer.thickness
                for column in case.stacks(case.before(state))
                for layer in column.layers
                if layer.material == step.material
            ),
            default=0.0,
        )
        foot = undercut_foot(depth, over_etch(case, state, depth)) * rate.sideways
        if 2 * foot / shortest > case.limit("undercut"):
            yield finding(
                state,
                "warn",
                f"the undercut of both edges in {step_named(state)}",
                f"at most {case.limit_text('undercut')} of the shortest channel",
                f"{show(2 * foot, 'length')} of {show(shortest, 'length')}, which makes the channel {_way(case, state)}",
                "the foot sets the electrical length; mobility from the drawn length is then wrong",
                "use the length as made, draw it longer, or etch with less over-etch",
                case.limit_source("undercut"),
            )


def _way(case: Case, state: State) -> str:
    """Contacts that draw back leave a longer channel between them; a gate above that draws back makes it shorter."""
    beneath = case.beneath(case.before(state), state.step.material)
    return "longer" if any(case.kind(name) == "semiconductor" for name in beneath) else "shorter"


def over_etch(case: Case, state: State, depth: float) -> float:
    """Over-etch as a fraction of the time to the end point: as the plan says, else as its time does."""
    step = state.step
    if step.end is not None and step.end.rule == "end point":
        return step.end.extra
    if "time" in step.asked and state.rate is not None and depth > 0:
        return max(step.asked["time"].value * state.rate.value / depth - 1, 0.0)
    return case.limit("usual over-etch")


def _above_channel(case: Case, state: State) -> bool:
    return any(case.kind(material) == "semiconductor" for material in case.materials(case.before(state)))


RULE = Rule(
    name="undercut against length",
    loses="the mobility",
    quantity="2 × d × √((1 + over-etch)² − 1) / L",
    limits=("undercut", "usual over-etch"),
    source="isotropic front (geometry)",
    answers=("undercut",),
    check=check,
)
