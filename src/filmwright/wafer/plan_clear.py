"""A solvent in plan: what it reaches dissolves, what stood on that floats off.

A film is reached where it lies on top, and where its wall shows at an edge. From there the solvent goes on through the
film itself to every neighbouring piece of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from filmwright.numerics import Region
from filmwright.wafer import plan_memo
from filmwright.wafer.column import Column, Layer
from filmwright.wafer.column_edge import meet
from filmwright.wafer.plan_cells import Cell, Loss, loss_of, merged


def clear(cells: Sequence[Cell], materials: frozenset[str]) -> tuple[tuple[Cell, ...], tuple[Loss, ...]]:
    """The cells after a solvent has dissolved materials, and what floated off or stayed sealed."""
    if not any(_targets(_dissolved(cell.column, materials), materials) for cell in cells):
        return merged(
            Cell(region=cell.region, column=_dissolved(cell.column, materials)) for cell in cells
        ), ()
    bath = _Bath(cells, materials)
    while bath.attack():
        pass
    return bath.result()


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


class _Bath:
    """The pieces of a plan while a solvent works on them."""

    def __init__(self, cells: Sequence[Cell], materials: frozenset[str]) -> None:
        self.cells = cells
        self.materials = materials
        self.pieces = plan_memo.pieces([cell.region for cell in cells])
        self.shared: dict[Column, Column] = {}
        tops = [self._share(_dissolved(cell.column, materials)) for cell in cells]
        self.columns = [tops[number] for number in self.pieces.owner]
        self.floated: list[tuple[int, Layer]] = []
        self.seams: dict[tuple[int, int], _Seam] = {}
        self.left: dict[tuple[int, str], tuple[Column, tuple[Layer, ...]]] = {}

    def _share(self, column: Column) -> Column:
        """One object for all equal columns, so that they can be told apart by identity."""
        return self.shared.setdefault(column, column)

    def seam(self, first: int, second: int) -> _Seam:
        """The seam between two pieces; pieces of the same columns have the same."""
        one, two = self.columns[first], self.columns[second]
        key = (id(one), id(two))
        if key not in self.seams:
            self.seams[key] = _seam(one, two, self.materials)
        return self.seams[key]

    def attack(self) -> bool:
        """One round: find the films that are reached, follow them, take them away. Whether there were any."""
        reached: set[tuple[int, str]] = set()
        links: dict[tuple[int, str], list[tuple[int, str]]] = {}
        for border in self.pieces.borders:
            seam = self.seam(border.first, border.second)
            reached.update((border.first, film) for film in seam.first)
            reached.update((border.second, film) for film in seam.second)
            for film in seam.through:
                links.setdefault((border.first, film), []).append((border.second, film))
                links.setdefault((border.second, film), []).append((border.first, film))
        waiting = list(reached)
        while waiting:
            for other in links.get(waiting.pop(), ()):
                if other not in reached:
                    reached.add(other)
                    waiting.append(other)
        for piece, film in sorted(reached):
            self.take(piece, film)
        return bool(reached)

    def take(self, piece: int, film: str) -> None:
        """Dissolve a film of a piece; what lies on it floats off."""
        column = self.columns[piece]
        key = (id(column), film)
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
        return self._share(_dissolved(Column(column.layers[:place]), self.materials)), above

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
            found.append(loss_of(layer, 0.0, region, "floated"))
        return found

    def _sealed(self, cells: Sequence[Cell]) -> list[Loss]:
        return [
            loss_of(cell.column.layers[place], cell.column.layers[place].thickness, cell.region, "sealed")
            for cell in cells
            for place in _targets(cell.column, self.materials)
        ]
