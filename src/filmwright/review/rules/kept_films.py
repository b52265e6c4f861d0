"""Films that the plan says must survive, or must be there."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import NOMINAL, State
from filmwright.flow import ExpectedFilm
from filmwright.review.case import Case, Rule, far_end, finding, percent, step_named
from filmwright.review.finding import Finding
from filmwright.units import show
from filmwright.wafer import Plan

_ROUNDING = 1e-9
"""A part that is left counts as reached within this."""


def check(case: Case) -> Iterator[Finding]:
    """What is left of each film at its thinnest place, at the worst corner, against the part that the plan demands."""
    expect = case.flow.expect
    if expect is None:
        return
    kept = [film.material for film in expect.keep]
    for material in dict.fromkeys((*expect.present, *kept)) if case.finished else ():
        if material not in case.materials_at_the_end:
            line = next(
                (film.line for film in expect.keep if film.material == material), expect.lines.get("present")
            )
            yield finding(
                case.last,
                "stop",
                f"{material} on the finished wafer",
                "somewhere",
                "nowhere",
                "the plan wants it there",
                "look for an inverted tone, a missing mask or a film that floated off",
                "the plan's expect block",
                line=line,
            )
    for film in expect.keep:
        found = _thin(case, film)
        if found is not None:
            yield found


def _thin(case: Case, film: ExpectedFilm) -> Finding | None:
    """The finding on a film that is too thin, at the step that took most of it; the nominal wafer goes first."""
    for corner, wafer in case.trace.corners.items():
        worst = _worst(case, wafer.plan, film.material, corner)
        if worst is None or worst[0] >= film.fraction * (1 - _ROUNDING):
            continue
        taker = _taker(case, film.material, corner)
        return finding(
            taker or case.last,
            "stop" if corner == NOMINAL.name else "warn",
            f"the loss of {film.material} in {step_named(taker)}"
            if taker
            else f"{film.material} at its thinnest place",
            f"so small that {percent(film.fraction)} of it is left in the end",
            f"{percent(worst[0])} left ({show(worst[1], 'length')}){_at(corner)}",
            "the plan wants it to survive, and this step takes most of it",
            "choose a chemistry that stops on it, shorten the over-etch, or thicken the film",
            f"the plan's expect block, line {film.line}",
        )
    return None


def _at(corner: str) -> str:
    return "" if corner == NOMINAL.name else f" with {far_end(corner)}"


def _taker(case: Case, material: str, corner: str) -> State | None:
    """The step that took most of a film where it is meant to stay."""
    taken = {
        place: max(
            (
                loss.taken
                for loss in state.losses.get(corner, ())
                if loss.material == material and loss.where == "open" and case.stays(state, loss)
            ),
            default=0.0,
        )
        for place, state in enumerate(case.trace.states)
    }
    most = max(taken, key=lambda place: taken[place], default=None)
    return case.trace.states[most] if most is not None and taken[most] > 0 else None


def _worst(case: Case, plan: Plan, material: str, corner: str) -> tuple[float, float] | None:
    """Smallest part left and its thickness [m], where the film is meant to be: where the nominal wafer has it.

    Strips along edges that are narrower than a micrometre are left to the sections.
    """
    left = [
        (layer.thickness / case.as_grown(layer.film, corner), layer.thickness)
        for cell in plan.once.cells
        for layer in cell.column.layers
        if layer.material == material and case.broad(cell.region) and case.meant(cell, layer.film)
    ]
    return min(left) if left else None


RULE = Rule(
    name="film must survive",
    loses="insulator or channel",
    quantity="thinnest place over thickness as put down, per corner",
    source="the plan's expect block",
    answers=("plasma beneath", "expected"),
    follows=True,
    check=check,
)
