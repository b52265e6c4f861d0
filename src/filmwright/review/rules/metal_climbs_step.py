"""A metal that climbs a step of which nothing was emulated: a rule of thumb in place of a section."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Metals put down in a row over the step that they climb, for every step of the plan that no section walked over."""
    made = {
        f"{state.step.material} ({state.step.number})": state
        for state in case.trace.states
        if state.step.kind == "deposit"
    }
    total = _in_a_row(case)
    walked = _walked(case)
    worst: dict[str, tuple[float, float, bool]] = {}
    for climb in case.trace.nets.climbs:
        if climb.film not in made or not total[climb.film][1] or climb.step <= 0:
            continue
        if (climb.film, climb.step) in walked:  # "weak climb" knows how thin the metal is there
            continue
        depth = total[climb.film][0]
        if climb.film not in worst or depth / climb.step < worst[climb.film][0] / worst[climb.film][1]:
            worst[climb.film] = (depth, climb.step, climb.whole)
    for film, (depth, step, whole) in worst.items():
        if depth / step >= case.limit("climb"):
            continue
        yield finding(
            made[film],
            "warn",
            f"the metal over the step that it climbs, step {made[film].step.number}",
            f"at least {case.limit_text('climb')} times the step",
            f"{depth / step:.2f} ({show(depth, 'length')} over {show(step, 'length')}{'' if whole else ', broken on a vertical wall'})",
            "a film thins on a steep wall, and in line of sight it breaks",
            "thicken it, taper the edge beneath, or lead it around the step",
            case.limit_source("climb"),
        )


def _walked(case: Case) -> set[tuple[str, float]]:
    """Film and height [m] of each step over which a section followed the film from one side to the other."""
    found: set[tuple[str, float]] = set()
    for seen in case.trace.edges.seen:
        followed = {
            film for crossing in (*seen.profile.crossings, *seen.profile.ending) for film in crossing.films
        }
        for (column, _), edge in seen.edges.items():
            for climb in edge.climbs:
                film = column.layers[climb.first].film
                if film in followed:
                    found.add((film, climb.step))
    return found


def _in_a_row(case: Case) -> dict[str, tuple[float, bool]]:
    """Film → thickness of the metals put down in a row up to it [m], and whether it is the last of the row."""
    found: dict[str, tuple[float, bool]] = {}
    row = 0.0
    for state in case.trace.states:
        if state.step.kind == "deposit" and case.kind(state.step.material) == "conductor":
            row += state.thickness or 0.0
            later = case.after(state)
            last = not (
                later and later[0].step.kind == "deposit" and case.kind(later[0].step.material) == "conductor"
            )
            found[f"{state.step.material} ({state.step.number})"] = (row, last)
        else:
            row = 0.0
    return found


RULE = Rule(
    name="metal climbs a step",
    loses="leads, at every edge",
    quantity="metal thickness / step height, where the edge was not emulated (else see weak climb)",
    limits=("climb",),
    source="about 1.5 times the step (common practice)",
    answers=("climb",),
    because_of=(
        "bath leaves resist",
        "film not closed",
        "organic in heat",
        "forgotten strip",
        "coated over resist",
    ),
    check=check,
)
