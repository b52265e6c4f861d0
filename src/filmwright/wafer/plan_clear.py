"""A solvent in plan: what it reaches dissolves, what stood on that floats off.

A film is reached where it lies on top, and where its wall shows at an edge. From there the solvent goes on through the
film itself to every neighbouring piece of it, also from one part of the plan to the next. Where that tells places of one part
apart, the part is divided.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics import Region, linked
from filmwright.wafer import plan_memo
from filmwright.wafer.column import Column, Layer
from filmwright.wafer.column_edge import meet
from filmwright.wafer.plan_cells import Cell, Loss, loss_of, merged
from filmwright.wafer.plan_joints import Joint, same_places
from filmwright.wafer.plan_parts import Part

Ints = NDArray[np.int64]
Share = tuple[Part, tuple[Loss, ...]]
"""A part and what was lost there."""


def clear(
    parts: Sequence[Part], field: Sequence[Cell], materials: frozenset[str]
) -> tuple[list[Share], list[tuple[Cell, tuple[Loss, ...]]]]:
    """Parts and field after a solvent has dissolved materials, each with what floated off or stayed sealed."""
    cells = [cell for part in parts for cell in part.cells] + list(field)
    if not any(_targets(_dissolved(cell.column, materials), materials) for cell in cells):
        bare: list[Share] = [
            (
                replace(
                    part,
                    cells=merged(
                        Cell(region=cell.region, column=_dissolved(cell.column, materials))
                        for cell in part.cells
                    ),
                ),
                (),
            )
            for part in parts
        ]
        return bare, [(replace(cell, column=_dissolved(cell.column, materials)), ()) for cell in field]
    baths = _Baths(parts, field, materials)
    while baths.attack():
        pass
    return baths.result()


def _dissolved(column: Column, materials: frozenset[str]) -> Column:
    """Without the dissolvable films on top."""
    layers = column.layers
    while len(layers) > 1 and layers[-1].material in materials:
        layers = layers[:-1]
    return column if len(layers) == len(column.layers) else Column(layers)


def _targets(column: Column, materials: frozenset[str]) -> tuple[int, ...]:
    """Places of the dissolvable films, the body left out."""
    return tuple(k for k, layer in enumerate(column.layers) if k and layer.material in materials)


@dataclass(frozen=True)
class _Seam:
    """What a solvent finds where two columns meet.

    Attributes
    ----------
    first, second : tuple of str
        Dissolvable films of either side whose wall shows.
    through : tuple of str
        Dissolvable films that go on across the edge.
    """

    first: tuple[str, ...] = ()
    second: tuple[str, ...] = ()
    through: tuple[str, ...] = ()


def _seam(one: Column, two: Column, materials: frozenset[str]) -> _Seam:
    targets = _targets(one, materials), _targets(two, materials)
    if not targets[0] and not targets[1]:
        return _Seam()
    edge = meet(one, two)
    shown = [
        tuple(column.layers[place].film for place in places if edge.shows(side, place))
        for side, (column, places) in enumerate(zip((one, two), targets, strict=True))
    ]
    through = {
        one.layers[touch.first].film
        for touch in edge.touches
        if touch.first in targets[0] and one.layers[touch.first].film == two.layers[touch.second].film
    }
    return _Seam(shown[0], shown[1], tuple(sorted(through)))


class _Baths:
    """All parts while a solvent works on them; places of one part that come to differ have baths of their own."""

    def __init__(self, parts: Sequence[Part], field: Sequence[Cell], materials: frozenset[str]) -> None:
        self.parts = parts
        self.counts = [*(part.place.count for part in parts), *(1 for _ in field)]
        groups = [*(part.cells for part in parts), *((cell,) for cell in field)]
        seams: dict[tuple[Column, Column], _Seam] = {}
        self.baths = [
            [_Bath(cells, materials, np.arange(count), seams)]
            for cells, count in zip(groups, self.counts, strict=True)
        ]
        self.field = [cell.region for cell in field]
        self.joints: tuple[Joint, ...] | None = None

    def attack(self) -> bool:
        """One round over all parts. Whether anything was reached."""
        looks = [[bath.look() for bath in baths] for baths in self.baths]
        if all(look.complete for each in looks for look in each):
            reached = [[look.reached[None, :] for look in each] for each in looks]
        else:
            reached = self._spread(looks)
        found = False
        for number, (baths, looked, flags) in enumerate(zip(self.baths, looks, reached, strict=True)):
            after: list[_Bath] = []
            for bath, look, rows in zip(baths, looked, flags, strict=True):
                kinds, which = np.unique(rows, axis=0, return_inverse=True)
                for kind, row in enumerate(kinds):
                    one = (
                        bath
                        if len(kinds) == 1
                        else bath.at(bath.places[np.flatnonzero(which.ravel() == kind)])
                    )
                    nodes = [node for node, group in look.group.items() if row[group]]
                    found = found or bool(nodes)
                    for piece, film in sorted(nodes):
                        one.take(piece, film)
                    after.append(one)
            self.baths[number] = after
        return found

    def _spread(self, looks: Sequence[Sequence[_Look]]) -> list[list[NDArray[np.bool_]]]:
        """What is reached at each place, followed from part to part: for each bath an array (places, groups)."""
        if self.joints is None:
            pieces = [baths[0].pieces.regions for baths in self.baths[: len(self.parts)]]
            self.joints = same_places(self.parts, self.field, pieces)
        # A number for every group of films at every place.
        starts, total = [], 0
        first: list[Ints] = []
        home: list[Ints] = []
        for baths, looked, count in zip(self.baths, looks, self.counts, strict=True):
            number, which = np.zeros(count, dtype=np.int64), np.zeros(count, dtype=np.int64)
            for k, (bath, look) in enumerate(zip(baths, looked, strict=True)):
                size = len(look.reached)
                number[bath.places] = total + size * np.arange(len(bath.places))
                which[bath.places] = k
                starts.append(total)
                total += size * len(bath.places)
            first.append(number)
            home.append(which)
        ones, others = self._links(looks, first, home)
        component = linked(total, ones, others)
        wet = np.zeros(total, dtype=bool)
        begin = iter(starts)
        for baths, looked in zip(self.baths, looks, strict=True):
            for bath, look in zip(baths, looked, strict=True):
                start = next(begin)
                wet[start : start + len(look.reached) * len(bath.places)] = np.tile(
                    look.reached, len(bath.places)
                )
        spread = np.zeros(total, dtype=bool)
        spread[component[wet]] = True
        everywhere = spread[component]
        begin = iter(starts)
        return [
            [
                everywhere[(start := next(begin)) : start + len(look.reached) * len(bath.places)].reshape(
                    len(bath.places), len(look.reached)
                )
                for bath, look in zip(baths, looked, strict=True)
            ]
            for baths, looked in zip(self.baths, looks, strict=True)
        ]

    def _links(
        self, looks: Sequence[Sequence[_Look]], first: Sequence[Ints], home: Sequence[Ints]
    ) -> tuple[Ints, Ints]:
        """Groups of films that are one because their pieces hang together."""
        ones, others = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
        for joint in self.joints or ():
            homes = np.column_stack([home[joint.one][joint.ones], home[joint.other][joint.others]])
            for a, b in np.unique(homes, axis=0).tolist():
                there = np.flatnonzero((homes == (a, b)).all(axis=1))
                one, other = looks[joint.one][a], looks[joint.other][b]
                for piece, beside, _ in joint.pairs:
                    for film in one.films(piece) & other.films(beside):
                        ones.append(first[joint.one][joint.ones[there]] + one.group[piece, film])
                        others.append(first[joint.other][joint.others[there]] + other.group[beside, film])
        return np.concatenate(ones), np.concatenate(others)

    def result(self) -> tuple[list[Share], list[tuple[Cell, tuple[Loss, ...]]]]:
        """Parts and field put together again, and the losses."""
        parts: list[Share] = []
        for part, baths in zip(self.parts, self.baths, strict=False):
            for bath in baths:
                cells, losses = bath.result()
                if len(baths) == 1:
                    parts.append((replace(part, cells=cells), losses))
                    continue
                dx, dy = part.place.offsets[bath.places[0]].tolist()
                moved = tuple(replace(loss, region=loss.region.moved(dx, dy)) for loss in losses)
                parts.append((replace(part, cells=cells).at(bath.places), moved))
        field = []
        for (bath,) in self.baths[len(self.parts) :]:
            (cell,), losses = bath.result()
            field.append((cell, losses))
        return parts, field


@dataclass(frozen=True, eq=False)
class _Look:
    """What a solvent sees in a part.

    Attributes
    ----------
    group : mapping from (piece, film) to int
        Films that hang together have one number.
    reached : array of bool
        For each number, whether the solvent gets at it within the part.
    """

    group: dict[tuple[int, str], int]
    reached: NDArray[np.bool_]
    at: dict[int, set[str]]

    @property
    def complete(self) -> bool:
        """Whether all is reached."""
        return bool(self.reached.all())

    def films(self, piece: int) -> set[str]:
        """Films of a piece that would dissolve."""
        return self.at.get(piece, set())


class _Bath:
    """The pieces of some cells while a solvent works on them."""

    def __init__(
        self,
        cells: Sequence[Cell],
        materials: frozenset[str],
        places: Ints,
        seams: dict[tuple[Column, Column], _Seam],
    ) -> None:
        self.cells = cells
        self.materials = materials
        self.places = places
        self.pieces = plan_memo.pieces([cell.region for cell in cells])
        self.seams = seams
        tops = [_dissolved(cell.column, materials) for cell in cells]
        self.columns = [tops[number] for number in self.pieces.owner]
        self.floated: list[tuple[int, Layer]] = []
        self.left: dict[tuple[Column, str], tuple[Column, tuple[Layer, ...]]] = {}

    def at(self, places: Ints) -> _Bath:
        """The same at some of its places only, to go its own way."""
        other = _Bath(self.cells, self.materials, places, self.seams)
        other.columns, other.floated, other.left = list(self.columns), list(self.floated), self.left
        return other

    def seam(self, first: int, second: int) -> _Seam:
        """The seam between two pieces; pieces of the same columns have the same."""
        key = self.columns[first], self.columns[second]
        if key not in self.seams:
            self.seams[key] = _seam(*key, self.materials)
        return self.seams[key]

    def look(self) -> _Look:
        """The films that would dissolve, which of them hang together, and which are reached."""
        targets: dict[Column, set[str]] = {}
        at = {}
        for piece, column in enumerate(self.columns):
            if column not in targets:
                targets[column] = {column.layers[k].film for k in _targets(column, self.materials)}
            if targets[column]:
                at[piece] = targets[column]
        number = {
            node: k for k, node in enumerate((piece, film) for piece, films in at.items() for film in films)
        }
        if not number:
            return _Look({}, np.zeros(0, dtype=bool), {})
        reached: set[int] = set()
        ones: list[int] = []
        others: list[int] = []
        for border in self.pieces.borders if number else ():
            if border.first not in at and border.second not in at:
                continue
            seam = self.seam(border.first, border.second)
            reached.update(number[border.first, film] for film in seam.first)
            reached.update(number[border.second, film] for film in seam.second)
            ones += [number[border.first, film] for film in seam.through]
            others += [number[border.second, film] for film in seam.through]
        component = linked(len(number), np.array(ones, dtype=np.int64), np.array(others, dtype=np.int64))
        wet = np.zeros(int(component.max()) + 1, dtype=bool)
        wet[component[sorted(reached)]] = True
        return _Look({node: int(component[k]) for node, k in number.items()}, wet, at)

    def take(self, piece: int, film: str) -> None:
        """Dissolve a film of a piece; what lies on it floats off."""
        column = self.columns[piece]
        key = (column, film)
        if key not in self.left:
            self.left[key] = self._left(column, film)
        self.columns[piece], floated = self.left[key]
        self.floated.extend((piece, layer) for layer in floated)

    def _left(self, column: Column, film: str) -> tuple[Column, tuple[Layer, ...]]:
        """A column without a film and what lies on it, and what of that floats."""
        place = next((k for k, layer in enumerate(column.layers) if layer.film == film), None)
        if place is None:
            return column, ()
        above = tuple(layer for layer in column.layers[place + 1 :] if layer.material not in self.materials)
        return _dissolved(Column(column.layers[:place]), self.materials), above

    def result(self) -> tuple[tuple[Cell, ...], tuple[Loss, ...]]:
        """The cells put together again, and the losses."""
        mine: list[list[int]] = [[] for _ in self.cells]
        for piece, owner in enumerate(self.pieces.owner):
            mine[owner].append(piece)
        cells = []
        for cell, pieces in zip(self.cells, mine, strict=True):
            alike: dict[Column, list[int]] = {}
            for piece in pieces:
                alike.setdefault(self.columns[piece], []).append(piece)
            for column, group in alike.items():
                region = cell.region if len(alike) == 1 else self._region(group)
                cells.append(Cell(region=region, column=column))
        after = merged(cells)
        return after, (*self._floated(mine), *self._sealed(after))

    def _region(self, pieces: Sequence[int]) -> Region:
        """Pieces of one cell together; they do not touch each other."""
        return Region.gathered([self.pieces.regions[piece] for piece in pieces])

    def _floated(self, mine: Sequence[Sequence[int]]) -> list[Loss]:
        groups: dict[tuple[int, Layer], list[int]] = {}
        for piece, layer in self.floated:
            groups.setdefault((self.pieces.owner[piece], layer), []).append(piece)
        found = []
        for (owner, layer), pieces in groups.items():
            whole = len(pieces) == len(mine[owner])
            region = self.cells[owner].region if whole else self._region(pieces)
            found.append(loss_of(layer, 0.0, region, "floated", of=self.cells[owner].column))
        return found

    def _sealed(self, cells: Sequence[Cell]) -> list[Loss]:
        return [
            loss_of(
                cell.column.layers[place],
                cell.column.layers[place].thickness,
                cell.region,
                "sealed",
                of=cell.column,
            )
            for cell in cells
            for place in _targets(cell.column, self.materials)
        ]
