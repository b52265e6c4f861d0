"""Which mask level shapes a film, and how many alignments lie between two levels."""

from __future__ import annotations

from filmwright.emulate import alignment_parents, alignments_between
from filmwright.review.case import Case
from filmwright.wafer import Column, Device


def level_of_film(case: Case, film: str) -> str:
    """Mask that printed a film: of the resist that it was lifted off with, or that its etch went through; empty without one."""
    states = case.trace.states
    place = next(
        (k for k, s in enumerate(states) if s.step.kind == "deposit" and f"({s.step.number})" in film), None
    )
    if place is None:
        return ""
    if not case.organics(case.before(states[place])):
        material = states[place].step.material
        etch = next(
            (
                k
                for k in range(place, len(states))
                if states[k].step.kind == "etch" and states[k].step.material == material
            ),
            None,
        )
        if etch is None:
            return ""
        place = etch
    return next((s.step.mask for s in reversed(states[:place]) if s.step.kind == "develop"), "")


def alignments(case: Case, first: str, second: str) -> int:
    """Alignments along the tree between two levels of the flow."""
    return alignments_between(alignment_parents(case.flow), first, second)


def levels_of_overlap(case: Case, device: Device) -> tuple[str, str]:
    """The levels that print the gate and the contacts of a transistor; empty texts where one cannot be told."""
    plan, (x, y), (dx, dy) = case.trace.final.plan, device.place, device.towards
    length = (device.length or 0.0) / 2 + min(device.overlaps.values(), default=0.0) / 2
    reach = case.drawn_nm(length)
    middle = case.column(plan, (x, y))
    side = case.column(plan, (x - dx * reach, y - dy * reach))
    if middle is None or side is None:
        return "", ""
    gate = _conductors(case, middle)
    contact = [film for film in _conductors(case, side) if film not in gate]
    if not gate or not contact:
        return "", ""
    return level_of_film(case, gate[0]), level_of_film(case, contact[0])


def _conductors(case: Case, column: Column) -> list[str]:
    return [layer.film for layer in column.layers[1:] if case.kind(layer.material) == "conductor"]
