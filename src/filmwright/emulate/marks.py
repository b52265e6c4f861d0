"""How well the alignment marks are seen at each exposure, at the aligner's viewing light and at the lines of its lamp."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from filmwright.emulate.look import spectra_of
from filmwright.emulate.trace import State, Trace
from filmwright.knowledge import Book
from filmwright.numerics import Region
from filmwright.process import contrast
from filmwright.wafer import Column, Plan, Print

Real = NDArray[np.float64]
_VIEWED = 12
"""Wavelengths over which the viewing light is averaged, those of Gauss: the contrast is then good to 0.003 under some micrometres."""

_ANGLES = 2
"""Angles that stand for the aperture of an aligner's objective: good to 1e-4 of the light up to 0.3."""

_PART = 0.02
"""What covers less of a mark's box is an edge, not a mark."""

_LINES = ("g line", "h line", "i line")


@dataclass(frozen=True, kw_only=True)
class MarkContrast:
    """A mark against its field, as the wafer goes to an exposure.

    Attributes
    ----------
    state : State
        The exposure.
    mark, field : Column
        Under the resist that is about to be printed, which is their top.
    viewing : float or None
        Difference over sum of the light that comes back, averaged over the viewing light; None where optics are not known.
    lines : mapping from line of the mercury lamp to float
        The same at a wavelength of the exposure.
    step : float [m]
        By how much the mark stands out of its field, or lies below it.
    drawn : bool
        Whether the drawing has a mark for this level; else it is the pattern of the first level.
    """

    state: State
    mark: Column
    field: Column
    viewing: float | None
    lines: dict[str, float]
    step: float
    drawn: bool


def mark_contrasts(trace: Trace, facts: Book) -> tuple[MarkContrast, ...]:
    """One for each exposure that has an earlier level to align to.

    The mark is what a mark's box on the drawing holds that this level prints into; of a drawing without marks, the pattern of
    the first level against what lies beside it.

    Parameters
    ----------
    trace : Trace
    facts : Book
        Lines of the mercury lamp and the viewing light of an aligner.
    """
    first: Region | None = None
    pairs: list[tuple[State, Column, Column, bool]] = []
    for place, state in enumerate(trace.states):
        if state.step.kind != "expose":
            continue
        keep = _printed(trace.states[place:], state.step.mask)
        if keep is None:
            continue
        if first is None:
            first = keep
            continue
        plan = trace.states[place - 1].wafer.plan if place else trace.start.plan
        box = next((box for box in map(_box, trace.marks) if _partly(box, keep)), None)
        pair = _pair(plan, box) if box is not None else None
        drawn = pair is not None
        pair = pair or _beside(plan, first)
        if pair is not None:
            pairs.append((state, *pair, drawn))
    return _contrasts(pairs, facts)


def _printed(states: Sequence[State], mask: str) -> Region | None:
    """Where the resist of a level remains: of the next development of that mask."""
    for state in states:
        if state.step.kind == "develop" and state.step.mask == mask:
            return next((action.keep for action in state.actions if isinstance(action, Print)), None)
    return None


def _box(sides: tuple[float, float, float, float]) -> Region:
    return Region.box(*sides)


def _partly(box: Region, keep: Region) -> bool:
    """Whether a level prints something into a box."""
    area = keep.clipped(*box.bounds).area
    return _PART * box.area < area < (1 - _PART) * box.area


def _pair(plan: Plan, box: Region) -> tuple[Column, Column] | None:
    """The two columns that cover most of a box: mark and field."""
    areas: dict[Column, float] = {}
    for cell in plan.within(*box.bounds):
        areas[cell.column] = areas.get(cell.column, 0.0) + cell.region.area
    ranked = sorted(areas, key=lambda column: -areas[column])[:2]
    if len(ranked) < 2 or areas[ranked[1]] < _PART * box.area:
        return None
    return ranked[1], ranked[0]


def _beside(plan: Plan, pattern: Region) -> tuple[Column, Column] | None:
    """The column that covers most of a pattern, and the one that covers most of the rest."""
    inside: dict[Column, float] = {}
    outside: dict[Column, float] = {}
    for cell in plan.once.cells:
        area = cell.region.intersection(pattern).area
        inside[cell.column] = inside.get(cell.column, 0.0) + area
        outside[cell.column] = outside.get(cell.column, 0.0) + cell.region.area - area
    if not inside:
        return None
    mark, field = max(inside, key=lambda c: inside[c]), max(outside, key=lambda c: outside[c])
    return (mark, field) if mark != field else None


def _contrasts(pairs: Sequence[tuple[State, Column, Column, bool]], facts: Book) -> tuple[MarkContrast, ...]:
    if not pairs:
        return ()
    lamp, viewing = facts.models["mercury lamp"], facts.models["aligner viewing"]
    lines = [lamp[name].value for name in _LINES]
    places, weights = np.polynomial.legendre.leggauss(_VIEWED)
    band = np.interp(places, (-1.0, 1.0), (viewing["shortest"].value, viewing["longest"].value))
    columns = [column for _, mark, field, _ in pairs for column in (mark, field)]
    spectra = spectra_of(columns, np.array([*band, *lines]), viewing["aperture"].value, _ANGLES)
    found = []
    for k, (state, mark, field, drawn) in enumerate(pairs):
        viewed, at_lines = _compared(spectra[2 * k], spectra[2 * k + 1], weights / 2)
        found.append(
            MarkContrast(
                state=state,
                mark=mark,
                field=field,
                viewing=viewed,
                lines=at_lines,
                step=abs(mark.height - field.height),
                drawn=drawn,
            )
        )
    return tuple(found)


def _compared(mark: Real | None, field: Real | None, weights: Real) -> tuple[float | None, dict[str, float]]:
    """Contrast over the viewing light, and at each line of the lamp."""
    if mark is None or field is None:
        return None, {}
    viewed = float(contrast(mark[:_VIEWED] @ weights, field[:_VIEWED] @ weights))
    at_lines = contrast(mark[_VIEWED:], field[_VIEWED:]).tolist()
    return viewed, dict(zip(_LINES, at_lines, strict=True))
