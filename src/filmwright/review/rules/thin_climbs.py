"""A lead that is thin at an edge which it climbs."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import EdgeSeen
from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding
from filmwright.review.places import at
from filmwright.units import show
from filmwright.wafer import Crossing


def check(case: Case) -> Iterator[Finding]:
    """Narrowest place of each metal across the edges that were emulated, over its thickness on the flat."""
    worst: dict[tuple[str, ...], tuple[Crossing, EdgeSeen]] = {}
    for seen in case.trace.edges.seen:
        for crossing in (*seen.profile.crossings, *seen.profile.ending):
            if crossing.kind != "conductor" or crossing.coverage >= case.limit("weak climb"):
                continue
            known = worst.get(crossing.films)
            if known is None or crossing.coverage < known[0].coverage:
                worst[crossing.films] = crossing, seen
    made = {f"{state.step.material} ({state.step.number})": state for state in case.trace.states}
    for films, (crossing, seen) in worst.items():
        state = made.get(films[-1])
        if state is None:
            continue
        yield finding(
            state,
            "warn",
            f"the metal over the step that it climbs, step {state.step.number}",
            f"at least {case.limit_text('weak climb')} of its thickness all the way",
            f"{_left(crossing)} {at(seen.kind.place)}, along {show(seen.kind.length, 'length')} of such edges",
            "a thin place carries the whole current, heats, and parts first",
            "thicken it, taper the edge beneath, or lead it around the step",
            case.limit_source("weak climb"),
        )


def _left(crossing: Crossing) -> str:
    names = " and ".join(crossing.materials)
    if not crossing.whole:
        return f"{names} interrupted"
    left, flat = show(crossing.least, "length"), show(crossing.thickness, "length")
    return f"{left} {names}, {100 * crossing.coverage:.0f} % of {flat} at the narrowest"


RULE = Rule(
    name="weak climb",
    loses="leads, after some hours of current",
    quantity="narrowest place of a metal across an edge / its thickness on the flat, from the section across the edge",
    limits=("weak climb",),
    source="a third of the thickness on every wall (common practice)",
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
