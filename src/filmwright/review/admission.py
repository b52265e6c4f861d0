"""In which classes of the site's admission axes a wafer is before and after each step, and what put it there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from filmwright.emulate import State
from filmwright.knowledge import AdmissionClass, Tool
from filmwright.review.case import Case, step_named
from filmwright.wafer import Column, Wafer

Key = tuple[str, str]
"""Axis and class."""

_PLACES = {"rim": "at the wafer's edge", "back": "on the back"}


@dataclass(frozen=True, kw_only=True)
class Cause:
    """What puts a wafer into a class.

    Attributes
    ----------
    text : str
        The film with its place and its first step, or the tool or bath that it was in.
    material : str
        Of the film; empty for a tool or a bath.
    """

    text: str
    material: str = ""


Classes = Mapping[Key, tuple[Cause, ...]]


@dataclass(frozen=True, kw_only=True)
class Visit:
    """One step in one tool: the classes of the wafer as it enters and as it would leave.

    Attributes
    ----------
    state : State
    tool : Tool
    enters, leaves : mapping from (axis, class) to tuple of Cause
        Without the film that the tool itself lays down.
    """

    state: State
    tool: Tool
    enters: Classes
    leaves: Classes


def visits(case: Case) -> Iterator[Visit]:
    """Every step at a tool that has something to say of an axis, in order."""
    axes = case.lab.admission
    if not axes:
        return
    carried: dict[Key, tuple[Cause, ...]] = {}
    since = _first_steps(case)
    before = case.trace.start
    for state in case.trace.states:
        tool = case.lab.tools.get(state.step.tool)
        if tool is not None and any(axis in axes for axis in tool.admits):
            own = state.step.material if state.step.kind == "deposit" else ""
            yield Visit(
                state=state,
                tool=tool,
                enters=_classes(case, before, state, carried, since),
                leaves=_classes(case, state.wafer, state, carried, since, own),
            )
        _carry(case, state, tool, carried)
        before = state.wafer


def _carry(case: Case, state: State, tool: Tool | None, carried: dict[Key, tuple[Cause, ...]]) -> None:
    """What a step leaves on a wafer beside its films: the classes of its tool and its bath, less those that the bath clears."""
    medium = case.medium(state)
    for axis, classes in case.lab.admission.items():
        for each in classes:
            key = (axis, each.name)
            if medium is not None and medium.name in each.cleared_by:
                carried.pop(key, None)
            if medium is not None and medium.name in each.baths:
                carried.setdefault(key, (Cause(text=f"it was in {medium.name} in {_said(state)}"),))
            if tool is not None and tool.leaves.get(axis) == each.name:
                carried.setdefault(key, (Cause(text=f"it was in {tool.name} in {_said(state)}"),))


def _classes(
    case: Case,
    wafer: Wafer,
    state: State,
    carried: Classes,
    since: Mapping[str, str],
    own: str = "",
) -> Classes:
    found: dict[Key, tuple[Cause, ...]] = {}
    open_films = _films(case, wafer, state, covered=False)
    all_films: dict[tuple[str, str], str] | None = None
    for axis, classes in case.lab.admission.items():
        for each in classes:
            films = open_films
            if each.also_covered:
                all_films = all_films or _films(case, wafer, state, covered=True)
                films = all_films
            causes = [
                Cause(text=f"{material} {place}, {since.get(film, 'as bought')}", material=material)
                for (film, material), place in films.items()
                if material != own and _belongs(case, each, material)
            ]
            causes += carried.get((axis, each.name), ())
            if causes:
                found[axis, each.name] = tuple(causes)
        rest = next((each.name for each in classes if each.otherwise), None)
        if rest is not None and not any((axis, each.name) in found for each in classes):
            found[axis, rest] = (Cause(text="nothing puts it into another class"),)
    return found


def _belongs(case: Case, each: AdmissionClass, material: str) -> bool:
    if material in each.materials:
        return True
    facts = case.facts.material(material)
    return bool(facts.families & each.families) or ("organic" in each.families and facts.kind == "organic")


def _films(case: Case, wafer: Wafer, state: State, covered: bool) -> dict[tuple[str, str], str]:
    """Films on a wafer with where they lie, the die first: uncovered ones, or all of them."""
    found: dict[tuple[str, str], str] = {}

    def add(column: Column, place: str) -> None:
        for layer in column.layers if covered else column.layers[-1:]:
            found.setdefault((layer.film, layer.material), place)

    lies = "on the die" if covered else "uncovered on the die"
    for column in case.stacks(wafer.plan):
        add(column, lies)
    for name, column in wafer.places.items():
        add(column, _PLACES[name])
    for chip in state.step.witness:
        for column in case.stacks(wafer.chips[chip]) if chip in wafer.chips else ():
            add(column, f"on the witness chip {chip}")
    return found


def _first_steps(case: Case) -> dict[str, str]:
    """Film → the step that put it down."""
    found: dict[str, str] = {}
    for state in case.trace.states:
        for action in state.actions:
            film = getattr(action, "film", "")
            if film:
                found.setdefault(film, f"put down in {_said(state)}")
    return found


def _said(state: State) -> str:
    return f"{step_named(state)} (line {state.step.line})"
