"""The corners of the spread, walked over a sample of the die.

Spread changes thicknesses, not which kinds of place there are. So the whole die is walked once, nominal, and the corners walk
only windows around one place of each kind that the nominal walk ever met: the same columns at a small part of the cost.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from filmwright.emulate.context import Planned
from filmwright.emulate.trace import CORNERS, NOMINAL, Corner, State
from filmwright.numerics import Region
from filmwright.units import convert, to_si
from filmwright.wafer import Action, Cell, Loss, Plan, Print, Wafer

_REACH_NM = convert(to_si(12, "um"), "nm")
"""Half the side of a window."""

_TELLING = {"develop", "etch", "lift off"}
"""Steps after which new kinds of place can appear."""


def with_corners(
    start: Wafer, states: Sequence[State], planned: Sequence[Planned]
) -> tuple[tuple[State, ...], dict[str, Wafer]]:
    """The states with the losses at every corner, and the wafer at each corner in the end."""
    sample = sample_of(start.plan, states)
    clipped: dict[str, Region] = {}
    losses: list[dict[str, tuple[Loss, ...]]] = [dict(state.losses) for state in states]
    ends = {}
    for corner in CORNERS:
        if corner is NOMINAL:
            continue
        # Columns are those of the whole die; its outline stays, so that no border of a window is taken for one.
        plan = Plan.undivided(start.plan.die, _clip(start.plan, sample), start.plan.born)
        wafer = replace(start, plan=plan, section=None, chips={})
        for place, each in enumerate(planned):
            wafer, losses[place][corner.name] = _through(wafer, each, corner, sample, clipped)
        ends[corner.name] = wafer
    return tuple(replace(state, losses=lost) for state, lost in zip(states, losses, strict=True)), ends


def _through(
    wafer: Wafer, planned: Planned, corner: Corner, sample: Region, clipped: dict[str, Region]
) -> tuple[Wafer, tuple[Loss, ...]]:
    lost: list[Loss] = []
    for action in planned.actions(corner, wafer.plan):
        wafer, effect = wafer.apply(_inside(action, sample, clipped))
        lost.extend(effect.losses)
    return wafer, tuple(lost)


def _inside(action: Action, sample: Region, clipped: dict[str, Region]) -> Action:
    if not isinstance(action, Print):
        return action
    key = action.keep.key
    if key not in clipped:
        # Wider than the sample, so that a print bias moves no edge that only the window made.
        boxes = [part.grown(_REACH_NM).bounds for part in sample.parts()]
        clipped[key] = Region.joined([action.keep.clipped(*box) for box in boxes])
    return replace(action, keep=clipped[key])


def _clip(plan: Plan, sample: Region) -> tuple[Cell, ...]:
    """The wafer as bought in a sample of it: one column, as everywhere."""
    return tuple(Cell(region=sample, column=column) for column in plan.columns)


def sample_of(start: Plan, states: Sequence[State]) -> Region:
    """Windows around one place of each kind of column that the walk met, within the die."""
    boxes: list[tuple[float, float, float, float]] = []
    for plan in (start, *(state.wafer.plan for state in states if state.step.kind in _TELLING)):
        for cell in plan.once.cells:
            part = max(cell.region.parts()[:64], key=lambda each: each.area)
            x, y = part.point_inside()
            if not any(a <= x <= c and b <= y <= d for a, b, c, d in boxes):
                boxes.append((x - _REACH_NM, y - _REACH_NM, x + _REACH_NM, y + _REACH_NM))
    return Region.joined([Region.box(*box) for box in boxes]).intersection(start.die)
