"""A lift-off without undercut, or with resist too thin."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import takewhile

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import moves_after, replaces
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Undercut of the resist, line of sight of the films, and resist over metal thickness."""
    for place, state in enumerate(case.trace.states):
        if state.step.kind != "lift off":
            continue
        before = case.trace.states[:place]
        coated = next((k for k in reversed(range(place)) if before[k].step.kind == "coat"), place)
        films = [each for each in before[coated:] if each.step.kind == "deposit"]
        if not films:
            yield _nothing_to_lift(case, state)
            continue
        yield from _profile(case, state, before[coated], films)
        yield from (_on_walls(film) for film in films if _covers_walls(case, film))
        yield from _height(case, state, before[coated], films)


def _nothing_to_lift(case: Case, state: State) -> Finding:
    row = list(takewhile(lambda each: each.step.kind == "deposit", case.after(state)))
    return finding(
        state,
        "stop",
        f"the wafer before {step_named(state)}",
        "resist with a film on it",
        "no film on resist",
        "there is nothing to lift",
        "move the lift-off behind its lithography and its deposition",
        "read off the emulated wafer",
        moves_after(case, state, row[-1]) if row else None,
    )


def _covers_walls(case: Case, film: State) -> bool:
    return not case.facts.method(film.step.method).line_of_sight


def _profile(case: Case, state: State, coat: State, films: Sequence[State]) -> Iterator[Finding]:
    """Resist without an undercut; a film that covers walls besides cannot be lifted at all."""
    resist = case.facts.resist(coat.step.resist)
    undercut = resist.values.get("lift-off undercut")
    if undercut is None or undercut.value <= 0:
        yield finding(
            state,
            "stop" if any(_covers_walls(case, film) for film in films) else "warn",
            f"the resist profile for {step_named(state)}",
            "undercut",
            f"none ({resist.name})",
            "metal on the resist wall joins both and tears into fences",
            "use a two-layer or image-reversal resist",
            str(undercut.source) if undercut else "no undercut on file for this resist",
            replaces(case, coat, "resist", "lift-off two-layer"),
        )


def _on_walls(film: State) -> Finding:
    return finding(
        film,
        "warn",
        f"the film of {step_named(film)} before a lift-off",
        "deposited in line of sight",
        film.step.method,
        "it covers the resist walls and leaves fences or does not lift",
        "evaporate it, or etch instead of lifting",
        "lift-off of a sputtered film leaves fences (common practice)",
    )


def _height(case: Case, state: State, coat: State, films: Sequence[State]) -> Iterator[Finding]:
    metal = sum(film.thickness or 0.0 for film in films)
    depth = coat.thickness or 0.0
    if metal and depth / metal < case.limit("lift-off resist"):
        yield finding(
            state,
            "warn",
            f"resist over metal for {step_named(state)}",
            f"at least {case.limit_text('lift-off resist')}",
            f"{depth / metal:.2g} ({show(depth, 'length')} / {show(metal, 'length')})",
            "the solvent finds no way in",
            "thicken the resist or thin the metal",
            case.limit_source("lift-off resist"),
        )


RULE = Rule(
    name="lift-off profile",
    loses="gaps between contacts; fences short them",
    quantity="undercut, side-wall fraction of the film, resist / metal thickness",
    limits=("lift-off resist",),
    source="undercut and three times the metal (common practice)",
    answers=("lift-off",),
    spoils=("stop",),
    check=check,
)
