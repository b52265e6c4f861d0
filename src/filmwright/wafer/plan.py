"""The die in plan: which column of films lies where.

The die is cut into *parts* (see ``plan_parts``), and each of them into *cells*: all places that carry the same column.
Films are added to columns, prints split cells, etches and solvents change columns and join cells that have become equal. What
happens **between** cells is in ``column_edge``: there each edge is re-grown from its two columns, so that a film that climbs a
step is one piece and covers the wall, one that arrived in line of sight breaks at a high step, and a wall that shows can be
touched, undercut or dissolved.

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
from functools import cached_property

from filmwright.numerics import Region, Repeat, Repeats
from filmwright.units import convert, to_si
from filmwright.wafer import plan_memo
from filmwright.wafer.actions import Action, Alter, Clear, Coat, Grow, Heat, Print, Remove
from filmwright.wafer.column import THINNEST, Column, Layer, etched
from filmwright.wafer.plan_cells import Cell, Loss, loss_of, merged, square_metres
from filmwright.wafer.plan_clear import clear
from filmwright.wafer.plan_parts import Part, Places
from filmwright.wafer.plan_remove import remove

StartLayer = tuple[str, float]
"""Material and thickness [m]."""


MARGIN_NM = convert(to_si(12, "um"), "nm")
"""How far what is done to a shape may reach before windows that repeat can no longer be told apart from what lies round them.
Bias, overhang, undercuts and fences of a flow add up to a micrometre or three; a plan in which they add up to more goes on
undivided, and says so."""

_MITRE = 4.0
"""A sharp corner of a shape that grows runs ahead of its edges by so much at most."""

_SAME_AREA = 1e-10
"""Part of the die by which the area of a print may miss the sum over its windows: rounding."""


@dataclass(frozen=True, kw_only=True)
class Plan:
    """The die in plan.

    Attributes
    ----------
    die : Region [nm]
    parts : tuple of Part
        Windows of the drawing, those that repeat only once.
    field : tuple of Cell
        The separate pieces of what lies outside all windows.
    born : int
        Order number of the next film.
    reach : float [nm]
        How far edges have moved from where they are drawn, at most.
    notes : tuple of str
        What was decided on the way.
    """

    die: Region
    parts: tuple[Part, ...]
    field: tuple[Cell, ...] = ()
    born: int
    reach: float = 0.0
    notes: tuple[str, ...] = ()

    @classmethod
    def start(
        cls, die: Region, body: StartLayer, films: Sequence[StartLayer] = (), drawn: Repeats | None = None
    ) -> Plan:
        """The die as bought: a body with films on it, each (material, thickness [m]).

        Parameters
        ----------
        die : Region [nm]
        body, films
        drawn : Repeats or None
            What repeats itself among the shapes of all masks that will be printed, with a margin of :data:`MARGIN_NM`.
        """
        column, born = start_column(body, films), 1 + len(films)
        if drawn is None or (len(drawn.found) == 1 and not drawn.field):
            return cls.undivided(die, (Cell(region=die, column=column),), born)
        parts = [
            Part(place=each, cells=(Cell(region=each.looked_at, column=column),)) for each in drawn.found
        ]
        field = [Cell(region=piece, column=column) for piece in drawn.field]
        return cls(die=die, parts=tuple(parts), field=tuple(field), born=born)

    @classmethod
    def undivided(cls, die: Region, cells: tuple[Cell, ...], born: int, notes: tuple[str, ...] = ()) -> Plan:
        """A die of which all is one part."""
        (place,) = Repeats.none(die).found
        return cls(die=die, parts=(Part(place=place, cells=cells),), born=born, notes=notes)

    @property
    def divided(self) -> bool:
        """Whether the plan has several parts or a field."""
        return len(self.parts) > 1 or bool(self.field)

    def apply(self, action: Action) -> tuple[Plan, tuple[Loss, ...]]:
        """The die after an action, and what the action took from the films."""
        match action:
            case Grow() | Coat():
                after = self.with_columns(lambda column: laid(column, action, self.born))
                return replace(after, born=self.born + 1), ()
            case Print():
                return self._printed(action), ()
            case Remove():
                return self._etched(action)
            case Clear():
                parts, field = clear(self.parts, self.field, action.materials)
                after = replace(
                    self, parts=tuple(part for part, _ in parts), field=tuple(cell for cell, _ in field)
                )
                return after, _summed(parts, field)
            case Alter():
                return self.with_columns(lambda column: altered(column, action)), ()
            case Heat():
                return self, ()

    def with_columns(self, change: Callable[[Column], Column]) -> Plan:
        """Every column changed; cells that become equal are one."""
        known: dict[Column, Column] = {}

        def changed(column: Column) -> Column:
            if column not in known:
                known[column] = change(column)
            return known[column]

        return replace(
            self,
            parts=tuple(part.with_columns(changed) for part in self.parts),
            field=tuple(replace(cell, column=changed(cell.column)) for cell in self.field),
        )

    def _printed(self, action: Print) -> Plan:
        """Develop the uppermost resist; an older one beneath it has been baked and stays."""
        here = self
        if here.divided and not here._repeats(action.keep):
            here = here.flat("what a mask leaves does not repeat as the drawing does")
        thickest = max(
            (column.top.thickness for column in here.columns if column.top.material == action.material),
            default=0.0,
        )
        bias = convert(action.bias, "nm")
        moved = max(abs(bias), abs(bias + convert(overhang_of(action, thickest), "nm")))
        here = here._reaching(max(here.reach, moved))
        parts = [
            replace(part, cells=_printed(part.cells, action, part.place, here.die)) for part in here.parts
        ]
        field = []
        for cell in here.field:
            gone = cell.column.top.material == action.material and not action.keep.holds(
                *cell.region.point_inside()
            )
            column = Column(cell.column.layers[:-1]) if gone else _with_overhang(cell.column, action)
            field.append(replace(cell, column=column))
        return replace(here, parts=tuple(parts), field=tuple(field))

    def _etched(self, action: Remove) -> tuple[Plan, tuple[Loss, ...]]:
        results = [remove(part.cells, action) for part in self.parts]
        added = max(reach for _, _, reach in results)
        here = self._reaching(self.reach + added)
        if here.divided != self.divided:
            return here._etched(action)
        parts = [
            (part if cells is part.cells else replace(part, cells=cells), losses)
            for part, (cells, losses, _) in zip(self.parts, results, strict=True)
        ]
        field = []
        for cell in self.field:
            (column, eaten) = etched(cell.column, action.rates, action.time)
            lost = tuple(
                loss_of(bite.layer, bite.after, cell.region, "open", of=cell.column) for bite in eaten
            )
            field.append((replace(cell, column=column) if eaten else cell, lost))
        same = all(part is old for (part, _), old in zip(parts, self.parts, strict=True))
        if same and not any(lost for _, lost in field):
            return here, ()
        after = replace(here, parts=tuple(part for part, _ in parts), field=tuple(cell for cell, _ in field))
        return after, _summed(parts, field)

    def _reaching(self, reach: float) -> Plan:
        """The plan when edges move so far from where they are drawn; undivided where that is too far."""
        if self.divided and reach * _MITRE >= MARGIN_NM:
            return replace(
                self.flat(f"edges move by {reach:.0f} nm, which is too far to take cells for equal"),
                reach=reach,
            )
        return self if reach == self.reach else replace(self, reach=reach)

    def _repeats(self, keep: Region) -> bool:
        """Whether a region looks the same at all places of each part, and is all or nothing on each piece of the field."""
        area = sum(plan_memo.clipped(keep, part.place.windows).area * part.place.count for part in self.parts)
        area += sum(cell.region.area for cell in self.field if keep.holds(*cell.region.point_inside()))
        inside = keep.intersection(self.die).area
        return abs(area - inside) <= _SAME_AREA * self.die.area + plan_memo.DUST_NM2 * self.count

    @property
    def count(self) -> int:
        """How many windows there are at all places."""
        return sum(part.place.count for part in self.parts)

    def flat(self, why: str = "") -> Plan:
        """The same die undivided; its cost grows with all that is drawn."""
        if not self.divided:
            return self
        notes = (*self.notes, f"repeated cells are computed one by one: {why}") if why else self.notes
        return replace(Plan.undivided(self.die, self.cells, self.born, notes), reach=self.reach)

    @cached_property
    def cells(self) -> tuple[Cell, ...]:
        """All cells of the die: they cover it without common area. Of a divided plan they are put together when asked for."""
        if not self.divided:
            return self.parts[0].cells
        spread = [
            Cell(region=cell.region.moved(dx, dy), column=cell.column)
            for part in self.parts
            for cell in part.core
            for dx, dy in part.place.offsets.tolist()
        ]
        return merged((*spread, *self.field))

    @cached_property
    def once(self) -> Plan:
        """The windows at their first places alone, as an undivided plan: one of each kind of place, where it really lies."""
        if not self.divided:
            return self
        cells = merged(cell for part in self.parts for cell in part.core)
        windows = Region.joined([part.place.core for part in self.parts])
        return Plan.undivided(windows, cells, self.born)

    @cached_property
    def columns(self) -> tuple[Column, ...]:
        """Every column that the die has somewhere."""
        found = dict.fromkeys(cell.column for part in self.parts for cell in part.core)
        return tuple(found | dict.fromkeys(cell.column for cell in self.field))

    @cached_property
    def _areas(self) -> dict[Column, float]:
        areas: dict[Column, float] = {}
        for part in self.parts:
            for cell in part.core:
                areas[cell.column] = areas.get(cell.column, 0.0) + cell.region.area * part.place.count
        for cell in self.field:
            areas[cell.column] = areas.get(cell.column, 0.0) + cell.region.area
        return areas

    def areas(self) -> dict[Column, float]:
        """The area of each column on the die [m²]."""
        return {column: square_metres(area) for column, area in self._areas.items()}

    @cached_property
    def places(self) -> Places:
        """All windows at all their places."""
        return Places.of([part.place for part in self.parts])

    def column_at(self, x: float, y: float) -> Column | None:
        """The column at a point [nm]; None outside the die."""
        if not self.divided:
            return next((cell.column for cell in self.cells if cell.region.holds(x, y)), None)
        places = self.places
        for window in places.at(x, y):
            part = self.parts[int(places.part[window])]
            dx, dy = part.place.offsets[places.place[window]].tolist()
            for cell in part.core:
                if cell.region.holds(x - dx, y - dy):
                    return cell.column
        for cell in self.field:
            if cell.region.holds(x, y):
                return cell.column
        return None

    def within(self, x0: float, y0: float, x1: float, y1: float) -> tuple[Cell, ...]:
        """The cells in an upright rectangle [nm], cut at its border; only what lies there is looked at."""
        near = []
        for part in self.parts:
            offsets = part.place.offsets
            for window in part.place.windows:
                low, high = window[:2] + offsets, window[2:] + offsets
                hit = ((low < (x1, y1)) & (high > (x0, y0))).all(axis=1)
                near += [(part, tuple(offset)) for offset in offsets[hit].tolist()]
        spread = [
            Cell(
                region=cell.region.clipped(x0 - dx, y0 - dy, x1 - dx, y1 - dy).moved(dx, dy),
                column=cell.column,
            )
            for part, (dx, dy) in dict.fromkeys(near)
            for cell in part.core
        ]
        field = [replace(cell, region=cell.region.clipped(x0, y0, x1, y1)) for cell in self.field]
        return merged((*spread, *field))

    def exposed(self) -> dict[str, float]:
        """Uncovered area of each material [m²], seen from above."""
        found: dict[str, float] = {}
        for column, area in self._areas.items():
            found[column.top.material] = found.get(column.top.material, 0.0) + square_metres(area)
        return found

    def region_of(self, name: str) -> Region:
        """Where a material, or a film by its label, is present [nm]."""
        return plan_memo.joined([cell.region for cell in self.cells if cell.column.thickness(name) > 0])

    def thicknesses(self, name: str) -> tuple[tuple[float, float], ...]:
        """Every thickness [m] that a material or film has, with its area [m²], thinnest first."""
        found: dict[float, float] = {}
        for column, area in self._areas.items():
            thickness = column.thickness(name)
            if thickness > 0:
                found[thickness] = found.get(thickness, 0.0) + square_metres(area)
        return tuple(sorted(found.items()))


def _summed(
    parts: Sequence[tuple[Part, tuple[Loss, ...]]], field: Sequence[tuple[Cell, tuple[Loss, ...]]]
) -> tuple[Loss, ...]:
    """The losses of all places: those that differ only in place are one."""
    areas: dict[tuple[object, ...], float] = {}
    regions: dict[tuple[object, ...], list[Region]] = {}
    firsts: dict[tuple[object, ...], Loss] = {}

    def add(loss: Loss, region: Region, count: int) -> None:
        key = (loss.column, loss.film, loss.before, loss.after, loss.where, loss.sideways)
        if region.empty:
            return
        firsts.setdefault(key, loss)
        areas[key] = areas.get(key, 0.0) + square_metres(region.area) * count
        regions.setdefault(key, []).append(region)

    undivided = len(parts) == 1 and not field
    if undivided:
        return parts[0][1]
    for part, losses in parts:
        for loss in losses:
            region = plan_memo.split(loss.region, part.place.core)[0] if part.place.haloed else loss.region
            add(loss, region, part.place.count)
    for _, losses in field:
        for loss in losses:
            add(loss, loss.region, 1)
    return tuple(
        replace(loss, area=areas[key], region=Region.gathered(regions[key])) for key, loss in firsts.items()
    )


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
    """A column with a film more. A film that consumes a material grows only where that material is uncovered, or beneath its own."""
    if isinstance(action, Coat):
        return column.with_top(
            Layer(material=action.material, film=action.film, thickness=action.thickness, born=born)
        )
    if action.consumes:
        at = next(
            (
                k
                for k, layer in reversed(tuple(enumerate(column.layers)))
                if layer.material != action.material
            ),
            0,
        )
        if column.layers[at].material != action.consumes:
            return column
        if at < len(column.layers) - 1:
            return _thickened(column, at, action)
        column = _eaten(column, at, action.consumed)
    return column.with_top(
        Layer(
            material=action.material,
            film=action.film,
            thickness=action.thickness,
            born=born,
            side_wall=0.0 if action.line_of_sight else action.side_wall,
        )
    )


def _eaten(column: Column, at: int, consumed: float) -> Column:
    """Without the upper part of one layer."""
    layers = column.layers
    left = layers[at].thickness - consumed
    kept = (replace(layers[at], thickness=left),) if left > THINNEST else ()
    return Column((*layers[:at], *kept, *layers[at + 1 :])) if kept or at else column


def _thickened(column: Column, at: int, action: Grow) -> Column:
    """What grows beneath its own material: its lowest film gains what was consumed, its uppermost what the surface rises."""
    over = sum(layer.thickness for layer in column.layers[at + 1 :])
    grows = action.beneath(over)
    if grows <= 0:
        return column
    consumed = action.consumed / action.thickness * grows
    layers = list(column.layers)
    layers[at + 1] = replace(layers[at + 1], thickness=layers[at + 1].thickness + consumed)
    layers[-1] = replace(layers[-1], thickness=layers[-1].thickness + grows - consumed)
    return _eaten(Column(tuple(layers)), at, consumed)


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


def _with_overhang(column: Column, action: Print) -> Column:
    top = column.top
    if top.material != action.material:
        return column
    return Column((*column.layers[:-1], replace(top, overhang=overhang_of(action, top.thickness))))


def _printed(cells: Sequence[Cell], action: Print, place: Repeat, die: Region) -> tuple[Cell, ...]:
    """The cells of one part after the uppermost resist has been developed."""
    found = []
    for cell in cells:
        top = cell.column.top
        if top.material != action.material:
            found.append(cell)
            continue
        overhang = overhang_of(action, top.thickness)
        distance = convert(action.bias + overhang, "nm")
        keep = plan_memo.printed(action.keep, distance, place.reach, MARGIN_NM, die)
        inside, outside = plan_memo.split(cell.region, keep)
        found.append(Cell(region=inside, column=_with_overhang(cell.column, action)))
        found.append(Cell(region=outside, column=Column(cell.column.layers[:-1])))
    return merged(found)
