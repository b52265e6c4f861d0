"""The die in plan: which column of films lies where.

The die is cut into *cells*; a cell is all places that carry the same column. Films are added to columns, prints split
cells, etches and solvents change columns and join cells that have become equal. What happens **between** cells is
in ``column_edge``: there each edge is re-grown from its two columns, so that a film that climbs a step is one piece and
covers the wall, one that arrived in line of sight breaks at a high step, and a wall that shows can be touched, undercut or
dissolved.

Model and its limits
* An edge is where the plan says it is: print bias and undercut move it. An undercut film really ends behind the edge of the
  resist (at its foot, which sets the electrical length); the strip in between is a cell of its own.
* An etch that goes down faster than sideways leaves a film on the walls that it climbed, a *fence*: a strip as
  wide as the film is thick on the wall and as high as step plus film less what was etched. It is a cell too, so a fence
  runs all round an island and conducts.
* A resist with an overhang is seen from above: its upper edge is where a film in line of sight ends.
* A coat has the same thickness everywhere; how it thins over steps is a matter of the section. Heat changes no shape.
* Undercuts and fences below 1 nm, tapers and facets are left out.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from filmwright.numerics import Region
from filmwright.units import convert
from filmwright.wafer import plan_memo
from filmwright.wafer.actions import Action, Alter, Clear, Coat, Grow, Heat, Print, Remove
from filmwright.wafer.column import THINNEST, Column, Layer
from filmwright.wafer.plan_cells import Cell, Loss, merged, square_metres
from filmwright.wafer.plan_clear import clear
from filmwright.wafer.plan_remove import remove

StartLayer = tuple[str, float]
"""Material and thickness [m]."""


@dataclass(frozen=True, kw_only=True)
class Plan:
    """The die in plan.

    Attributes
    ----------
    die : Region [nm]
    cells : tuple of Cell
        They cover the die without common area.
    born : int
        Order number of the next film.
    """

    die: Region
    cells: tuple[Cell, ...]
    born: int

    @classmethod
    def start(cls, die: Region, body: StartLayer, films: Sequence[StartLayer] = ()) -> Plan:
        """The die as bought: a body with films on it, each (material, thickness [m])."""
        return cls(die=die, cells=(Cell(region=die, column=start_column(body, films)),), born=1 + len(films))

    def apply(self, action: Action) -> tuple[Plan, tuple[Loss, ...]]:
        """The die after an action, and what the action took from the films."""
        match action:
            case Grow() | Coat():
                cells = tuple(replace(c, column=laid(c.column, action, self.born)) for c in self.cells)
                return replace(self, cells=cells, born=self.born + 1), ()
            case Print():
                return replace(self, cells=_printed(self.cells, action)), ()
            case Remove():
                cells, losses = remove(self.cells, action)
                return replace(self, cells=cells), losses
            case Clear():
                cells, losses = clear(self.cells, action.materials)
                return replace(self, cells=cells), losses
            case Alter():
                return replace(
                    self, cells=merged(replace(c, column=altered(c.column, action)) for c in self.cells)
                ), ()
            case Heat():
                return self, ()

    def with_columns(self, change: Callable[[Column], Column]) -> Plan:
        """The die with every column changed in turn; columns that have become equal are one cell."""
        return replace(self, cells=merged(replace(c, column=change(c.column)) for c in self.cells))

    def column_at(self, x: float, y: float) -> Column | None:
        """The column at a point [nm]; None outside the die."""
        return next((cell.column for cell in self.cells if cell.region.holds(x, y)), None)

    def exposed(self) -> dict[str, float]:
        """Uncovered area of each material [m²], seen from above."""
        found: dict[str, float] = {}
        for cell in self.cells:
            material = cell.column.top.material
            found[material] = found.get(material, 0.0) + square_metres(cell.region.area)
        return found

    def region_of(self, name: str) -> Region:
        """Where a material, or a film by its label, is present [nm]."""
        return plan_memo.joined([cell.region for cell in self.cells if cell.column.thickness(name) > 0])

    def thicknesses(self, name: str) -> tuple[tuple[float, float], ...]:
        """Every thickness [m] that a material or film has, with its area [m²], thinnest first."""
        found: dict[float, float] = {}
        for cell in self.cells:
            thickness = cell.column.thickness(name)
            if thickness > 0:
                found[thickness] = found.get(thickness, 0.0) + square_metres(cell.region.area)
        return tuple(sorted(found.items()))


def start_column(body: StartLayer, films: Sequence[StartLayer] = ()) -> Column:
    """The column of a wafer as bought: body and films, each (material, thickness [m])."""
    layers = [Layer(material=body[0], film=f"{body[0]} (body)", thickness=body[1], born=0)]
    for number, (material, thickness) in enumerate(films, start=1):
        layers.append(
            Layer(
                material=material, film=f"{material} (as bought, {number})", thickness=thickness, born=number
            )
        )
    return Column(tuple(layers))


def laid(column: Column, action: Grow | Coat, born: int) -> Column:
    """A column with a film more. A film that consumes a material grows only where that material is uncovered."""
    if isinstance(action, Coat):
        return column.with_top(
            Layer(material=action.material, film=action.film, thickness=action.thickness, born=born)
        )
    if action.consumes:
        if column.top.material != action.consumes:
            return column
        left = column.top.thickness - action.consumed
        rest = column.layers[:-1]
        column = Column((*rest, replace(column.top, thickness=left)) if left > THINNEST or not rest else rest)
    return column.with_top(
        Layer(
            material=action.material,
            film=action.film,
            thickness=action.thickness,
            born=born,
            side_wall=0.0 if action.line_of_sight else action.side_wall,
        )
    )


def altered(column: Column, action: Alter) -> Column:
    """A column whose surface has changed its state, if it is of the material."""
    return column.marked_top(action.mark) if column.top.material == action.material else column


def overhang_of(action: Print, thickness: float) -> float:
    """By how much the upper edge of a resist stands out over its foot [m].

    The undercut, where one is given, says it; else a wall steeper than 90° does.

    Parameters
    ----------
    action : Print
    thickness : float [m]
        Of the resist.
    """
    if action.undercut > 0:
        return action.undercut
    lean = action.side_wall_angle - math.pi / 2
    return thickness * math.tan(lean) if lean > 0 else 0.0


def _printed(cells: Sequence[Cell], action: Print) -> tuple[Cell, ...]:
    """Develop the uppermost resist; an older one beneath it has been baked and stays."""
    found = []
    for cell in cells:
        top = cell.column.top
        if top.material != action.material:
            found.append(cell)
            continue
        overhang = overhang_of(action, top.thickness)
        keep = plan_memo.grown(action.keep, convert(action.bias + overhang, "nm"))
        inside, outside = plan_memo.split(cell.region, keep)
        resist = (*cell.column.layers[:-1], replace(top, overhang=overhang))
        found.append(Cell(region=inside, column=Column(resist)))
        found.append(Cell(region=outside, column=Column(cell.column.layers[:-1])))
    return merged(found)
