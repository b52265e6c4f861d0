"""The edge and the middle of one wafer: what one time leaves at the one and takes at the other.

Unevenness of films and rates belongs to one wafer, so no other time mends both of its ends. It is followed in columns alone, at one
point inside each kind of place that an etch met: films and etches at that point, by the times of the whole wafer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from filmwright.emulate.context import Planned
from filmwright.emulate.trace import PLACES, Corner, State
from filmwright.numerics import Region, held
from filmwright.units import convert, to_si
from filmwright.wafer import Action, Coat, Column, Grow, Loss, Plan, Print, Remove, Wafer, etched, in_the_open

Point = tuple[float, float]

_STRIP_NM = convert(to_si(0.25, "um"), "nm")
"""Area over border of a long strip is half its width: what is narrower belongs to an edge."""

_SPOT_NM = 1.0
"""Half the side of the box that stands for a point."""


def with_places(start: Wafer, states: Sequence[State], planned: Sequence[Planned]) -> tuple[State, ...]:
    """The states with what each takes at the edge and in the middle of the wafer."""
    points = points_of(states)
    losses: list[dict[str, tuple[Loss, ...]]] = [{} for _ in states]
    if not points:
        return tuple(states)
    for corner in PLACES:
        spots = _Spots(start.plan, points)
        before = start.plan
        for place, (state, each) in enumerate(zip(states, planned, strict=True)):
            losses[place][corner.name] = spots.through(each, corner, before)
            before = state.wafer.plan
    return tuple(replace(state, on_wafer=lost) for state, lost in zip(states, losses, strict=True))


def points_of(states: Sequence[State]) -> tuple[Point, ...]:
    """A point inside each kind of place that lies there after an etch, strips along edges left out."""
    found: list[Point] = []
    for state in states:
        if state.step.kind == "etch":
            for cell in state.wafer.plan.once.cells:
                part = max(cell.region.parts()[:64], key=lambda each: each.area)
                if part.area > _STRIP_NM * part.perimeter:
                    found.append(part.point_inside())
    return tuple(dict.fromkeys(found))


class _Spots:
    """Columns at some points of a die, at one place of the wafer."""

    def __init__(self, start: Plan, points: Sequence[Point]) -> None:
        self.points = points
        self.born = start.born
        self.columns: list[Column] = [start.columns[0]] * len(points)

    def through(self, planned: Planned, corner: Corner, before: Plan) -> tuple[Loss, ...]:
        """Let a step act; what it took, each film of each kind of column once."""
        lost: dict[tuple[Column, str], Loss] = {}
        for action in planned.actions(corner, before):
            if isinstance(action, Remove):
                for point, column in zip(self.points, self.columns, strict=True):
                    for loss in _taken(column, action, point):
                        lost.setdefault((column, loss.film), loss)
            self._act(action)
        return tuple(lost.values())

    def _act(self, action: Action) -> None:
        keeps = held(action.keep, self.points) if isinstance(action, Print) else (False,) * len(self.points)
        self.columns = [
            in_the_open(column, action, self.born, keep)
            for column, keep in zip(self.columns, keeps, strict=True)
        ]
        self.born += isinstance(action, Grow | Coat)


def _taken(column: Column, action: Remove, point: Point) -> tuple[Loss, ...]:
    x, y = point
    spot = Region.box(x - _SPOT_NM, y - _SPOT_NM, x + _SPOT_NM, y + _SPOT_NM)
    return tuple(
        Loss(
            film=bite.layer.film,
            material=bite.layer.material,
            before=bite.layer.thickness,
            after=bite.after,
            area=0.0,
            region=spot,
            where="open",
        )
        for bite in etched(column, action.rates, action.time)[1]
    )
