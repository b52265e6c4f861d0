"""What every film lost, by step and by place, over a whole walked flow."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, get_args

from filmwright.emulate import NOMINAL, State, Trace
from filmwright.knowledge import Book
from filmwright.review.case import Case
from filmwright.wafer import Column, Loss

Place = Literal["open field", "pad", "side wall", "under resist", "edge", "back"]
PLACES: tuple[Place, ...] = get_args(Place)

_ON_WAFER: dict[str, Place] = {"rim": "edge", "back": "back"}


@dataclass(frozen=True, kw_only=True)
class Lost:
    """What one film lost in one step at one kind of place.

    Attributes
    ----------
    step, kind, title : str
    line : int
    film, material : str
    place : Place
        ``open field`` and ``pad`` (where a conductor lies open in the end): from above. ``side wall``: strips along edges.
        ``under resist``: from the side, beneath what covers it; the depth of the undercut. ``edge`` and ``back``: of the wafer.
    typical, most : float [m]
        Nominal, and at the worst corner of the spread; edge and back are followed for the nominal wafer only.
    before : float [m]
        Thickness before the step, nominal, where most is lost.
    """

    step: str
    kind: str
    title: str
    line: int
    film: str
    material: str
    place: Place
    typical: float
    most: float
    before: float


def ledger(trace: Trace, facts: Book) -> tuple[Lost, ...]:
    """Losses of every film that is not resist, where it is meant to stay, in the order of film, place and step.

    A history is followed like a plan, its rework and repeated steps included.

    Parameters
    ----------
    trace : Trace
    facts : Book
    """
    case = Case(trace, facts)
    found = [each for state in trace.states for each in (*_on_die(case, state), *_on_wafer(case, state))]
    order = {film: place for place, film in enumerate(dict.fromkeys(each.film for each in found))}
    return tuple(sorted(found, key=lambda each: (order[each.film], PLACES.index(each.place))))


def _on_die(case: Case, state: State) -> Iterator[Lost]:
    taken: dict[tuple[str, Place], dict[str, tuple[float, Loss]]] = {}
    for corner, losses in state.losses.items():
        for loss in losses:
            if loss.where not in {"open", "undercut"} or case.kind(loss.material) == "organic":
                continue
            if loss.where == "open" and not case.stays(state, loss):
                continue
            depth = loss.sideways if loss.where == "undercut" else loss.taken
            corners = taken.setdefault((loss.film, _place(case, loss)), {})
            if corner not in corners or depth > corners[corner][0]:
                corners[corner] = (depth, loss)
    for (film, place), corners in taken.items():
        most = max(depth for depth, _ in corners.values())
        typical, at = corners.get(NOMINAL.name, (0.0, next(iter(corners.values()))[1]))
        if most > 0:
            yield _lost(state, film, at.material, place, typical, most, at.before)


def _place(case: Case, loss: Loss) -> Place:
    if loss.where == "undercut":
        return "under resist"
    if not case.broad(loss.region):
        return "side wall"
    ends = [case.column(case.trace.final.plan, point) for point in case.points(loss.region)]
    pad = any(end is not None and case.kind(end.top.material) == "conductor" for end in ends)
    return "pad" if pad else "open field"


def _on_wafer(case: Case, state: State) -> Iterator[Lost]:
    """What left the rim and the back, as far as the wafer follows them."""
    at = case.places[id(state)]
    before = case.trace.states[at - 1].wafer.places if at else case.trace.start.places
    for name, column in before.items():
        after = state.wafer.places.get(name)
        for layer in column.layers[1:] if after is not None else ():
            taken = layer.thickness - _left(after, layer.film)
            if taken > 0 and case.kind(layer.material) != "organic":
                place = _ON_WAFER[name]
                yield _lost(state, layer.film, layer.material, place, taken, taken, layer.thickness)


def _left(column: Column | None, film: str) -> float:
    layer = column.film(film) if column is not None else None
    return layer.thickness if layer is not None else 0.0


def _lost(
    state: State, film: str, material: str, place: Place, typical: float, most: float, before: float
) -> Lost:
    step = state.step
    return Lost(
        step=step.number,
        kind=step.kind,
        title=step.title,
        line=step.line,
        film=film,
        material=material,
        place=place,
        typical=typical,
        most=most,
        before=before,
    )
