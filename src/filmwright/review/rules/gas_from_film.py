"""A plasma film that becomes hotter than when it was put down."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import convert, show


def check(case: Case) -> Iterator[Finding]:
    """Peak of every later step against the deposition temperature of films that hold hydrogen; each film once."""
    states = {state.step.number: state for state in case.trace.states}
    holds = case.facts.models["hydrogen in plasma films"]
    margin = case.limit("outgassing margin")
    for film in case.heat.films:
        made, *later = film.heats
        plasma = (
            made.kind == "deposit" and "hydrogen-bearing plasma" in case.method(states[made.step]).families
        )
        if film.material not in holds or not plasma or states[made.step].step.material != film.material:
            continue
        hotter = next((each for each in later if each.peak > made.peak + margin), None)
        if hotter is not None:
            known = holds[film.material]
            held = f"{convert(known.low, '%'):.2g} to {convert(known.high, '%'):.2g} % hydrogen"
            yield finding(
                states[hotter.step],
                "warn",
                f"the heat of {film.film} in {step_named(states[hotter.step])}",
                f"at most {case.limit_text('outgassing margin')} above its deposition at {show(made.peak, 'temperature')}",
                f"{show(hotter.peak, 'temperature')}, with {held} in it",
                "the hydrogen leaves: under a closed film it raises blisters, without one the film shrinks and its stress goes tensile; "
                "an oxide semiconductor beside it is doped",
                "deposit it hotter, anneal it open and slowly before the next film, or keep later steps colder",
                f"{case.limit_source('outgassing margin')}; hydrogen: {known.source}",
            )


RULE = Rule(
    name="gas from a film",
    loses="films, in blisters",
    quantity="peak of later steps − deposition temperature of a plasma film",
    limits=("outgassing margin",),
    source="hydrogen of plasma films leaves above their deposition temperature (common practice)",
    answers=("heat and chambers",),
    check=check,
)
